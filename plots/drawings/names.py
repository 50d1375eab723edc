"""Lettering in rows beside a drawing, without overlap; leaders go from each to what it names."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Literal

from keyaction.plots.drawings.drawing import Item, Stroke, Text, Xy
from keyaction.plots.drawings.lettering import SMALL, width
from keyaction.plots.style.labels import spread

Beside = Literal["below", "above", "left", "right"]
_APART, _LEADER, _STRAIGHT, _GAP = 1.4, 4.0, 1.0, 0.8
"""Least room of a line over its height; mm on paper of a leader, of its straight beginning, and from it to the words."""
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
    upright = side in ("below", "above")
    sign = 1.0 if side in ("above", "right") else -1.0
    point = _turned(upright)
    places = spread_out([at for at, _ in named], _APART * SMALL / factor)
    straight, end = level + sign * _STRAIGHT / factor, level + sign * _LEADER / factor
    foot = end + sign * _GAP / factor
    items: list[Item] = []
    for (at, words), place in zip(named, places, strict=True):
        bent = ((at, level), (at, straight), (place, end)) if abs(place - at) * factor > 0.05 else ((at, level), (at, end))
        items.append(Stroke("DIMENSIONS", tuple(point(*one) for one in bent)))
        angle = math.pi / 2 if upright else 0.0
        items.append(Text(point(place, foot), words, SMALL, angle, "left" if sign > 0 else "right", "middle", of=of))
    long = max(width(words, SMALL) for _, words in named)
    far = max(abs(place - at) for (at, _), place in zip(named, places, strict=True)) * factor
    return Row(tuple(items), (_LEADER + _GAP + long) / factor, far > _FAR)


def _turned(upright: bool) -> Callable[[float, float], Xy]:
    return (lambda along, off: (along, off)) if upright else (lambda along, off: (off, along))


def spread_out(wanted: Sequence[float], apart: float) -> list[float]:
    """Places that are so far apart at least, as near to those wanted (rising) as they can be."""
    return [float(x) for x in spread(wanted, [apart] * len(wanted), -math.inf, math.inf)]
