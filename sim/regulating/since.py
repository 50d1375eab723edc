"""What has come of the work: a sheet held against one that was read before."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from keyaction.models.readings.figures import BY_NAME, NAMES
from keyaction.models.units.quantity import System, format_value
from keyaction.sim.motion.integrate import Floats
from keyaction.sim.regulating.fewest import Flags
from keyaction.sim.regulating.judged import KEPT
from keyaction.sim.regulating.read_off import read_off
from keyaction.sim.regulating.regulate import Regulation
from keyaction.sim.regulating.words import Named
from keyaction.sim.tables.sheet import Cell, Column, Sheet

SURE = 2.0
"""Standard deviations of a difference of two readings from which a figure has moved."""


@dataclass(frozen=True)
class Moved:
    """One figure that was read before and now.

    Attributes
    ----------
    figure : str
        Of `keyaction.sim.regulating.judged.KEPT`.
    read : int
        Notes at which it was read both times.
    before, now : int
        Of those how many were and are read within tolerance, as each run tells it.
    worse : tuple of int
        Notes that moved farther out, by more than the errors of both readings explain.
    crept : tuple of int
        Of these the notes that were within tolerance and are no longer.
    left : tuple of int
        Notes that are outside now.
    """

    figure: str
    read: int
    before: int
    now: int
    worse: tuple[int, ...]
    crept: tuple[int, ...]
    left: tuple[int, ...]


def since(before: Regulation, now: Regulation) -> list[Moved]:
    """Every figure that was read both times.

    Parameters
    ----------
    before, now : Regulation
        Of the older sheet and of the newer one; only notes that both have are held against each other.
    """
    found = []
    shared = on_both(before, now)
    at = [[one.notes.index(note) for note in shared] for one in (before, now)]
    wrong = [_read_wrong(one)[places] for one, places in zip((before, now), at, strict=True)]
    for k, figure in enumerate(KEPT):
        pairs = [_Twice(one, places, figure) for one, places in zip((before, now), at, strict=True)]
        both = np.isfinite(pairs[0].read) & np.isfinite(pairs[1].read)
        if not np.any(both):
            continue
        error = np.hypot(pairs[0].error, pairs[1].error)
        worse = both & wrong[1][:, k] & (pairs[1].away - pairs[0].away > SURE * error)
        crept, left = worse & ~wrong[0][:, k], both & wrong[1][:, k]
        within = [int((both & ~flags[:, k]).sum()) for flags in wrong]
        lists = [tuple(shared[i] for i in np.flatnonzero(flags)) for flags in (worse, crept, left)]
        found.append(Moved(figure, int(both.sum()), within[0], within[1], *lists))
    return found


def _read_wrong(one: Regulation) -> Flags:
    """Figures that a run names as read outside, (n, `KEPT`)."""
    off = read_off(one)
    return np.array([[figure in off.get(note, ()) for figure in KEPT] for note in one.notes]).reshape(-1, len(KEPT))


def on_both(before: Regulation, now: Regulation) -> tuple[int, ...]:
    """Notes of which something was read on both sheets."""
    return tuple(note for note in now.notes if note in before.notes)


class _Twice:
    """One figure of the notes that both sheets have, as one of them has it, (shared notes,)."""

    def __init__(self, one: Regulation, places: list[int], figure: str) -> None:
        k = NAMES.index(figure)
        drawn = one.table.drawn[places, k] if figure != "level" else 0.0
        self.read: Floats = one.state.read[places, k]
        self.error: Floats = one.state.error[places, k]
        self.away: Floats = np.abs(self.read - drawn)


def since_sheet(found: list[Moved]) -> Sheet:
    """A row for each figure."""
    columns = [
        Column("figure", text=True),
        *(
            Column(heading, "notes", 0)
            for heading in ("read\ntwice", "within\nbefore", "within\nnow", "worse", "crept")
        ),
    ]
    rows: list[list[Cell]] = [
        [BY_NAME[one.figure].heading, one.read, one.before, one.now, len(one.worse), len(one.crept)] for one in found
    ]
    return Sheet("progress", "Since the sheet before", columns, rows)


def since_told(before: Regulation, now: Regulation, name: Named, units: System = "trade") -> list[str]:
    """What has been done, what crept, and what is left, in sentences."""
    found = since(before, now)
    if not found:
        return ["No figure was read on both sheets: nothing can be said of what has changed."]
    shared = on_both(before, now)
    lines = [_gain(found)]
    if len(shared) < max(len(before.notes), len(now.notes)):
        lines.insert(
            0,
            f"Held against each other: the {len(shared)} notes that both sheets have (of {len(before.notes)} before, "
            f"{len(now.notes)} now).",
        )
    lines += _done(before, now, set(shared), name)
    for one in found:
        heading = BY_NAME[one.figure].heading
        if one.crept:
            nut = " (nuts that crept, or were turned without need)" if _by_nut(now, one.figure) else ""
            where = _named(now, one.crept, name, one.figure, units)
            lines.append(f"{heading}: was within tolerance and is no longer{nut}: {where}.")
        others = tuple(note for note in one.worse if note not in one.crept)
        if others:
            lines.append(f"{heading}: worse than before: {_named(now, others, name, one.figure, units)}.")
    return lines


def _done(before: Regulation, now: Regulation, shared: set[int], name: Named) -> list[str]:
    """What has become of every note that was to be set, found out, or measured again."""
    sets = [{move.note for move in one.steps.moves} & shared for one in (before, now)]
    waits = [{cause.note for cause in one.causes} & shared for one in (before, now)]
    lines = [*_no_more_common(before, now)]
    asked = (sets[0], waits[0] - sets[0])
    heads = ("wanted set", "had found out or measured again first")
    for notes, head in zip(asked, heads, strict=True):
        ways = {
            "nothing more is wanted": notes - sets[1] - waits[1],
            "still to do": notes & sets[1] - waits[1],
            "a cause or a reading to be found first": notes & waits[1],
        }
        told = "; ".join(f"{way}: {', '.join(map(name, sorted(own)))}" for way, own in ways.items() if own)
        if told:
            lines.append(f"Of {len(notes)} note{'s' * (len(notes) > 1)} that the sheet before {head}, {told}.")
    return lines


def _no_more_common(before: Regulation, now: Regulation) -> list[str]:
    """What was to be set for all notes at once and is right."""
    left = {one.kind for one in now.steps.commons}
    done = [one.stage for one in before.steps.commons if one.kind not in left]
    return [f"Set for all notes at once, and right: {', '.join(dict.fromkeys(done))}."] if done else []


def _gain(found: list[Moved]) -> str:
    parts = [f"{BY_NAME[one.figure].heading} {one.before} before, {one.now} now, of {one.read}" for one in found]
    return f"Read within tolerance: {'; '.join(parts)}."


def _by_nut(one: Regulation, figure: str) -> bool:
    return figure == "level" if np.all(one.table.hung) else figure == "play"


def _named(one: Regulation, notes: tuple[int, ...], name: Named, figure: str, units: System) -> str:
    k, unit = NAMES.index(figure), BY_NAME[figure].unit
    said = {note: float(one.state.read[one.notes.index(note), k]) for note in notes}
    return ", ".join(
        f"{name(n)} ({format_value(v, unit, units) if math.isfinite(v) else '-'})" for n, v in said.items()
    )
