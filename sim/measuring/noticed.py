"""What is odd about a sheet before anything is concluded from it, in words: `noticed`."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from keyaction.cases.action.case import Case
from keyaction.models.notes import note_name
from keyaction.models.readings.figures import BY_NAME, NAMES
from keyaction.models.readings.readings import Head, Readings
from keyaction.models.units.parsing import unit_factor
from keyaction.models.units.quantity import System, format_value
from keyaction.sim.measuring.common import common_told
from keyaction.sim.measuring.computed import Computed
from keyaction.sim.motion.integrate import Floats

NEARLY_ALL = 0.8
"""Share of the notes that count as nearly all."""
FEW = 4
"""Notes that are named before the rest is counted."""
_SURE = 3.0
"""Standard deviations beyond which figures cannot be together."""
ALIKE = 0.01
"""Share by which pressures may differ and still be called the same."""
OUNCE = unit_factor("oz") / unit_factor("g")
"""Grams in an ounce."""
SLIPS = {
    "N": (("newtons", unit_factor("gf")), ("ounces", 1.0 / OUNCE), ("tens of grams", 0.1)),
    "m": (("inches", unit_factor("mm") / unit_factor("in")), ("centimetres", 0.1)),
}
"""Units that people write where the trade's are meant: what one of them, read as gf or mm, comes to."""
NEAR = 0.25
"""Share within which a common factor is taken for one of those."""


@dataclass(frozen=True)
class _Beside:
    """A sheet beside what is computed for it.

    Attributes
    ----------
    readings : Readings
    case : Case
    notes : sequence of int
    read, errors, drawn : (notes, figures) array
        What was read, how exactly, and what is computed, SI.
    units : {"trade", "si"}
    """

    readings: Readings
    case: Case
    notes: Sequence[int]
    read: Floats
    errors: Floats
    drawn: Floats
    units: System

    def of(self, table: Floats, figure: str) -> Floats:
        """One figure of all notes."""
        return np.asarray(table[:, NAMES.index(figure)])

    def value(self, figure: str, value: float) -> str:
        """A figure for people."""
        return format_value(value, BY_NAME[figure].unit, self.units)

    def named(self, rows: Sequence[int]) -> str:
        """Notes at some rows, the first few by name."""
        names = [note_name(self.notes[i], self.case.naming) for i in rows]
        more = f" and {len(names) - FEW} others" if len(names) > FEW else ""
        return ", ".join(names[:FEW]) + more


def noticed(
    readings: Readings, case: Case, drawn: Computed, units: System = "trade", notes: Sequence[int] | None = None
) -> list[str]:
    """Everything odd about a sheet.

    Parameters
    ----------
    readings : Readings
    case : Case
        That it is held against.
    drawn : Computed
        What would be read of its notes as they are drawn, at the pressure of the sheet and levels counted from the
        drawing (`keyaction.sim.measuring.computed`), wind on and off.
    units : {"trade", "si"}
    notes : sequence of int, optional
        The notes of `drawn`; by default those of the sheet.

    Returns
    -------
    list of str
        Sentences; what makes all others worthless comes first.
    """
    chosen = readings.notes if notes is None else tuple(notes)
    sheet = _Beside(
        readings, case, chosen, readings.values(NAMES, chosen), readings.errors(NAMES, chosen), drawn.values, units
    )
    slips = _slips(sheet)
    found = [*other_case(readings.head, case), *_pressure(sheet), *slips.values()]
    wind = list(_wind(sheet))
    found += wind
    if not slips and not wind:
        found += common_told(readings, chosen, sheet.drawn, pressure(readings, case), units)
        found += _together(sheet)
    return [*found, *_disagreeing(sheet), *readings.told]


def pressure(readings: Readings, case: Case) -> float:
    """Pressure (Pa) in the box while a sheet was measured; the case's where the sheet does not say it."""
    said = readings.head.pressure
    return said if np.isfinite(said) else case_pressure(case)


