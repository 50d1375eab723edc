"""The rods of a note's run as the seasons see them, and how much each is drawn tighter."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Protocol

import numpy as np

from keyaction.models.climate.year import Floats
from keyaction.models.fields.values import Values
from keyaction.models.frame.changes import RunChange, RunRod
from keyaction.models.frame.member import VECTORS, Member
from keyaction.models.frame.places import moves
from keyaction.models.instrument.path import Path
from keyaction.models.instrument.place import Point

END_START, END_FAR = "start", "end"
"""A rod's hooks, nearer the key and nearer the pallet, as ``ROD.start`` and ``ROD.end``."""
ASSUMED_LEVEL = "back"
"""Which way a level rod leads where no layout tells it (assumed: from the key towards the chest)."""
_BODIES = ("key", "lever", "pallet")
_SIDES = {"round": ("diameter",), "tube": ("wall",), "square": ("width",), "rectangle": ("width", "thickness")}


class Standing(Protocol):
    """What a part of a train tells here, as `keyaction.models.train.train.TrainPart` does."""

    @property
    def name(self) -> str: ...

    @property
    def role(self) -> str: ...

    @property
    def part(self) -> type: ...

    @property
    def values(self) -> Values: ...


def run_rods(
    parts: Sequence[Standing], path: Path | None = None, after: Mapping[str, str] | None = None
) -> tuple[RunRod, ...]:
    """The rods of a note's train.

    Parameters
    ----------
    parts : sequence of Standing
        From the finger to the wind, such as ``train.parts``.
    path : Path, optional
        The note's path in a layout, which tells how its rods lie; else their ``moves`` do.
    after : mapping of str to str, optional
        Of every rod that branches off the part that it leads on from; of others it is the last body before.

    Returns
    -------
    tuple of RunRod
        Key first.
    """
    found, branch = list[RunRod](), after or {}
    laid = {leg.part: (leg.start, leg.end) for leg in path.legs} if path else {}
    for i, one in enumerate(parts):
        behind = next((other.name for other in parts[i:] if other.role in _BODIES), "")
        before = next((other.name for other in reversed(parts[:i]) if other.role in _BODIES), "")
        if one.role == "rod" and behind and before:
            found.append(_rod(one, branch.get(one.name, before), behind, laid.get(one.name)))
    return tuple(found)


def _rod(one: Standing, before: str, behind: str, ends: tuple[Point, Point] | None) -> RunRod:
    values, pushes = one.values, bool(getattr(one.part, "pushed", False))
    along = _unit(*ends) if ends else _moving(values, pushes)
    length = values.number("length") if values.has("length") else math.dist(*ends) if ends else 0.0
    material = values.material("material") if values.has("material") else None
    return RunRod(one.name, before, behind, along, length, material, rod_thickness(values), pushes)


def _unit(start: Point, end: Point) -> Point:
    long = math.dist(start, end)
    return tuple((b - a) / long for a, b in zip(start, end, strict=True)) if long else VECTORS["up"]  # type: ignore[return-value]


def _moving(values: Values, pushes: bool) -> Point:
    """From the end nearer the key to the other: a rod that is pulled leads against its motion, a sticker with it."""
    way = values.text("moves") if values.has("moves") else "level"
    if way == "level":
        return VECTORS[ASSUMED_LEVEL]
    return VECTORS["up" if (way == "up") == pushes else "down"]


def rod_thickness(values: Values) -> float:
    """Least size of a rod's section that moisture passes through, m; of a tube its wall; 0 where none is given."""
    sides = _SIDES.get(values.text("section"), ()) if values.has("section") else ()
    return min((values.number(side) for side in sides if values.has(side)), default=0.0)


def run_change(
    members: Sequence[Member],
    rods: Sequence[RunRod],
    note: int,
    growth: Mapping[str, Floats],
    rod_growth: Mapping[str, Floats],
) -> RunChange:
    """How much members and the rods' own growth draw each rod of a note tighter.

    Parameters
    ----------
    members : sequence of Member
    rods : sequence of RunRod
        Of the note, from `run_rods`.
    note : int
    growth : mapping of str to (D,) array
        Growth over length of every member.
    rod_growth : mapping of str to (D,) array
        Growth over length of rods; those that are not in it do not grow.

    Returns
    -------
    RunChange
        A rod's ends going apart by more than it grows draws it tighter; of a sticker the other way round.
    """
    axes = moves(members, note, growth)
    days = max((len(one) for one in (*growth.values(), *rod_growth.values())), default=1)
    tighter = np.zeros((len(rods), days))
    for i, rod in enumerate(rods):
        far = axes.axis(rod.behind) + axes.hook(f"{rod.name}.{END_FAR}")
        near = axes.axis(rod.before) + axes.hook(f"{rod.name}.{END_START}")
        apart = np.array(rod.along) @ (far - near)
        sense = -1.0 if rod.pushes else 1.0
        tighter[i] = sense * (apart - rod.length * rod_growth.get(rod.name, 0.0))
    return RunChange(tuple(rod.name for rod in rods), tighter, axes.surface + np.zeros(days))
