"""Numbers of designs in a picture of them, those that would overlap left out."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from matplotlib.axes import Axes
from matplotlib.transforms import Bbox

from keyaction.plots.style.pens import INK, SMALL


@dataclass(frozen=True)
class Number:
    """What stands beside the mark of one design, and where the mark is, in data."""

    text: str
    x: float
    y: float
    bold: bool = False


def numbers(axes: Axes, wanted: Iterable[Number], right: int, up: int) -> None:
    """Write numbers on the better side of their marks (1 or -1 to the right and up), the first that come first."""
    boxes: list[Bbox] = []
    for one in wanted:
        text = axes.annotate(
            one.text,
            (one.x, one.y),
            (5 * right, 4 * up),
            textcoords="offset points",
            ha="left" if right > 0 else "right",
            va="bottom" if up > 0 else "top",
            size=SMALL - 0.5,
            weight="bold" if one.bold else "normal",
            color=INK,
            gid="number",
        )
        box = text.get_window_extent().padded(1.0)
        if any(box.overlaps(other) for other in boxes):
            text.remove()
        else:
            boxes.append(box)
