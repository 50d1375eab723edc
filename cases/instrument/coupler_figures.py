"""What follows from the couplers of an instrument before any is drawn: missing fields, assumptions, what is odd."""

from __future__ import annotations

from collections.abc import Iterator

from keyaction.cases.action.case import Case
from keyaction.cases.action.reliance import ASSUMED
from keyaction.cases.action.remarks import assumptions
from keyaction.cases.fields.compass import Compass
from keyaction.cases.instrument.coupler import Coupler
from keyaction.cases.instrument.followed import nothing_told
from keyaction.cases.instrument.instrument import Instrument
from keyaction.cases.text.assumed import Assumption
from keyaction.models.fields.values import Values
from keyaction.models.train.train import PartProblem, part_named
from keyaction.models.units.quantity import System, format_value


def coupler_values(instrument: Instrument, coupler: Coupler, note: int) -> Values:
    """A coupler's figures at a played note, by itself.

    Raises
    ------
    PartProblem
        When the part raises an error of its own and no field is missing.
    """
    values = Values(coupler.name, coupler.values(note), instrument.library)
    try:
        with part_named(coupler.name):
            coupler.part.resolve(values)
    except PartProblem:
        if not values.defects:
            raise
    return values


def coupler_defects(instrument: Instrument) -> list[str]:
    """Every missing or impossible field of every coupler, with the notes that have it."""
    lines = []
    for coupler in instrument.couplers.values():
        found: dict[str, list[int]] = {}
        for note in instrument.divisions[coupler.played].compass:
            for text in dict.fromkeys(coupler_values(instrument, coupler, note).defects):
                found.setdefault(text, []).append(note)
        lines += [
            f"[[coupler]] {coupler.name}, field {text} ({_at(instrument, coupler, notes)})"
            for text, notes in found.items()
        ]
    return lines


def coupler_assumptions(instrument: Instrument, system: System = "trade") -> tuple[Assumption, ...]:
    """Every value of a coupler that the program chose and that a figure comes of."""
    found: list[Assumption] = []
    for coupler in instrument.couplers.values():
        notes = instrument.divisions[coupler.played].compass
        by_note = {note: coupler_values(instrument, coupler, note) for note in notes}
        used = {
            path: {note: one for note, one in course.items() if path in by_note[note].used}
            for path, course in coupler.fields.items()
        }
        found += assumptions(f"[[coupler]] {coupler.name}", coupler.name, coupler.part.fields, used, system)
        items = (item for values in by_note.values() for item in values.derived.values())
        found += dict.fromkeys(
            Assumption(
                "", coupler.name, item.name, f"{format_value(item.value, item.unit, 'si')}, {item.doc}", item.origin
            )
            for item in items
            if item.origin.startswith(ASSUMED)
        )
    return tuple(found)


def couples_nothing(instrument: Instrument) -> Iterator[str]:
    """A sentence for every coupler whose driven division has not all the notes that it would need."""
    for coupler in instrument.couplers.values():
        there = instrument.divisions[coupler.driven].compass
        lacking = [note for note in instrument.divisions[coupler.played].compass if note + coupler.shift not in there]
        if lacking:
            yield nothing_told(instrument, coupler, lacking)


def _at(instrument: Instrument, coupler: Coupler, notes: list[int]) -> str:
    played: Case = instrument.divisions[coupler.played]
    return "every note" if len(notes) == len(played.compass) else Compass(played.compass, played.naming).ranges(notes)
