"""Numbers of designs in a picture of them: each where it belongs to its mark at a glance, else led to it by a line."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from matplotlib.axes import Axes
from matplotlib.transforms import Bbox

from keyaction.plots.style.page import Floats
from keyaction.plots.style.pens import FAINT, INK, SMALL

_CLOSE = 6.0
"""Points from the middle of a mark to a number beside it."""
_FAR = (14.0, 20.0, 27.0, 35.0, 44.0, 54.0, 65.0)
"""Points from the middle of a mark to a number that a line leads to it."""
_BETTER = (0.0, 45.0, 90.0, 22.0, 68.0)
"""Degrees up from the better side, in the order in which they are tried."""
_AROUND = (-20.0, 110.0, 180.0, 270.0, 135.0, 225.0, 315.0, 158.0, 202.0, 248.0, 292.0)
"""The other degrees, where the better side is full."""
_FEW = 40
"""Numbers up to which all sides are tried: lines of more would be a thicket."""
_OWN = 1.6
"""So many times as far as its own mark the next one is from a number without a line."""
_MARK, _AIR = 4.0, 1.5
"""Points: half a mark's size, and what is kept free about lettering."""


@dataclass(frozen=True)
class Number:
    """What stands beside the mark of one design, and where the mark is, in data."""

    text: str
    x: float
    y: float
    bold: bool = False


def numbers(axes: Axes, wanted: Sequence[Number], right: int, up: int, marks: Sequence[tuple[float, float]]) -> int:
    """Write numbers on the better side of their marks (1 or -1 to the right and up), the first that come first.

    A number covers no other and none of the `marks` (in data, its own among them). Where it is not clear without, a
    thin line leads to its mark.

    Returns
    -------
    int
        How many found no room.
    """
    crowd = _Crowd(axes, np.reshape(np.asarray(marks, dtype=np.float64), (-1, 2)))
    places: list[tuple[tuple[float, ...], bool]] = [(_BETTER, False)]
    if len(wanted) <= _FEW:
        places += [((*_BETTER, *_AROUND), False), ((*_BETTER, *_AROUND), True)]
    return sum(not any(_written(axes, crowd, one, right, up, *way) for way in places) for one in wanted)


class _Crowd:
    """What numbers keep off, in dots: marks, numbers that stand, and lines that lead to them."""

    def __init__(self, axes: Axes, marks: Floats) -> None:
        self.dots = axes.figure.dpi / 72
        self._room = axes.get_window_extent()
        self._marks = np.asarray(axes.transData.transform(marks), dtype=np.float64)
        self._boxes: list[Bbox] = []
        self._lines = np.empty((0, 2))

    def takes(self, at: Floats, box: Bbox, led: bool, loose: bool) -> bool:
        """Whether a number may stand there, with a line to its mark or without; loosely: past marks that touch it."""
        room = self._room
        if box.x0 < room.x0 or box.x1 > room.x1 or box.y0 < room.y0 or box.y1 > room.y1:
            return False
        apart = np.hypot(*(self._marks - at).T)
        away = _away(box, self._marks[apart > 1.0])
        if np.any(away < _MARK * self.dots) or np.any(_away(box, self._lines) == 0.0):
            return False
        if any(box.overlaps(other) for other in self._boxes):
            return False
        if not led:
            return not np.any(away < _OWN * _away(box, at[None])[0])
        return self._free(_led(at, box), self._marks[apart > (2 * _MARK * self.dots if loose else 1.0)])

    def _free(self, line: Floats, others: Floats) -> bool:
        """Whether a line meets no number, no other line and no other mark."""
        if any(np.any(_away(box, line) == 0.0) for box in self._boxes):
            return False
        return _apart(line, self._lines) > 2 * self.dots and _apart(line, others) > _MARK * self.dots

    def add(self, at: Floats, box: Bbox, led: bool) -> None:
        """Put it down."""
        self._boxes.append(box)
        if led:
            self._lines = np.vstack([self._lines, _led(at, box)])


def _led(at: Floats, box: Bbox) -> Floats:
    """The way from a mark to the edge of a number, in short steps."""
    middle = np.array([(box.x0 + box.x1) / 2, (box.y0 + box.y1) / 2])
    way = at + np.linspace(0.0, 1.0, 41)[:, None] * (middle - at)
    return np.asarray(way[_away(box, way) > 0.0])


def _away(box: Bbox, points: Floats) -> Floats:
    """How far points are from a box, zero within."""
    across = np.maximum(np.maximum(box.x0 - points[:, 0], points[:, 0] - box.x1), 0.0)
    along = np.maximum(np.maximum(box.y0 - points[:, 1], points[:, 1] - box.y1), 0.0)
    return np.asarray(np.hypot(across, along))


def _apart(one: Floats, two: Floats) -> float:
    """The least distance between two sets of points."""
    return float(np.min(np.hypot(*np.moveaxis(one[:, None] - two, 2, 0)), initial=np.inf))


def _written(
    axes: Axes, crowd: _Crowd, one: Number, right: int, up: int, turns: Sequence[float], loose: bool
) -> bool:  # fmt: skip
    """One number in the first place that takes it; whether there is any."""
    text = axes.annotate(
        one.text,
        (one.x, one.y),
        (0, 0),
        textcoords="offset points",
        ha="center",
        va="center",
        size=SMALL - 0.5,
        weight="bold" if one.bold else "normal",
        color=INK,
        gid="number",
    )
    at = np.asarray(axes.transData.transform((one.x, one.y)), dtype=np.float64)
    here = text.get_window_extent()
    half = np.array([here.width, here.height]) / 2 / crowd.dots
    for shift, led in _places(half, right, up, turns):
        middle, reach = at + shift * crowd.dots, (half + _AIR) * crowd.dots
        box = Bbox.from_extents(*(middle - reach), *(middle + reach))
        if crowd.takes(at, box, led, loose):
            text.set_position((float(shift[0]), float(shift[1])))
            crowd.add(at, box, led)
            if led:
                _lead(axes, one, shift, half)
            return True
    text.remove()
    return False


def _places(half: Floats, right: int, up: int, turns: Sequence[float]) -> Iterator[tuple[Floats, bool]]:
    """Where the middle of a number may stand from its mark, points, nearest first; and whether a line leads there."""
    for reach in (_CLOSE, *_FAR):
        for turn in turns:
            way = np.array([right * math.cos(math.radians(turn)), up * math.sin(math.radians(turn))])
            yield way * (reach + _within(way, half)), reach > _CLOSE


def _within(way: Floats, half: Floats) -> float:
    """How far it is from the middle of a box to its edge that way."""
    return float(np.min(half / np.maximum(np.abs(way), 1e-9)))


def _lead(axes: Axes, one: Number, shift: Floats, half: Floats) -> None:
    """A thin line from a number to its mark."""
    length = float(np.hypot(*shift))
    end = shift * (1 - (_within(shift / length, half) + 1.0) / length)
    line = {"arrowstyle": "-", "color": FAINT, "linewidth": 0.7, "shrinkA": 0.0, "shrinkB": 3.0}
    where = (float(end[0]), float(end[1]))
    axes.annotate("", (one.x, one.y), where, textcoords="offset points", arrowprops=line, gid="leader")
