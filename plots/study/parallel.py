"""Parallel coordinates: every design as a line over its inputs and quantities, shaded by one of them."""

from __future__ import annotations

import textwrap
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import matplotlib as mpl
import numpy as np
from matplotlib.axes import Axes
from matplotlib.cm import ScalarMappable
from matplotlib.collections import LineCollection
from matplotlib.colors import Normalize
from matplotlib.figure import Figure

from keyaction.models.units.quantity import System
from keyaction.plots.study.common import Shown, choose, left_out, letter, ranked, room
from keyaction.plots.style.page import Floats, Margins, axis_title, in_style, nothing_to_draw, page, panels
from keyaction.plots.style.pens import FAINT, INK, SMALL, VERMILLION
from keyaction.sim.analysis.columns import Input
from keyaction.sim.analysis.view import StudyView
from keyaction.sim.files.labelled import Result

_COLORS = "cividis"
_MOST_LINES = 500
_MOST_AXES = 12
"""Inputs that get an axis."""
_MOST_QUANTITIES = 4
_APART = 1.0
"""Inches from axis to axis at least."""
_LETTERS = 15
"""Letters of a name, or a choice, in a line."""


@dataclass(frozen=True)
class _Axis:
    """One upright axis: its name, where each design meets it from 0 to 1, and words at places along it."""

    name: str
    heights: Floats
    marks: tuple[tuple[float, str], ...]

    @property
    def heading(self) -> str:
        """The name in short lines."""
        return _short(self.name.replace(".", ". ")).replace(". ", ".")

    @property
    def lines(self) -> list[str]:
        """All that is written at the axis, line by line."""
        return [line for text in (self.heading, *(words for _, words in self.marks)) for line in text.split("\n")]


def _short(text: str) -> str:
    """A text in short lines of about one length."""
    count = len(textwrap.wrap(text, _LETTERS))
    even = next(width for width in range(1, _LETTERS + 1) if len(textwrap.wrap(text, width)) <= count)
    return "\n".join(textwrap.wrap(text, max(even, max(map(len, text.split()), default=1))))


@in_style
def parallel_coordinates(
    result: Result, note: str, quantities: Sequence[str] | None = None, units: System = "trade"
) -> Figure:
    """Draw the designs of a study as lines over its inputs and quantities.

    Parameters
    ----------
    result : Result
        Of a study.
    note : str
    quantities : sequence of str, optional
        By default those of the study; the first four are drawn, and the lines are shaded by the first.
    units : {"trade", "si"}

    Returns
    -------
    matplotlib.figure.Figure
        Inputs left, quantities right; the line of a failed design ends at the last input. Of more than 500 designs
        some are drawn.

    Raises
    ------
    KeyError, NotInStudy
        If the study does not hold the note or a quantity.
    """
    shown, heading = choose(result, note, quantities), "Designs"
    if shown.why:
        return nothing_to_draw(result, shown.heading(heading), shown.why)
    there = [name for name in shown.quantities if shown.view.spread(name, shown.note).count]
    names = there[:_MOST_QUANTITIES]
    weights = np.max([np.nan_to_num(shown.view.weights(name, shown.note), nan=-1.0) for name in names], axis=0)
    order = ranked(weights)[:_MOST_AXES]
    inputs = [one for i, one in enumerate(shown.view.inputs) if i in order]
    some = shown.view.some(_MOST_LINES)
    columns = [
        *(_input_axis(shown.view, some.input(one.name), units) for one in inputs),
        *(_quantity_axis(shown, some, name, units) for name in names),
    ]
    apart = max(_APART, 0.12 + room([line for column in columns for line in column.lines]))
    left, width = 0.25 + apart / 2, apart * (len(columns) - 1)
    whole = max(left + width + 1.5 + apart / 2, 8.0)
    figure = page(result, shown.heading(heading), whole, 6.0)
    axes = figure.add_subplot(panels(figure, 1, 1, Margins(left, whole - left - width, 0.95, 0.4))[0])
    values, unit = shown.view.shown(names[0], some.values(names[0], shown.note), units)
    spread = shown.view.spread(names[0], shown.note)
    ends = shown.view.shown(names[0], [spread.least, spread.largest], units)[0]
    scale = Normalize(float(ends[0]), float(ends[1]))
    _lines(axes, columns, len(inputs), values, scale)
    _bar(figure, axes, scale, axis_title(shown.view.label(names[0]), unit))
    _frame(axes, columns, len(inputs))
    up = 1 - 0.75 / figure.get_figheight()
    figure.text(0.2 / whole, up, _caption(shown, names[0], len(inputs)), size=SMALL, color=FAINT, va="top")
    return figure


