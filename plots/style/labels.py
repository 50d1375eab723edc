"""Lettering beside a panel: each label as near to what it names as its neighbours allow."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.text import Text

from keyaction.plots.style.page import Floats
from keyaction.plots.style.pens import FAINT, INK, SMALL

_AIR = 1.12
"""Room kept for a label, times its own size."""


_GAP = 0.13
"""Inches between labels that stand side by side."""


@dataclass(frozen=True)
class Mark:
    """A value on an axis, in the axis' unit, and the words for it."""

    at: float
    text: str


def spread(wanted: Sequence[float], sizes: Sequence[float], low: float, high: float) -> Floats:
    """Places for labels in a row that do not overlap.

    Parameters
    ----------
    wanted : sequence of float
        Where the middle of each should be, rising.
    sizes : sequence of float
        Their lengths along the row.
    low, high : float
        Ends of the row.

    Returns
    -------
    (n,) array
        Middles in the same order, with the least sum of squared shifts (pooling of adjacent violators).
    """
    size = np.asarray(sizes, dtype=float)
    steps = np.concatenate([[0.0], np.cumsum((size[1:] + size[:-1]) / 2)])
    pools: list[tuple[float, int]] = []
    for value in np.asarray(wanted, dtype=float) - steps:
        mean, count = float(value), 1
        while pools and pools[-1][0] > mean:
            before, held = pools.pop()
            mean, count = (before * held + mean * count) / (held + count), held + count
        pools.append((mean, count))
    free = np.concatenate([np.full(count, mean) for mean, count in pools])
    return np.asarray(np.clip(free, low + size[0] / 2, max(high - size[-1] / 2 - steps[-1], low + size[0] / 2)) + steps)


def _extent(text: Text) -> tuple[float, float]:
    box = text.get_window_extent()
    return float(box.width), float(box.height)


def breadth(figure: Figure, names: Sequence[str], size: float = SMALL, weight: str = "normal") -> float:
    """Inches that the longest of these names takes."""
    longest = 0.0
    for name in names:
        text = figure.text(0, 0, name, size=size, weight=weight)
        longest = max(longest, _extent(text)[0] / figure.dpi)
        text.remove()
    return longest


def _within(marks: Sequence[Mark], limits: tuple[float, float]) -> list[Mark]:
    low, high = sorted(limits)
    return sorted((m for m in marks if np.isfinite(m.at) and low <= m.at <= high), key=lambda m: m.at)


def _leader(axes: Axes, xs: Sequence[float], ys: Sequence[float]) -> None:
    axes.add_line(Line2D(xs, ys, transform=axes.transAxes, clip_on=False, color=FAINT, linewidth=0.6))


def mark_above(axes: Axes, marks: Sequence[Mark], reach: float = 0.22) -> None:
    """Name places of the horizontal axis above the panel, with leaders of `reach` inches; call it last."""
    chosen = _within(marks, axes.get_xlim())
    if not chosen:
        return
    box = axes.get_window_extent()
    up = 1 + reach * axes.figure.dpi / box.height
    texts = [
        axes.text(0, up, m.text, transform=axes.transAxes, ha="center", va="bottom", size=SMALL, color=INK, gid="mark")
        for m in chosen
    ]
    wanted = [(axes.transData.transform((m.at, 0.0))[0] - box.x0) / box.width for m in chosen]
    sizes = [(_extent(text)[0] + _GAP * axes.figure.dpi) / box.width for text in texts]
    edge = 0.35 * axes.figure.dpi / box.width
    for text, true, place in zip(texts, wanted, spread(wanted, sizes, -edge, 1 + edge), strict=True):
        text.set_x(float(place))
        _leader(axes, (true, true, float(place)), (1.0, 1 + (up - 1) * 0.25, 1 + (up - 1) * 0.9))


def mark_right(axes: Axes, marks: Sequence[Mark], reach: float = 0.22) -> None:
    """Name places of the vertical axis right of the panel, with leaders of `reach` inches; call it last."""
    chosen = _within(marks, axes.get_ylim())
    if not chosen:
        return
    box = axes.get_window_extent()
    out, gap = 1 + reach * axes.figure.dpi / box.width, 0.05 * axes.figure.dpi / box.width
    x, at = out + gap, axes.transAxes
    texts = [axes.text(x, 0, m.text, transform=at, va="center", size=SMALL, color=INK, gid="mark") for m in chosen]
    wanted = [(axes.transData.transform((0.0, m.at))[1] - box.y0) / box.height for m in chosen]
    sizes = [_extent(text)[1] * _AIR / box.height for text in texts]
    edge = 0.1 * axes.figure.dpi / box.height
    for text, true, place in zip(texts, wanted, spread(wanted, sizes, -edge, 1 + edge), strict=True):
        text.set_y(float(place))
        _leader(axes, (1.0, 1 + (out - 1) * 0.25, out), (true, true, float(place)))
