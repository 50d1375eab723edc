"""What a report says in words: what was found, what to beware of, what it rests on."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from keyaction.cases.action.case import Case
from keyaction.models.parts.key import Key
from keyaction.models.units.quantity import System, format_value
from keyaction.plots.report.coupled import coupled_findings
from keyaction.plots.report.sheets import spring_figures
from keyaction.sim.compare.sheets import felt, verdict
from keyaction.sim.figures.dip import pressed_words
from keyaction.sim.figures.evenness import JUST_NOTICEABLE
from keyaction.sim.figures.heavy import heavy_told
from keyaction.sim.figures.pallets import has_pallets, is_coupled
from keyaction.sim.figures.verdict import Fate, alike
from keyaction.sim.files.labelled import Result

DESIGN_RATE = 6.0
"""Hz: notes per second that a long passage should repeat (C. E. Pykett, "Touch relief in mechanical actions", 2001)."""
_MOST_COMPARED = 3
"""Lines of the summary that a comparison may take."""


@dataclass(frozen=True)
class Caution:
    """One thing to beware of: a few words, and what to do about it."""

    title: str
    text: str


_HEAVY = [format_value(one, "N") for one in (Key.comfortable, *reversed(Key.usual_coupled or ())) if one]
CAUTIONS = (
    Caution(
        "Springs are under load",
        "A pallet spring sits loaded in the chest and stores enough to hurt an eye. Wear eye protection, use long "
        "pliers and never fingers, and hold both ends when wire under tension is cut.",
    ),
    Caution(
        "Carbon fibre: dust and splinters",
        "Dust and splinters are a hazard to lungs, skin and eyes, and the body does not break them down. Extract at "
        "the tool, wear a fitted mask, goggles and gloves, wipe wet and do not blow; resin dust may burn. Cap cut "
        "ends. The dust conducts: keep it from contacts. Custom: no bare contact with aluminium, which it corrodes.",
    ),
    Caution(
        "Inside an organ",
        "Wind off before a hand goes into a chest; mains isolated by an electrician; sound ladders and passage boards; "
        "somebody outside who knows. Old organs may hold lead dust, asbestos at the blower and pesticides on wood and "
        "leather: have them tested before you brush or cut.",
    ),
    Caution(
        "Historic material",
        "Decide what is significant before anything is altered. Record as found, keep original parts, prefer what can "
        "be undone, date what is new and store what is taken out. These figures do not say that a part of a historic "
        "action should be replaced: that is for its owner, a conservator and the authority in charge.",
    ),
    Caution(
        "Heavy touch",
        "No force is known to be safe for every player, and this report makes no medical claim. Where it says heavy it "
        f"means more than {_HEAVY[0]} of one keyboard, or more than {_HEAVY[1]} of coupled ones, which usually take "
        f"{_HEAVY[2]} to {_HEAVY[1]} (common practice; no source is known). What helps: plays of the couplers set "
        "apart, so that the plucks do not meet; relief pallets; smaller pallets. Anybody with pain should stop and ask "
        "a physician.",
    ),
    Caution(
        "Advice from a model",
        "Every number here is computed from what the case says and from the assumptions listed. Measure one note on "
        "the bench before sixty are cut. Local codes, the rules of the workshop and licensed practice come first.",
    ),
)

SOURCES = (
    "Force that a finger can tell apart, about 7 % from 2.5 to 10 N: X. D. Pang, H. Z. Tan, N. I. Durlach, Manual "
    "discrimination of force using active finger motion, Perception & Psychophysics 49, 1991.",
    "Repetition of 6 notes a second as a design case, pallet lift of at most about 9 mm: C. E. Pykett, Touch relief in "
    "mechanical actions, 2001.",
    "Density of moist air: A. Picard, R. S. Davis, M. Gläser, K. Fujii, Revised formula for the density of moist air "
    "(CIPM-2007), Metrologia 45, 2008.",
    "Section torsion, buckling and spans: S. P. Timoshenko, J. N. Goodier, Theory of Elasticity, 3rd ed., 1970; S. P. "
    "Timoshenko, J. M. Gere, Theory of Elastic Stability, 2nd ed., 1961 (from memory).",
    "Coils of springs: V. B. Bhandari, Design of Machine Elements, ch. 10.",
)
COMPARED_SOURCES = (
    "Moisture of wood: S. V. Glass, S. L. Zelinka, Wood Handbook, USDA Forest Products Laboratory, FPL-GTR-282, 2021, "
    "ch. 4, eq. 4-5; growth along the grain by moisture and by heat: as listed with each material.",
    "Repetition band: one finger 5 to 7 Hz, Neuroscience Letters, 2009, doi 10.1016/j.neulet.2009.04.055; two fingers "
    "by turns half as fast again, Ergonomics, 2001, doi 10.1080/00140130110107452 (abstracts).",
)


@dataclass(frozen=True)
class Finding:
    """One line of the summary; `beware` when something asks for attention."""

    text: str
    beware: bool = False


def findings(
    result: Result, comparison: Result | None, units: System, case: Case | None = None, regulated: bool = False
) -> list[Finding]:
    """What a reader should know first; by the `case` also of the springs of notes that failed.

    `regulated` says that verdicts hold as regulated, where a year tells of other days.
    """
    found = [
        *_failed(result),
        *_fates(result, regulated),
        *_touch(result, units),
        *(Finding(*one) for one in coupled_findings(result, units)),
        *_even(result),
        *_pluck_point(result, units),
        *_fast(result, units),
        *_closing(result, units, case),
    ]
    warned = json.loads(result.about.get("warnings", "[]"))
    told = [str(text) for text in result["warning"] if str(text)]
    if warned or told:
        count = len(warned) + len(dict.fromkeys(told))
        found.append(Finding(f"{_counted(count, 'remark')} on the case under Assumptions.", True))
    return found + (list(_compared(comparison)) if comparison is not None else [])


def _compared(comparison: Result) -> Iterator[Finding]:
    """The differences that can be felt, or one line that there is none."""
    found = [one for one in felt(comparison) if one.of]
    told = [one for one in found if one.felt]
    for one in told[:_MOST_COMPARED]:
        yield Finding(f"Compared: {verdict(comparison, one)}.", True)
    if len(told) > _MOST_COMPARED:
        yield Finding(
            f"{_counted(len(told) - _MOST_COMPARED, 'more difference')} of force under What was compared.", True
        )
    if found and not told:
        most = max(abs(one.apart) for one in found)
        first, *others = [
            f"{letter} {name}" for letter, name in zip(comparison["letter"], comparison["variant"], strict=True)
        ]
        yield Finding(
            f"Compared with {first}: no difference of force that a finger can tell in {', '.join(others)} (at most "
            f"{100 * most:.2f}\u00a0%)."
        )


def _counted(count: int, what: str) -> str:
    return f"{count} {what}{'' if count == 1 else 's'}"


def _ok(result: Result) -> np.ndarray:
    return np.array([str(status) == "ok" for status in result["status"]])


def _named(result: Result, chosen: np.ndarray, most: int = 4) -> str:
    """Notes in words, neighbours as ranges."""
    spans: list[list[int]] = []
    for i in np.flatnonzero(chosen):
        if spans and result["semitone"][i] == result["semitone"][spans[-1][-1]] + 1:
            spans[-1].append(int(i))
        else:
            spans.append([int(i)])
    names = result.notes
    told = [names[span[0]] if len(span) == 1 else f"{names[span[0]]} to {names[span[-1]]}" for span in spans]
    left = sum(len(span) for span in spans[most:])
    return ", ".join(told[:most]) + (f" and {left} more" if left else "")


def _failed(result: Result) -> Iterator[Finding]:
    failed = ~_ok(result)
    if np.any(failed):
        yield Finding(f"Could not be played: {_named(result, failed)}; the reasons are under Assumptions.", True)


def _fates(result: Result, regulated: bool) -> Iterator[Finding]:
    """What is wrong with notes, as far as it is known."""
    played = zip(result.notes, _ok(result), result["verdict"], strict=True)
    told = {note: str(text) for note, ok, text in played if ok or not str(text).startswith(Fate.UNKNOWN.value)}
    lines = alike(told)
    where = "As regulated: " if regulated else ""
    yield from (Finding(f"{where}{line}.", True) for line in lines)
    if told and not lines:
        as_set = "As regulated every" if regulated else "Every"
        every = as_set if np.all(_ok(result)) else f"{as_set} other"
        yield Finding(f"{every} note speaks when it is played and falls silent when it is let go.")


def _ends(result: Result, name: str, units: System) -> tuple[str, str, str, str] | None:
    """Lowest value and its note, highest value and its note."""
    values = np.asarray(result[name], dtype=float)
    if not np.any(np.isfinite(values)):
        return None
    low, high = int(np.nanargmin(values)), int(np.nanargmax(values))
    unit = result.held(name).unit
    return (
        format_value(values[low], unit, units),
        result.notes[low],
        format_value(values[high], unit, units),
        result.notes[high],
    )


def _span(low: str, high: str) -> str:
    """Lowest and highest, or the one that there is."""
    return low if low == high else f"{low} to {high}"


def _touch(result: Result, units: System) -> Iterator[Finding]:
    ends = _ends(result, "pluck_force", units)
    if ends is None:
        yield Finding("No note plucks: the pallets stay on their seats.", True)
        return
    both = f"from {ends[0]} ({ends[1]}) to {ends[2]} ({ends[3]})"
    told = f"{ends[0]} ({ends[1]})" if ends[1] == ends[3] else both
    yield Finding(f"Pluck {told} at the key's front{', the highest peak of each key' if has_pallets(result) else ''}.")
    if not is_coupled(result):  # of coupled keys it is said with what helps
        yield from (Finding(line, True) for line in heavy_told(result, units))


def _even(result: Result) -> Iterator[Finding]:
    steps = np.asarray(result["evenness"], dtype=float)
    count = int(np.count_nonzero(np.isfinite(steps)))
    if not count:
        return
    beyond = np.abs(steps) > JUST_NOTICEABLE
    share = f"{100 * JUST_NOTICEABLE:g}\u00a0%"
    if np.any(beyond):
        yield Finding(
            f"Uneven: {np.count_nonzero(beyond)} of {count} steps between neighbours exceed {share} of force, which a "
            f"finger can tell: {_named(result, beyond)}.",
            True,
        )
    else:
        yield Finding(f"Even: none of {count} steps between neighbours exceeds {share} of force.")


def _pluck_point(result: Result, units: System) -> Iterator[Finding]:
    ends = _ends(result, "pluck_point", units)
    with np.errstate(divide="ignore", invalid="ignore"):
        share = 100 * np.asarray(result["pluck_point"]) / np.asarray(result["key_dip"])
    if ends and np.any(np.isfinite(share)):
        low, high = np.nanmin(share), np.nanmax(share)
        travel, part = _span(ends[0], ends[2]), _span(f"{low:.0f}", f"{high:.0f}")
        who = "Its own pallet plucks" if has_pallets(result) else "Plucks"
        yield Finding(f"{who} at {travel} of key travel, {part}\u00a0% of the {pressed_words(result)}.")


def _fast(result: Result, units: System) -> Iterator[Finding]:
    speech, rate = _ends(result, "speech_delay", units), _ends(result, "repetition_rate", units)
    if speech:
        yield Finding(f"Speaks {_span(speech[0], speech[2])} after the key passes 1\u00a0mm, standard stroke.")
    if rate:
        row = result.notes.index(rate[1])
        limit = str(result["repetition_limit"][row])
        slow = np.asarray(result["repetition_rate"]) < DESIGN_RATE
        tail = f"; below {DESIGN_RATE:g} Hz at {_named(result, slow)}" if np.any(slow) else ""
        yield Finding(f"Repeats at {rate[0]} or more (slowest {rate[1]}: {limit}){tail}.", bool(tail))


def _sounding(result: Result) -> np.ndarray:
    """Which notes do not fall silent, by their verdicts."""
    return np.array([str(text).startswith((Fate.HANGS.value, Fate.CIPHER.value)) for text in result["verdict"]])


def _closing(result: Result, units: System, case: Case | None) -> Iterator[Finding]:
    figures = spring_figures(result, case)
    margin = figures["margin"]
    known = np.isfinite(margin)
    if not np.any(known):
        return
    low = int(np.nanargmin(margin))
    weak = margin <= 0
    unknown = "" if np.all(known) else f"; of {_named(result, ~known)} it is not known"
    if np.any(weak):
        at = _named(result, weak)
        yield Finding(f"Springs do not close the pallet with the wind off at {at}: ciphers{unknown}.", True)
    elif np.any(sounding := _sounding(result) & known):
        yield Finding(
            "With the wind off each spring by itself would close its pallet, by "
            f"{format_value(margin[low], 'N', units)} or more at the eye; {_named(result, sounding)} all the same does "
            f"not fall silent{unknown}.",
            True,
        )
    else:
        yield Finding(
            f"With the wind off the springs close every pallet, by {format_value(margin[low], 'N', units)} or more at "
            f"the eye (least at {result.notes[low]}){unknown}."
        )
    energy = figures["energy_shut"]
    if np.any(np.isfinite(energy)):
        most = int(np.nanargmax(energy))
        yield Finding(
            f"The strongest spring stores {format_value(energy[most], 'J', units)} with the pallet shut "
            f"({result.notes[most]}): see Cautions."
        )
