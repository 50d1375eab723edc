"""The path of one note from key to pallet: axes, ends of arms, rods with their lengths and angles."""

from __future__ import annotations

import math
from dataclasses import dataclass

from keyaction.models.instrument.place import Point


@dataclass(frozen=True)
class Leg:
    """A rod of the path.

    Parameters
    ----------
    part, kind : str
        Its name in the train; tracker, sticker or pull-down.
    start, end : Point
        Where it hooks on, nearer the key and nearer the pallet.
    pushes : bool
    """

    part: str
    kind: str
    start: Point
    end: Point
    pushes: bool

    @property
    def length(self) -> float:
        """Between its ends, m."""
        return math.dist(self.start, self.end)


@dataclass(frozen=True)
class Turn:
    """A key, lever, roller or pallet of the path.

    Parameters
    ----------
    part, kind : str
    near, far : Point
        Its axis beside the arm nearer the key and beside that nearer the pallet: two places of a roller, one of others.
    in_end, out_end : Point, optional
        Ends of its arms: of a key the finger's place and the first rod's, of a pallet the eye alone.
    """

    part: str
    kind: str
    near: Point
    far: Point
    in_end: Point | None
    out_end: Point | None


@dataclass(frozen=True)
class Path:
    """One note's path, key first.

    Parameters
    ----------
    note : int
    turns : tuple of Turn
        Key, levers, pallet.
    legs : tuple of Leg
        Each from one of `turns` to the next.
    """

    note: int
    turns: tuple[Turn, ...]
    legs: tuple[Leg, ...]
