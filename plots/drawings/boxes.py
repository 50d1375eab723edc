"""Boxes about items: what a drawing takes up, and what lies over what."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from keyaction.plots.drawings.drawing import Arc, Circle, Item, Stroke, Text, Xy
from keyaction.plots.drawings.lettering import corners


@dataclass(frozen=True)
class Box:
    """A box with level sides, mm."""

    left: float
    foot: float
    right: float
    top: float

    @property
    def width(self) -> float:
        return self.right - self.left

    @property
    def height(self) -> float:
        return self.top - self.foot

    def meets(self, other: Box) -> bool:
        """Whether the two have a place in common."""
        return (
            self.left <= other.right and other.left <= self.right and self.foot <= other.top and other.foot <= self.top
        )

    def grown(self, by: float) -> Box:
        """The box with so much more on every side."""
        return Box(self.left - by, self.foot - by, self.right + by, self.top + by)


def box_of(item: Item, factor: float) -> Box:
    """The box about an item that is no dimension; `factor` is paper over real."""
    if isinstance(item, Text):
        return about(corners(item, factor))
    if isinstance(item, Stroke):
        return about(item.points)
    if isinstance(item, Circle | Arc):
        (x, y), r = item.centre, item.radius
        return Box(x - r, y - r, x + r, y + r)
    raise TypeError("dimensions are taken apart first")


def about(points: Sequence[Xy]) -> Box:
    """The box about points."""
    xs, ys = [p[0] for p in points], [p[1] for p in points]
    return Box(min(xs), min(ys), max(xs), max(ys))


def extent(items: Iterable[Item], factor: float) -> Box:
    """The box about items, dimensions taken apart."""
    boxes = [box_of(item, factor) for item in items]
    return Box(
        min(box.left for box in boxes),
        min(box.foot for box in boxes),
        max(box.right for box in boxes),
        max(box.top for box in boxes),
    )


def overlap(a: Sequence[Xy], b: Sequence[Xy], slack: float = 1e-9) -> bool:
    """Whether two convex outlines have more than a rim in common (separating axes)."""
    for one, other in ((a, b), (b, a)):
        for i, p in enumerate(one):
            q = one[(i + 1) % len(one)]
            n = (q[1] - p[1], p[0] - q[0])
            size = (n[0] ** 2 + n[1] ** 2) ** 0.5
            if size == 0:
                continue
            ours = [(n[0] * x + n[1] * y) / size for x, y in one]
            theirs = [(n[0] * x + n[1] * y) / size for x, y in other]
            if max(ours) <= min(theirs) + slack or max(theirs) <= min(ours) + slack:
                return False
    return True
