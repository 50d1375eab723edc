"""What a coupler moves of a train: the pallets that hang behind it."""

from __future__ import annotations

from collections.abc import Mapping

from keyaction.models.algebra.names import Name
from keyaction.models.train.structure import Structure
from keyaction.models.train.train import Train

PLAY = "play"
_STILL = ("spring", "groove", "box")
"""Roles of parts that lead nowhere."""


def play_of(coupler: str) -> Name:
    """The parameter that is a coupler's play."""
    return Name(coupler, PLAY)


def with_play(train: Train, coupler: str, play: float) -> Train:
    """The same train with a coupler set to another play, m."""
    return train.with_parameter(play_of(coupler), play, "set")


def pallets_behind(structure: Structure, coupler: str) -> tuple[str, ...]:
    """Names of the pallets that a coupler moves, by itself or by couplers that it takes along, in train order.

    Parameters
    ----------
    structure : Structure
    coupler : str
        Its name in the structure.
    """
    found = _behind(structure, coupler)
    return tuple(one.name for one in structure if one.part.role == "pallet" and one.name in found)


def others_onto(structure: Structure, coupler: str) -> tuple[str, ...]:
    """Couplers that move pallets of this one without being taken along by it."""
    behind, mine = _behind(structure, coupler), set(pallets_behind(structure, coupler))
    others = [one.name for one in structure if one.part.role == "coupler" and one.name not in behind]
    return tuple(name for name in others if mine & set(pallets_behind(structure, name)))


def _behind(structure: Structure, coupler: str) -> set[str]:
    """A coupler and all parts that it moves."""
    ways = _ways(structure)
    found, waiting = {coupler}, [coupler]
    for name in waiting:
        fresh = [one for one in ways.get(name, ()) if one not in found]
        found |= set(fresh)
        waiting += fresh
    return found


def _ways(structure: Structure) -> Mapping[str, list[str]]:
    """What each part moves next: rods lead on from a body, couplers from one train to another."""
    found: dict[str, list[str]] = {}
    body = rod = ""
    for one in structure:
        if one.part.role == "coupler":
            for start, end in ((one.after, one.name), ((one.name, ""), one.to[0] if one.to else "")):
                found.setdefault(start[0] if start else "", []).append(end)
        elif one.part.role == "rod":
            found.setdefault(one.after[0] if one.after else body, []).append(one.name)
            rod = one.name
        elif one.part.role not in _STILL:
            if one.part.role != "key":
                found.setdefault(rod, []).append(one.name)
            body = one.name
    return found
