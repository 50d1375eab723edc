"""Lettering put where it covers nothing."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import pairwise

from keyaction.plots.drawings.boxes import Box, about, overlap
from keyaction.plots.drawings.dimensions import pieces
from keyaction.plots.drawings.drawing import Circle, Item, Stroke, Text, Xy
from keyaction.plots.drawings.lettering import corners

_HARD = 1000
"""How much worse it is to meet what is there than what is only to be kept off."""
_AIR = 0.35
"""Room kept about lettering, in heights of its capitals."""


class Crowd:
    """What stands on a drawing already."""

    def __init__(self, factor: float, items: Iterable[Item] = ()) -> None:
        self.factor = factor
        self.items: list[Item] = []
        self.crowded = False
        self._taken: list[tuple[Box, tuple[Xy, ...], int]] = []
        self.add(*items)

    def add(self, *items: Item) -> None:
        """Put items down where they are."""
        self.items += items
        for item in pieces(items, self.factor):
            self._taken += [(about(one), one, _HARD) for one in _outlines(item, self.factor)]

    def avoid(self, *items: Item) -> None:
        """Let lettering keep off items that are drawn later, where it can; on them the drawing is not crowded."""
        for item in items:
            self._taken += [(about(one), one, 1) for one in _outlines(item, self.factor)]

    def choose(self, candidates: Sequence[Sequence[Item]]) -> None:
        """Put down the first of several groups of items whose lettering and lines meet nothing; else that which meets
        least, and the drawing is crowded.
        """
        best, least = candidates[0], -1
        for group in candidates:
            met = self._met(group, least)
            if least < 0 or met < least:
                best, least = group, met
            if met == 0:
                break
        self.crowded = self.crowded or least >= _HARD
        self.add(*best)

    def _met(self, group: Sequence[Item], enough: int) -> int:
        """How badly the lettering of a group meets what is there, or its lines meet lettering that is there; counted no
        further than `enough`, if that is above zero.
        """
        count = 0
        for item in pieces(group, self.factor):
            words = isinstance(item, Text)
            for one in _outlines(item, self.factor):
                box = about(one)
                for there, taken, weight in self._taken:
                    if (words or len(taken) > 2) and there.meets(box) and overlap(one, taken):
                        count += weight
                        if 0 < enough <= count:
                            return count
        return count


def _outlines(item: Item, factor: float) -> list[tuple[Xy, ...]]:
    """Convex outlines that an item covers."""
    if isinstance(item, Text):
        return [_grown(corners(item, factor), _AIR * item.height / factor)]
    if isinstance(item, Stroke):
        ends = [*item.points, item.points[0]] if item.closed else list(item.points)
        return list(pairwise(ends))
    if isinstance(item, Circle):
        (x, y), r = item.centre, item.radius
        return [((x - r, y - r), (x + r, y - r), (x + r, y + r), (x - r, y + r))]
    return []


def _grown(box: Sequence[Xy], by: float) -> tuple[Xy, ...]:
    """A turned box, wider by so much at both its ends."""
    a, b, c, d = box
    size = ((b[0] - a[0]) ** 2 + (b[1] - a[1]) ** 2) ** 0.5 or 1.0
    u = ((b[0] - a[0]) / size * by, (b[1] - a[1]) / size * by)
    return (
        (a[0] - u[0], a[1] - u[1]),
        (b[0] + u[0], b[1] + u[1]),
        (c[0] + u[0], c[1] + u[1]),
        (d[0] - u[0], d[1] - u[1]),
    )