def case_pressure(case: Case) -> float:
    """Pressure (Pa) in the box of a case; of several the first, at its lowest note."""
    box = next(one for one in case.parts if one.part.role == "box")
    return float(box.fields["pressure"][case.compass[0]].value)


def other_case(head: Head, case: Case, what: str = "The sheet") -> Iterator[str]:
    """That something measured says it is of another case or division, or of the case as it was.

    Parameters
    ----------
    head : Head
    case : Case
    what : str
        What was measured, as a sentence begins.
    """
    known = head.key and case.fingerprint.startswith(head.key)
    if head.division and case.division and head.division != case.division:
        yield f"{what} is of division '{head.division}', and this is '{case.division}'."
    elif head.division and not case.division:
        yield f"{what} is of division '{head.division}', and the case has no divisions."
    if known or not (head.key or head.case):
        return
    if head.case and head.case != case.title:
        yield f"{what} is of another case: '{head.case}', and this is '{case.title}'."
    elif head.key:
        was = f"its key was {head.key} and is {case.fingerprint[: len(head.key)]} now"
        made = f"{what[:1].lower()}{what[1:]} was made for it ({was})"
        yield f"The case has been changed since {made}; what is expected may be another."


def _pressure(sheet: _Beside) -> Iterator[str]:
    said, case = sheet.readings.head.pressure, case_pressure(sheet.case)
    shown = [format_value(one, "Pa", sheet.units) for one in (said, case)]
    if not np.isfinite(said):
        yield f"The sheet gives no pressure: the case's {shown[1]} is taken."
    elif abs(said - case) > ALIKE * case:
        yield f"Measured at {shown[0]}, and the case has {shown[1]}: computed at the sheet's {shown[0]}."


def _slips(sheet: _Beside) -> dict[str, str]:
    """Figures that are off by the factor of a unit on nearly all notes."""
    found = {}
    for figure in (name for name in NAMES if name not in ("level", "play")):
        about = BY_NAME[figure]
        read, drawn = sheet.of(sheet.read, figure), sheet.of(sheet.drawn, figure)
        with np.errstate(divide="ignore", invalid="ignore"):
            ratios = (read / drawn)[np.isfinite(read) & (drawn > 0.0)]
        for name, factor in SLIPS[about.unit]:
            near = np.abs(ratios / factor - 1.0) < NEAR
            if len(ratios) and near.sum() >= NEARLY_ALL * len(ratios):
                trade = "gf" if about.unit == "N" else "mm"
                median = sheet.value(figure, float(np.nanmedian(read)))
                expected = sheet.value(figure, float(np.nanmedian(drawn)))
                found[figure] = (
                    f"Under {about.heading} stands {median} (median) where {expected} is computed: {name} written in "
                    f"a column of {trade}?"
                )
                break
    return found


def _wind(sheet: _Beside) -> Iterator[str]:
    """Weights under wind on that were taken with the wind off, the other way round, and both exchanged."""
    apart = _apart(sheet)
    wrong = {name: _nearer(sheet, name, apart) for name in _PLUCKS}
    if wrong["pluck"] and wrong["pluck_off"]:
        yield f"Wind on and wind off have changed places: {wrong['pluck']}; {wrong['pluck_off']}."
    elif wrong["pluck"]:
        yield f"Measured with the wind off, or hardly any, under wind on? {_upper(wrong['pluck'])}."
    elif wrong["pluck_off"]:
        yield f"Measured with the wind on under wind off? {_upper(wrong['pluck_off'])}."


_PLUCKS = ("pluck", "pluck_off")


def _apart(sheet: _Beside) -> Floats:
    """Notes at which the wind adds more to the pluck than errors of reading."""
    on, off = (sheet.of(sheet.drawn, name) for name in _PLUCKS)
    return np.asarray(on - off > _SURE * np.sqrt(2.0) * sheet.readings.head.balance)


