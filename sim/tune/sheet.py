"""What was tuned as a sheet, and the notes that no spring can tune, in words."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

import numpy as np

from keyaction.cases.tuning.targets import Targets
from keyaction.models.notes import Naming, note_name
from keyaction.models.units.quantity import System, format_value
from keyaction.sim.figures.columns import QUANTITIES
from keyaction.sim.figures.evenness import neighbour_steps
from keyaction.sim.figures.telling import SILENT
from keyaction.sim.figures.verdict import Fate
from keyaction.sim.tables.sheet import Cell, Column, Sheet, in_units, value
from keyaction.sim.tune.remedies import LARGEST, Remedy
from keyaction.sim.tune.search import TIMES, TunedNote
from keyaction.sim.tune.verify import Verified

WORDS = {
    "closing": "closing",
    "return_time": "release",
    "repetition": "repeat",
    "feed": "opening",
    "weakest": "weakest",
    "strongest": "strongest",
    "even": "evenness",
    "pluck": "pluck",
}
"""Short words for the limits."""
NOTE = (
    "spring: force on the closed pallet; pluck now and release (rel.) by simulation with the tuned spring; repetition "
    "(rep.): highest rate that the search found. miss: pluck against its target; step: from the note below, of their "
    "mean; close: closing margin at the eye, wind off; held by: the limit at which the spring stands. '!' after the "
    "note: infeasible, or left for its friction."
)


def tune_sheet(
    tuned: Sequence[TunedNote], verified: Mapping[int, Verified], naming: Naming, units: System, brief: bool = False
) -> Sheet:
    """One row per note: spring and pluck before and after, what it misses, and the limits.

    Parameters
    ----------
    tuned : sequence of TunedNote
    verified : mapping of note to Verified
    naming : {"scientific", "trade", "german"}
    units : {"trade", "si"}
    brief : bool
        Short headings for a terminal.
    """
    columns = [
        Column("note", text=True),
        in_units("spring\nwas", "N", units, 0),
        in_units("spring\nnow", "N", units, 1),
        in_units("pluck\nwas", "N", units, 0),
        in_units("pluck\nnow", "N", units, 1),
        Column("miss" if brief else "pluck against target", "%", 1),
        Column("step" if brief else "step from the note below", "%", 1),
        in_units("close" if brief else "closing margin at the eye, wind off", "N", units, 0),
        in_units("rel." if brief else "release delay", "s", units, 0),
        in_units("rep." if brief else "repetition rate", "Hz", units, 1),
        Column("feed" if brief else "opening over drawn toes", "", 1),
        Column("held by", text=True),
    ]
    plucks = np.array([verified[one.note].pluck for one in tuned])
    steps = neighbour_steps(np.array([one.note for one in tuned]), plucks)
    rows: list[list[Cell]] = []
    for one, step in zip(tuned, steps, strict=True):
        seen = verified[one.note]
        rows.append(
            [
                f"{note_name(one.note, naming)}{'!' if one.faults else ''}",
                *(value(f, "N", units) for f in (one.before, one.force, one.pluck_before, seen.pluck)),
                100 * (seen.pluck / one.target - 1),
                100 * float(step),
                value(one.figures["closing"], "N", units),
                value(seen.release_delay, "s", units),
                one.figures["repetition_rate"],
                seen.feed,
                "friction" if one.rubbing else WORDS.get(one.bound, ""),
            ]
        )
    if brief:
        columns, rows = [*columns[:-2], columns[-1]], [[*row[:-2], row[-1]] for row in rows]
    return Sheet("tuned", "Springs tuned", columns, rows, NOTE)


def stopped(one: TunedNote, targets: Targets, i: int, units: System) -> str:
    """Why no spring tunes this note, in words: its verdict first, then those of its figures that there are."""
    own = format_value(one.before, "N", units)
    if one.rubbing:
        rubs = one.rubbing.words(units)
        return f"{one.verdict}; {rubs}" if one.verdict else rubs
    if one.reason:
        return f"{one.reason}; it keeps its spring of {own}"
    limit = {
        "closing": f"a closing margin of {format_value(targets.closing[i], 'N', units)}",
        "return_time": f"a release within {format_value(targets.return_time[i], 's', units)}",
        "repetition": f"a repetition of {targets.repetition[i]:g} Hz",
        "weakest": f"a spring of at least {format_value(targets.weakest[i], 'N', units)}",
        "strongest": f"a spring of at most {format_value(targets.strongest[i], 'N', units)}",
    }
    held = f"{limit[one.bound]} holds it at" if one.bound in limit else "it stays at"
    told = [str(one.verdict)] if one.verdict else []
    told += _pluck(one, held, units)
    if "even" in one.faults and math.isfinite(one.pluck):
        at = format_value(one.pluck, "N", units)
        told.append(f"{held} a pluck of {at}, a step of more than {targets.even[i]:.1%} from its neighbour")
    if "feed" in one.faults and math.isfinite(one.figures["feed"]):
        told.append(f"the full opening is {one.figures['feed']:.2g} times the drawn toes, {targets.feed[i]:g} needed")
    short = (name for name in ("closing", "return_time", "repetition") if name in one.faults and not _lacks(one, name))
    told.extend(f"no allowed spring gives {limit[name]}" for name in short)
    return "; ".join(told)


def _pluck(one: TunedNote, held: str, units: System) -> list[str]:
    """What became of the pluck, if it is not what was asked for."""
    own, at = (format_value(force, "N", units) for force in (one.before, one.pluck))
    if one.kept and one.verdict:
        return [f"it keeps its spring of {own}"]
    if math.isnan(one.pluck):
        return [] if one.verdict else [f"the pallet does not open{'; it keeps its spring' if one.kept else ''}"]
    if one.kept:
        return [f"with the spring that was sought the pallet does not open; it keeps its own of {own}, pluck {at}"]
    if "pluck" not in one.faults:
        return []
    share, target = one.pluck / one.target - 1, format_value(one.target, "N", units)
    return [f"{held} a pluck of {at}, {abs(share):.0%} {'above' if share > 0 else 'below'} the {target} asked for"]


def _lacks(one: TunedNote, limit: str) -> bool:
    """Whether a note of such a verdict does not have what is limited, whatever its spring."""
    if one.verdict is None or one.verdict.fate is Fate.HANGS or limit not in TIMES:
        return False
    return one.verdict.fate in QUANTITIES[TIMES[limit]].without


def freeing(one: TunedNote, found: Sequence[Remedy], units: System) -> str:
    """The changes that would free a note, the smallest first, in words."""
    if not found and one.verdict and one.verdict.fate in SILENT:
        return "Mend that before its spring"
    if not found:
        return f"No one change of opening, ratio, pressure or eye within {LARGEST:.0%} frees it"
    words = [
        f"{each.lever.name} {format_value(each.before, each.lever.unit, units)} to "
        f"{'about ' if each.drawn else ''}{format_value(each.after, each.lever.unit, units)} ({each.share:+z.1%})"
        for each in found
    ]
    return "Frees it: " + ", or ".join(words)
