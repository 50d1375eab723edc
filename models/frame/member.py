"""A member: a piece of frame, chest, case or key whose length changes and takes with it what it carries."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal, get_args

from keyaction.models.materials.types import Material

Direction = Literal["up", "down", "back", "front", "right", "left"]
DIRECTIONS: tuple[Direction, ...] = get_args(Direction)
Grain = Literal["along", "radial", "tangential"]
GRAINS: tuple[Grain, ...] = get_args(Grain)
FLOOR = "floor"
"""What stands still, and what a member stands on unless it says otherwise."""
KEY_FRONT = "key.front"
"""The key's upper surface, whose height is its level."""
VECTORS: Mapping[str, tuple[float, float, float]] = {
    "right": (1.0, 0.0, 0.0),
    "left": (-1.0, 0.0, 0.0),
    "back": (0.0, 1.0, 0.0),
    "front": (0.0, -1.0, 0.0),
    "up": (0.0, 0.0, 1.0),
    "down": (0.0, 0.0, -1.0),
}
"""Directions as `Point` has them: across (bass to treble), back (into the case), up."""


@dataclass(frozen=True)
class Member:
    """One member.

    Attributes
    ----------
    name : str
    material : Material
    length : mapping of int to float
        By note, m: from where it stands to what it carries.
    towards : str
        The direction in which it reaches from where it stands, and so moves what it carries as it grows.
    grain : str
        How its length lies to the grain: "along", "radial" or "tangential"; empty of what has none.
    on : str
        The member that it stands on, or `FLOOR`.
    carries : tuple of str
        Parts whose axes it carries; ``ROD.start`` and ``ROD.end`` for a rod's hook alone, nearer the key and nearer
        the pallet; `KEY_FRONT` for the key's surface alone.
    thickness : float
        Size that moisture passes through, m: it sets how slowly the member follows. 0 of what takes up none.
    breadth : float
        Its other size across, m, where it is not many times the thickness; 0 of a wide board.
    finish : str
        By the name of a finish of `keyaction.models.climate.lag`.
    faces : int
        How many faces moisture passes through: 2, or 1 where the other is shut.
    lag : float, optional
        Measured lag in place of what thickness and finish give, s.
    """

    name: str
    material: Material
    length: Mapping[int, float]
    towards: Direction
    grain: str
    on: str = FLOOR
    carries: tuple[str, ...] = ()
    thickness: float = 0.0
    finish: str = "bare"
    faces: int = 2
    lag: float | None = None
    breadth: float = 0.0