def mistaken_wind(readings: Readings, case: Case, drawn: Computed, notes: Sequence[int]) -> tuple[str, ...]:
    """Plucks, wind on and off, that were read with the wind in the other state; see `noticed`."""
    read, errors = readings.values(NAMES, notes), readings.errors(NAMES, notes)
    sheet = _Beside(readings, case, notes, read, errors, drawn.values, "trade")
    return tuple(name for name in _PLUCKS if _nearer(sheet, name, _apart(sheet)))


def _nearer(sheet: _Beside, figure: str, apart: Floats) -> str:
    """How many plucks lie by what is computed for the other state of the wind; empty where they are not nearly all."""
    other = "pluck_off" if figure == "pluck" else "pluck"
    read, own, its = sheet.of(sheet.read, figure), sheet.of(sheet.drawn, figure), sheet.of(sheet.drawn, other)
    there = np.isfinite(read) & apart
    near = there & (np.abs(read - its) < np.minimum(np.abs(read - own) / 3.0, np.abs(its) / 2.0))
    if not there.any() or near.sum() < NEARLY_ALL * there.sum():
        return ""
    middle = [sheet.value(figure, float(np.median(one[there]))) for one in (read, its, own)]
    states = ("off", "on") if figure == "pluck" else ("on", "off")
    return (
        f"the plucks under wind {states[1]} of {near.sum()} of {there.sum()} notes lie near what is computed with the "
        f"wind {states[0]}: {middle[0]} (median), where {middle[1]} is computed with it {states[0]} and {middle[2]} "
        f"with it {states[1]}"
    )


def _upper(text: str) -> str:
    return text[:1].upper() + text[1:]


_ORDERED = (
    ("play", "point", "the play ends after the pluck point"),
    ("point", "dip", "the pluck point lies below the bottom"),
    ("up", "hold", "the key lifts more than holds it down, as if friction helped"),
    ("up_off", "hold_off", "the key lifts more, wind off, than holds it down, as if friction helped"),
    ("hold", "pluck", "holding takes more than plucking"),
    ("pluck_off", "pluck", "it plucks heavier with the wind off than on"),
)
"""The first figure is not more than the second; the computed difference is allowed where the design has one."""


def _together(sheet: _Beside) -> Iterator[str]:
    """Figures of one note that cannot be together."""
    for less, more, words in _ORDERED:
        first, second = (sheet.of(sheet.read, name) for name in (less, more))
        drawn = sheet.of(sheet.drawn, less) - sheet.of(sheet.drawn, more)
        error = np.hypot(sheet.of(sheet.errors, less), sheet.of(sheet.errors, more))
        allowed = np.where(np.isfinite(drawn), np.maximum(drawn, 0.0), 0.0) + _SURE * error
        rows = np.flatnonzero(first - second > allowed).tolist()
        if rows:
            worst = max(rows, key=(first - second).__getitem__)
            pair = f"{BY_NAME[less].heading} {sheet.value(less, first[worst])}, "
            pair += f"{BY_NAME[more].heading} {sheet.value(more, second[worst])}"
            of = note_name(sheet.notes[worst], sheet.case.naming)
            yield f"{sheet.named(rows)}: {words} ({of}: {pair}); measure once more."


def _disagreeing(sheet: _Beside) -> Iterator[str]:
    found = sheet.readings.disagreements
    for one in found[:FEW]:
        about, error = BY_NAME[one.figure], sheet.readings.head.error(one.figure)
        values = " and ".join(sheet.value(one.figure, value) for value in one.values)
        yield (
            f"{note_name(one.note, sheet.case.naming)}: readings of {about.heading} disagree, {values}, where the "
            f"{about.tool} reads to {sheet.value(one.figure, error)}; counted as no better than half of that."
        )
    if len(found) > FEW:
        yield f"{len(found) - FEW} other figures were read twice and disagree."
