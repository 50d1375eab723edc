"""What a run is made of: stations and rods; in which sense each lever turns when it is played."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise, product
from typing import Literal

from keyaction.models.instrument.plane import Plane, tangent, turn

ROLLER = "roller"
"""The kind of a station that carries the motion sideways by its length."""
LEADS_ON = 0.02
"""rad, about a degree: rods that turn by less at a lever lead straight on there. On the wrong side of an arm of 50 mm
they would meet half a millimetre from their ends, which is less than they are thick."""
_SIDES = (("left", 1), ("right", -1))


@dataclass(frozen=True)
class Station:
    """A key, lever, roller or pallet, where its axis stands in the side view.

    Parameters
    ----------
    part : str
        Its name in the train.
    kind : str
        ``key`` (balanced), ``key-hung`` (at its tail), ``key-pedal`` (at its heel), ``pallet``, or that of a lever or
        roller.
    axis : (float, float), optional
        Back and up, m; of a key its pivot, of a pallet its eye.
    in_arm, out_arm : float, optional
        m. Of a key the finger's place and the first rod's; of a pallet from the eye to the hinge, and None.
    side : {"left", "right", ""}
        On which side of the run its axis stands, for one who walks from key to pallet with up above. Of a lever at
        which a push turns to a pull, or a pull to a push, the run is the rod that comes from the key. Of a pallet:
        where its hinge stands. Empty: see `senses`.
    """

    part: str
    kind: str
    axis: Plane | None
    in_arm: float | None
    out_arm: float | None
    side: Literal["left", "right", ""] = ""


@dataclass(frozen=True)
class Rod:
    """A rod between two stations.

    Parameters
    ----------
    part, kind : str
        Its name in the train; tracker, sticker or pull-down.
    pushes : bool
    """

    part: str
    kind: str
    pushes: bool

    @property
    def sign(self) -> int:
        """+1 of what pulls, -1 of what pushes."""
        return -1 if self.pushes else 1


@dataclass(frozen=True)
class Held:
    """Where the rods of a run hook on, before it is known which way its levers turn.

    Parameters
    ----------
    points : tuple of Plane
        The key's eye, axes of the levers, the pallet's eye.
    arms : tuple of (float, float)
        In and out, m; 0 at key and pallet, whose eyes stand fast.
    signs : tuple of int
        Of each rod, +1 where it pulls.
    sides : tuple of str
        Of each point: ``left``, ``right`` or open.
    """

    points: tuple[Plane, ...]
    arms: tuple[tuple[float, float], ...]
    signs: tuple[int, ...]
    sides: tuple[str, ...]

    def ends(self, senses: Sequence[int]) -> list[tuple[float, float]]:
        """How far to the left of each rod the arms hold its two ends, m.

        A lever that turns by a small angle t in its sense s (+1 from back to up) moves the end r of its arm by s t Jr.
        A rod that pulls draws its near end back along itself, and its far end the same way: both by -e. So s Jr = -a e,
        and r = s a Je; of what pushes both have the other sign.
        """
        out = [sense * arms[1] for sense, arms in zip(senses, self.arms, strict=True)]
        into = [sense * arms[0] for sense, arms in zip(senses, self.arms, strict=True)]
        return [(sign * p, sign * q) for sign, p, q in zip(self.signs, out, into[1:], strict=False)]


def senses(held: Held) -> tuple[int, ...]:
    """In which sense each lever turns when it is played.

    Where the side of its axis is not given, a lever stands on the inner side of the corner that its rods make; where
    they lead straight on (within `LEADS_ON`), or fold back, and where a push turns to a pull, either side will do. Of
    all such runs that is taken which turns least in all; of equals the shortest; of equals the one whose axes stand to
    the left.

    Returns
    -------
    tuple of int
        Of every point: +1 from back to up, -1 from up to back; 0 of key and pallet.
    """
    return min(_choices(held), key=lambda choice: _cost(held, *choice))[1]


def _choices(held: Held) -> Iterator[tuple[tuple[int, ...], tuple[int, ...]]]:
    """(sides, senses) of all runs that the given sides allow: sides +1 left, and 0 of key and pallet."""
    open_to = [[way for name, way in _SIDES if side in ("", name)] for side in held.sides[1:-1]]
    for chosen in product(*open_to):
        sides = (0, *chosen, 0)
        # The in arm holds its rod to the left (r along Je) where its axis stands to the right.
        yield sides, (0, *(-sign * side for sign, side in zip(held.signs, chosen, strict=False)), 0)


def _cost(held: Held, sides: Sequence[int], senses: Sequence[int]) -> tuple[float, ...]:
    """What speaks against a run: rods that cannot be, levers outside their corner, turns, length, sides."""
    rods = [
        tangent(*ends, far - near) for ends, (near, far) in zip(pairwise(held.points), held.ends(senses), strict=True)
    ]
    impossible = sum(rod is None for rod in rods)
    outside, turns = 0, 0.0
    for i, (one, other) in enumerate(pairwise(rods)):
        if one is None or other is None:
            continue
        angle = turn(one[0], other[0])
        turns += abs(angle)
        alike = held.signs[i] == held.signs[i + 1]
        straight = min(abs(angle), math.pi - abs(angle)) < LEADS_ON
        outside += alike and not straight and angle * sides[i + 1] < 0
    length = sum(rod[1] for rod in rods if rod)
    return impossible, outside, round(turns, 9), round(length, 9), *(-side for side in sides)
