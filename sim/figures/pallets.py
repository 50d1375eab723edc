"""What a result says of the pallets that its keys open: theirs, those that couplers add, or several of one key."""

from __future__ import annotations

import json
import re
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from keyaction.sim.files.labelled import Result

_SHIFT = re.compile(r"(?:d\d+x*)?-(up|down)-(\d+)-")
_OCTAVES = {("up", 12): "octave up", ("down", 12): "octave down"}
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


def has_pallets(result: Result) -> bool:
    """Whether a result tells of several pallets to a key."""
    return "pallet" in result and "pallet_division" in result


def pallets(result: Result) -> list[Pallet]:
    """All pallets of a result, those of the played division first; none where it does not tell of them."""
    if not has_pallets(result):
        return []
    names = [str(name) for name in result["pallet"]]
    divisions = [str(name) for name in result["pallet_division"]]
    called = [_called(name, division) for name, division in zip(names, divisions, strict=True)]
    labels = [
        label if label and called.count(label) == 1 else " ".join(filter(None, (label, name)))
        for name, label in zip(names, called, strict=True)
    ]
    return [Pallet(i, *one) for i, one in enumerate(zip(names, divisions, labels, strict=True))]


def _called(name: str, division: str) -> str:
    """A division, with the pitch at which it is coupled where that is not the played note's."""
    shift = _SHIFT.match(name.removeprefix(division.lower()))
    if shift is None:
        return division
    way, count = shift[1], int(shift[2])
    return f"{division}, {_OCTAVES.get((way, count), f'{count} semitones {way}')}"


def pallets_of(result: Result, row: int) -> list[Pallet]:
    """The pallets that one note opens or should open."""
    return [one for one in pallets(result) if _there(result, row, one.place)]


def _there(result: Result, row: int, place: int) -> bool:
    return bool(str(result["pallet_verdict"][row, place])) or bool(np.isfinite(result["pallet_lift"][row, place]))


def first_to_open(result: Result, row: int, least: float = 5e-6) -> list[Pallet]:
    """The pallets that leave their seats first in the slow press: more than one where they are within `least` m."""
    points = result["pallet_pluck_point"][row]
    found = [one for one in pallets(result) if np.isfinite(points[one.place])]
    first = min((float(points[one.place]) for one in found), default=0.0)
    return [one for one in found if points[one.place] - first <= least]


def couplers(result: Result, row: int) -> list[str]:
    """The couplers that reach a key from a note."""
    text = str(result["coupled_by"][row]) if "coupled_by" in result else ""
    return text.split(", ") if text else []


def drawn(result: Result) -> list[str]:
    """The couplers that were drawn; none of a result of keys alone."""
    return _list(result.about.get("coupled", ""))


def held(result: Result) -> list[str]:
    """Divisions whose driven keys another hand held down."""
    return _list(result.about.get("held", ""))


def _list(text: str) -> list[str]:
    """Names as JSON; what cannot be read tells of none."""
    try:
        found = json.loads(text) if text else []
    except ValueError:
        return []
    return [str(one) for one in found] if isinstance(found, list) else []


def is_coupled(result: Result) -> bool:
    """Whether couplers were drawn for a result, so that it tells of the same keys alone."""
    return has_pallets(result) and bool(drawn(result)) and "coupled_by" in result


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