def _caption(shown: Shown, shade: str, inputs: int) -> str:
    rows = len(shown.view.rows)
    lost = rows - shown.view.spread(shade, shown.note).count
    some = left_out(inputs, len(shown.view.inputs))
    return "; ".join(
        text
        for text in (
            f"{rows} designs{f', {_MOST_LINES} of them drawn' if rows > _MOST_LINES else ''}",
            f"{lost} without a value end at the inputs (broken lines)" if lost else "",
            some,
        )
        if text
    )


def _input_axis(view: StudyView, one: Input, units: System) -> _Axis:
    """Of an input of the designs that are drawn, over all values that it has in the study."""
    reach = view.pieces.reaches[one.name]
    if one.text:
        names = np.unique([*reach.kinds, *one.values.astype(str)])
        gap = max(len(names) - 1, 1)
        place = np.searchsorted(names, one.values.astype(str))
        return _Axis(one.name, place / gap, tuple((i / gap, _short(str(name))) for i, name in enumerate(names)))
    values = np.asarray(one.values, dtype=np.float64)
    return _scaled(one.name, values, (reach.low, reach.high), lambda value: one.written(value, units))


def _quantity_axis(shown: Shown, some: StudyView, name: str, units: System) -> _Axis:
    view, values = shown.view, some.values(name, shown.note)
    spread = view.spread(name, shown.note)
    ends = (spread.least, spread.largest)
    return _scaled(view.label(name), values, ends, lambda value: view.written(name, value, units))


def _scaled(name: str, values: Floats, ends: tuple[float, float], words: Callable[[float], str]) -> _Axis:
    low, high = ends
    if not np.isfinite(low):
        return _Axis(name, np.full(len(values), np.nan), ((0.5, "no value"),))
    if not high > low:
        return _Axis(name, np.where(np.isfinite(values), 0.5, np.nan), ((0.5, words(low)),))
    return _Axis(name, (values - low) / (high - low), ((0.0, words(low)), (1.0, words(high))))


def _lines(axes: Axes, columns: Sequence[_Axis], inputs: int, values: Floats, scale: Normalize) -> None:
    """The designs, shaded by `values`."""
    heights, rows = np.column_stack([column.heights for column in columns]), np.arange(len(values))
    x = np.arange(len(columns), dtype=float)
    lost = rows[~np.isfinite(values[rows])]
    fine = rows[np.isfinite(values[rows])]
    shaded = LineCollection(
        [np.column_stack([x, heights[row]]) for row in fine],
        array=values[fine],
        cmap=_COLORS,
        norm=scale,
        linewidths=0.9,
        alpha=float(np.clip(160 / max(len(fine), 1), 0.3, 0.9)),
        rasterized=True,
    )
    broken = [np.column_stack([x[:inputs], heights[row, :inputs]]) for row in lost]
    axes.add_collection(shaded)
    axes.add_collection(LineCollection(broken, colors=VERMILLION, linewidths=0.8, linestyles=[(0, (4, 2))], alpha=0.8))


def _bar(figure: Figure, axes: Axes, scale: Normalize, label: str) -> None:
    """The scale of shades, right of the last axis' lettering."""
    box, width = axes.get_position(), figure.get_figwidth()
    beside = figure.add_axes((1 - 1.05 / width, box.y0, 0.16 / width, box.height))
    bar = figure.colorbar(ScalarMappable(scale, mpl.colormaps[_COLORS]), cax=beside)
    bar.set_label(label)
    bar.outline.set_linewidth(0.5)


def _frame(axes: Axes, columns: Sequence[_Axis], inputs: int) -> None:
    """Upright axes with their names above and values along them."""
    axes.set_xlim(0, max(len(columns) - 1, 1))
    axes.set_ylim(-0.02, 1.02)
    for side in axes.spines.values():
        side.set_visible(False)
    axes.set_yticks([])
    axes.set_xticks([])
    axes.grid(False)
    lines = max(words.count("\n") + 1 for column in columns for height, words in column.marks if height == 1.0)
    for i, column in enumerate(columns):
        axes.axvline(i, color=INK, linewidth=1.0 if i < inputs else 1.8, zorder=4, clip_on=False)
        weight, up = "normal" if i < inputs else "bold", 11 + 10 * lines
        letter(axes, column.heading, (i, 1.0), (0, up), ha="center", va="bottom", size=SMALL, weight=weight)
        for height, words in column.marks:
            _mark(axes, i, height, words)


def _mark(axes: Axes, i: int, height: float, words: str) -> None:
    """A value on an axis: ends below and above it, others beside it on a white ground."""
    if height in (0.0, 1.0):
        up, va = (5, "bottom") if height else (-5, "top")
        letter(axes, words, (i, height), (0, up), ha="center", va=va)
    else:
        ground = {"facecolor": "white", "edgecolor": "none", "pad": 1.0, "alpha": 0.85}
        letter(axes, words, (i, height), (0, 0), ha="center", va="center", zorder=6, bbox=ground)
