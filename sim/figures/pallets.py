"""What a result says of the pallets that its keys open: theirs, those that couplers add, or several of one key."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from keyaction.cases.fields.compass import Compass
from keyaction.cases.instrument.coupler import slug
from keyaction.models.notes import parse_note
from keyaction.sim.figures.sounding import OF_PALLETS
from keyaction.sim.files.division_notes import BETWEEN
from keyaction.sim.files.labelled import Result

_OCTAVES = {12: "octave up", -12: "octave down"}
_LONGEST = 16
"""Letters of a division's name in a label."""
_BEFORE = {
    "pluck_force": "added_pluck",
    "follow_through_force": "added_hold",
    "friction_at_key": "added_friction",
    "loop_work": "added_work",
    "effective_mass": "added_mass",
}
"""Figures of the coupled key, with what the couplers add to each."""


@dataclass(frozen=True)
class Pallet:
    """A pallet along the axis of a result.

    Attributes
    ----------
    place : int
        On the axis.
    name : str
        The part.
    division : str
        Empty of an action case.
    label : str
        What people call it: its division, at another pitch with that, and the part where two would be called alike.
    """

    place: int
    name: str
    division: str
    label: str


def note_ranges(result: Result, notes: Iterable[int]) -> str:
    """Notes of a result in words, neighbours drawn together: "C2 to F3, A4"."""
    numbers = [int(note) for note in result["semitone"]]
    return Compass(tuple(range(numbers[0], numbers[-1] + 1)), result.naming).ranges(notes)


def has_pallets(result: Result) -> bool:
    """Whether a result tells of several pallets to a key."""
    return "pallet" in result


def pallets(result: Result) -> list[Pallet]:
    """All pallets of a result, those of the played division first; none where it does not tell of them."""
    if not has_pallets(result):
        return []
    names = [str(name) for name in result["pallet"]]
    found = [_sounds(result, place) for place in range(len(names))]
    called = [", ".join(filter(None, (_short(division), pitch))) for division, pitch in found]
    labels = [
        label if label and called.count(label) == 1 else " ".join(filter(None, (label, name)))
        for name, label in zip(names, called, strict=True)
    ]
    return [Pallet(i, name, found[i][0], label) for i, (name, label) in enumerate(zip(names, labels, strict=True))]


def _short(division: str) -> str:
    """A long name up to where it would be too long for tables and pictures."""
    return division if len(division) <= _LONGEST else f"{division[: _LONGEST - 3].rstrip('- ')}..."


def _sounds(result: Result, place: int) -> tuple[str, str]:
    """The division of a pallet, and the pitch at which it is coupled where that is not the played note's."""
    for text, played in zip(result["pallet_note"][:, place], result["semitone"], strict=True):
        if BETWEEN in str(text):
            division, _, note = str(text).rpartition(BETWEEN)
            apart = parse_note(note, result.naming) - int(played)
            way = f"{abs(apart)} semitones {'up' if apart > 0 else 'down'}"
            return division, _OCTAVES.get(apart, way) if apart else ""
    return result.about.get("division", ""), ""


def figure(result: Result, name: str) -> NDArray[np.float64]:
    """A figure of every pallet, (note, pallet): SI, NaN where there is none."""
    return np.asarray(result[OF_PALLETS[name].variable], dtype=float)


def verdict_text(result: Result, row: int, one: Pallet) -> str:
    """What becomes of a pallet; empty where the note does not open it."""
    return str(result["pallet_verdict"][row, one.place])


def pallets_of(result: Result, row: int) -> list[Pallet]:
    """The pallets that one note opens or should open."""
    return [one for one in pallets(result) if verdict_text(result, row, one)]


def first_to_open(result: Result, row: int, least: float = 5e-6) -> list[Pallet]:
    """The pallets that leave their seats first in the slow press: more than one where they are within `least` m."""
    points = figure(result, "pallet_pluck_point")[row]
    found = [one for one in pallets(result) if np.isfinite(points[one.place])]
    first = min((float(points[one.place]) for one in found), default=0.0)
    return [one for one in found if points[one.place] - first <= least]


def couplers(result: Result, row: int) -> list[str]:
    """The couplers that reach a key from a note, in the order in which its pallets name them."""
    if "pallet_coupler" not in result:
        return []
    return list(dict.fromkeys(name for text in result["pallet_coupler"][row] for name in _names(str(text))))


def moved_by(result: Result, row: int, one: Pallet) -> tuple[str, float]:
    """The couplers that move a pallet, with commas between, and the play of the last of them in m.

    NaN where none moves it, where several do, or where the result does not tell.
    """
    names = _names(str(result["pallet_coupler"][row, one.place])) if "pallet_coupler" in result else []
    plays = _plays(result, row, names[-1]) if names else []
    return ", ".join(names), plays[0] if len(names) == len(plays) == 1 else math.nan


def _plays(result: Result, row: int, coupler: str) -> list[float]:
    """The play of every part of a note that is this coupler."""
    if "figure_what" not in result:
        return []
    begun = re.compile(rf"coupler-{re.escape(slug(coupler))}(-(up|down)-\d+)?(-x)*")
    found = np.flatnonzero((result["figure_role"] == "coupler") & (result["figure_what"] == "play"))
    chosen = [i for i in found if begun.fullmatch(str(result["figure_part"][i]))]
    plays = (float(result["figures"][row, i]) for i in chosen)
    return [play for play in plays if np.isfinite(play)]


def drawn(result: Result) -> list[str]:
    """The couplers that were drawn; none of a result of keys alone."""
    return _names(result.about.get("coupled", ""))


def held(result: Result) -> list[str]:
    """Divisions whose driven keys another hand held down."""
    return _names(result.about.get("held", ""))


def _names(text: str) -> list[str]:
    """Names with commas between."""
    return [name.strip() for name in text.split(",") if name.strip()]


def is_coupled(result: Result) -> bool:
    """Whether couplers were drawn for a result, so that it tells of the same keys alone."""
    return has_pallets(result) and bool(drawn(result))


def alone(result: Result, name: str) -> NDArray[np.float64]:
    """A figure of the same keys with no coupler drawn, over the notes.

    Parameters
    ----------
    result : Result
        A coupled one.
    name : str
        "pluck_force", "follow_through_force", "friction_at_key", "loop_work" or "effective_mass".

    Returns
    -------
    (n,) array
        SI. Where nothing couples the figure itself.
    """
    both = np.asarray(result[name], dtype=float)
    added = np.asarray(result[_BEFORE[name]], dtype=float)
    nothing = np.array([not couplers(result, row) for row in range(len(both))])
    return np.where(nothing & ~np.isfinite(added), both, both - added)
