"""What is kept of every pallet that a key opens, and of a coupled note as a whole; and how a result holds it."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from keyaction.sim.figures.coupled import COUPLED
from keyaction.sim.figures.measure import above_seat
from keyaction.sim.figures.sounding import OF_PALLETS
from keyaction.sim.figures.verdict import verdicts
from keyaction.sim.files.labelled import Array, Variable

if TYPE_CHECKING:
    from keyaction.sim.figures.record import Pressed, Record
    from keyaction.sim.motion.integrate import Floats

VARIABLES = {name: one.variable for name, one in OF_PALLETS.items()}
"""How the figures of pallets are called in a result."""
COURSES = {
    "pallets_course": ("m", "lift of each pallet at its eye from the surface of its seat, standard stroke"),
    "pallets_pressure": ("Pa", "pressure in the groove of each pallet, standard stroke"),
}
"""Unit and heading of the curves of every pallet, over (note, pallet, time)."""
_TEXTS = {
    "pallet_note": ("sounds", "note that the pallet sounds"),
    "pallet_coupler": ("by", "couplers by which it is moved"),
    "pallet_verdict": ("verdict", "what becomes of the pallet's note"),
}
_ADDED = "added_"
"""How figures begin that are less those of the key alone."""


class OfPallet(NamedTuple):
    """One pallet of a note.

    Attributes
    ----------
    part : str
        Its name in the train.
    sounds : str
        The note that it sounds, "high/C5"; empty where that is the note itself.
    by : str
        The couplers that reach it, with commas between.
    verdict : str
    figures : mapping of name to SI value
    """

    part: str
    sounds: str
    by: str
    verdict: str
    figures: Mapping[str, float]


def pallets_of(record: Record, named: Mapping[str, tuple[str, str]]) -> tuple[OfPallet, ...]:
    """The figures of every pallet of a note.

    Parameters
    ----------
    record : Record
    named : mapping of str to (str, str)
        What a pallet sounds and the couplers that reach it, by its part.
    """
    found = []
    for one, told in zip(record.press.sounders, verdicts(record), strict=True):
        figures = {name: figure.compute(record, one) for name, figure in OF_PALLETS.items()}
        found.append(OfPallet(one.pallet, *named.get(one.pallet, ("", "")), str(told), figures))
    return tuple(found)


def coupled_of(record: Record, alone: Pressed | None) -> dict[str, float]:
    """The figures of a coupled note; where the key alone cannot be pressed, without those that are less its own."""
    return {
        name: math.nan if alone is None and name.startswith(_ADDED) else one.compute(record, alone or record)
        for name, one in COUPLED.items()
    }


def pallet_courses(record: Record, times: Floats) -> dict[str, Floats]:
    """Curves of every pallet in the standard stroke, (pallet, time)."""
    stroke = record.stroke

    def kept(course: Floats) -> Floats:
        return np.asarray(np.interp(times, stroke.t, course), dtype=float)

    each = record.press.sounders
    return {
        "pallets_course": np.array([kept(above_seat(stroke[one.lift], stroke[one.gap])) for one in each]),
        "pallets_pressure": np.array([kept(stroke[one.pressure]) for one in each]),
    }


def pallet_variables(
    by_note: Sequence[Sequence[OfPallet]], curves: Sequence[Mapping[str, Array]], coupled: Sequence[Mapping[str, float]]
) -> dict[str, Variable]:
    """What a result holds of pallets, over (note, pallet), and of coupled notes; empty where no note has several.

    Parameters
    ----------
    by_note, curves, coupled : sequences over notes
        Of a note that failed all are empty.
    """
    parts = [one.part for one in max(by_note, key=len, default=())]
    parts += [one.part for pallets in by_note for one in pallets if one.part not in parts]
    parts = list(dict.fromkeys(parts))
    if not parts:
        return {}
    rows = [{one.part: one for one in pallets} for pallets in by_note]
    axes = ("note", "pallet")
    found = {"pallet": Variable(("pallet",), np.array(parts, dtype=object), "", "pallet, as its part is called")}
    for name, (what, label) in _TEXTS.items():
        texts = [[getattr(row[part], what) if part in row else "" for part in parts] for row in rows]
        found[name] = Variable(axes, np.array(texts, dtype=object), "", label)
    for name, one in OF_PALLETS.items():
        values = [
            [row[part].figures.get(name, math.nan) if part in row else math.nan for part in parts] for row in rows
        ]
        found[VARIABLES[name]] = Variable(axes, np.array(values, dtype=float), one.unit, one.label, one.definition)
    for name, of_note in COUPLED.items():
        figures = np.array([own.get(name, math.nan) for own in coupled], dtype=float)
        found[name] = Variable(("note",), figures, of_note.unit, of_note.label, of_note.definition)
    return found | _course_variables(parts, rows, curves)


def _course_variables(
    parts: Sequence[str], rows: Sequence[Mapping[str, OfPallet]], curves: Sequence[Mapping[str, Array]]
) -> dict[str, Variable]:
    found: dict[str, Variable] = {}
    for name, (unit, label) in COURSES.items():
        samples = next((own[name].shape[-1] for own in curves if name in own), 0)
        table = np.full((len(rows), len(parts), samples), np.nan, dtype=np.float32)
        for place, row, own in zip(table, rows, curves, strict=True):
            for part, course in zip(row, own.get(name, ()), strict=False):
                place[parts.index(part)] = course
        if samples:
            found[name] = Variable(("note", "pallet", "time"), table, unit, label)
    return found
