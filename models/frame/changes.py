"""What members and rods do to the run of one note: every rod drawn tighter or slacker as the wood moves."""

from __future__ import annotations

from dataclasses import dataclass

from keyaction.models.climate.year import Floats
from keyaction.models.instrument.place import Point
from keyaction.models.materials.types import Material


@dataclass(frozen=True)
class RunRod:
    """A rod as the seasons see it.

    Attributes
    ----------
    name : str
    before, behind : str
        The parts that it joins, nearer the key and nearer the pallet.
    along : Point
        Unit vector from its end nearer the key to that nearer the pallet.
    length : float
        m.
    material : Material or None
        None where the case gives a measured rod without material: its own length is then taken not to change.
    thickness : float
        Its thinner side or diameter, m.
    pushes : bool
        Of a sticker: drawn tighter when its ends come nearer.
    """

    name: str
    before: str
    behind: str
    along: Point
    length: float
    material: Material | None
    thickness: float
    pushes: bool


@dataclass(frozen=True)
class RunChange:
    """What the wood of one note's run does over a year.

    Attributes
    ----------
    rods : tuple of str
    tighter : (R, D) array
        How much each rod is drawn tighter, m; below 0 slacker.
    surface : (D,) array
        How much the key's surface rises by its own wood, m.
    """

    rods: tuple[str, ...]
    tighter: Floats
    surface: Floats


def shift_of(pin_moves: Point, before: RunRod | None, behind: RunRod | None) -> tuple[float, float]:
    """How much a pin that moves by so much (m) draws its lever's rods tighter: the one before it, the one behind, m."""
    near = _along(pin_moves, before) if before else 0.0
    far = -_along(pin_moves, behind) if behind else 0.0
    return near, far


def _along(moves: Point, rod: RunRod) -> float:
    sense = -1.0 if rod.pushes else 1.0
    return sense * sum(one * other for one, other in zip(moves, rod.along, strict=True))
