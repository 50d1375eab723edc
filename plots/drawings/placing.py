"""Items moved from the real thing onto paper."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from keyaction.plots.drawings.drawing import Arc, Circle, Dimension, Item, Stroke, Text, Xy


def placed(items: Iterable[Item], factor: float, shift: Xy) -> tuple[Item, ...]:
    """Items whose lengths are multiplied by `factor` and then shifted; lettering keeps its height.

    Raises
    ------
    TypeError
        Of a dimension: it is taken apart first.
    """

    def moved(point: Xy) -> Xy:
        return point[0] * factor + shift[0], point[1] * factor + shift[1]

    found: list[Item] = []
    for item in items:
        if isinstance(item, Stroke):
            found.append(replace(item, points=tuple(moved(point) for point in item.points)))
        elif isinstance(item, Circle | Arc):
            found.append(replace(item, centre=moved(item.centre), radius=item.radius * factor))
        elif isinstance(item, Text):
            found.append(replace(item, at=moved(item.at)))
        elif isinstance(item, Dimension):
            raise TypeError("dimensions are taken apart first")
    return tuple(found)


def oblong(layer: str, left: float, foot: float, right: float, top: float, of: str = "") -> Stroke:
    """A box with level sides."""
    return Stroke(layer, ((left, foot), (right, foot), (right, top), (left, top)), closed=True, of=of)
