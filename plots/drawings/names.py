"""Lettering in rows beside a drawing, without overlap; leaders go from each to what it names."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

from keyaction.plots.drawings.drawing import Item, Stroke, Text, Xy
from keyaction.plots.drawings.lettering import SMALL, width
from keyaction.plots.style.labels import spread

Beside = Literal["below", "above", "left", "right"]
_APART, _LEADER, _STRAIGHT, _GAP = 1.4, 4.0, 1.0, 0.8
"""Least room of a line over its height; mm on paper of a leader, of its straight beginning, and from it to words."""
_MOST, _PASS = 3, 0.75
"""Most rows one behind the other, and from a leader that passes to the middle of a line, over its height."""
_FAR = 6.0
"""mm on paper beyond which words that were moved aside are no longer found by eye."""


@dataclass(frozen=True)
class Row:
    """A row of lettering.

    Parameters
    ----------
    items : tuple
    reach : float
        How far it reaches from where its leaders begin, mm of the real thing.
    crowded : bool
        Whether words stand far from what they name.
    """

    items: tuple[Item, ...]
    reach: float
    crowded: bool


def beside(named: Sequence[tuple[float, str]], level: float, side: Beside, factor: float, of: str = "note") -> Row:
    """A row of words at one side of a drawing, across the row's own direction.

    Parameters
    ----------
    named : sequence of (float, str)
        Place along the row, mm, and the words.
    level : float
        Where the leaders begin: up of a row below or above, across of one at the left or right, mm.
    side : {"below", "above", "left", "right"}
    factor : float
        Paper over real.
    of : str
        What the words are.
    """
    named = sorted(named)
    if not named:
        return Row((), 0.0, False)
    at, long = [place for place, _ in named], max(width(words, SMALL) for _, words in named)
    levels = _levels(at, factor)
    places = at if levels else spread_out(at, _APART * SMALL / factor)
    row = _Ruled(level, 1.0 if side in ("above", "right") else -1.0, side in ("below", "above"), factor)
    items: list[Item] = []
    for i, ((start, words), place) in enumerate(zip(named, places, strict=True)):
        depth = (i % levels) * (long + _GAP) if levels else 0.0
        items += row.line(start, place, depth, words, of)
    reach = _LEADER + _GAP + long + (max(levels, 1) - 1) * (long + _GAP)
    far = max(abs(a - b) for a, b in zip(at, places, strict=True)) * factor
    return Row(tuple(items), reach / factor, far > _FAR)


def _levels(at: Sequence[float], factor: float) -> int:
    """In how many rows, one behind the other, all words stand in their own lines; 0 where in none of three."""
    gaps = [(b - a) * factor for a, b in pairwise(at)]
    for levels in range(1, _MOST + 1):
        own = [(b - a) * factor for a, b in zip(at, at[levels:], strict=False)]
        if all(gap >= _APART * SMALL for gap in own) and (levels == 1 or all(gap >= _PASS * SMALL for gap in gaps)):
            return levels
    return 0


@dataclass(frozen=True)
class _Ruled:
    """Where a row stands: its level, to which side it goes, and whether its words stand upright."""

    level: float
    sign: float
    upright: bool
    factor: float

    def line(self, start: float, place: float, depth: float, words: str, of: str) -> Iterator[Item]:
        """One leader with its words, `depth` mm on paper further away than the nearest row."""
        bent = (
            [(start, 0.0), (start, _STRAIGHT), (place, _LEADER)]
            if abs(place - start) * self.factor > 0.05
            else [(start, 0.0)]
        )
        yield Stroke("DIMENSIONS", tuple(self._point(*one) for one in (*bent, (place, _LEADER + depth))))
        angle = math.pi / 2 if self.upright else 0.0
        foot = self._point(place, _LEADER + depth + _GAP)
        yield Text(foot, words, SMALL, angle, "left" if self.sign > 0 else "right", "middle", of=of)

    def _point(self, along: float, off: float) -> Xy:
        away = self.level + self.sign * off / self.factor
        return (along, away) if self.upright else (away, along)


def spread_out(wanted: Sequence[float], apart: float) -> list[float]:
    """Places that are so far apart at least, as near to those wanted (rising) as they can be."""
    return [float(x) for x in spread(wanted, [apart] * len(wanted), -math.inf, math.inf)]
