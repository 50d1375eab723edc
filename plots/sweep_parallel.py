"""Parallel coordinates: every design as a line over its inputs and quantities, shaded by one of them."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from dataclasses import dataclass

import matplotlib as mpl
import numpy as np
from matplotlib.axes import Axes
from matplotlib.cm import ScalarMappable
from matplotlib.collections import LineCollection
from matplotlib.colors import Normalize
from matplotlib.figure import Figure

from keyaction.models.units import System, format_value
from keyaction.plots import style
from keyaction.plots.style import (
    FAINT,
    INK,
    SMALL,
    VERMILLION,
    Floats,
    Margins,
    axis_title,
    in_style,
    nothing_to_draw,
    page,
    panels,
)
from keyaction.plots.sweep_common import Shown, choose, left_out, ranked
from keyaction.sim.result import Result
from keyaction.sim.study_view import Input

_COLORS = "cividis"
_MOST_LINES = 1500
_MOST_AXES = 10
"""Inputs that get an axis."""
_MOST_QUANTITIES = 4
_APART = 1.08
"""Inches from axis to axis."""
_LETTERS = 15
"""Letters of a name in a line."""


@dataclass(frozen=True)
class _Axis:
    """One upright axis: its name, where each design meets it from 0 to 1, and words at places along it."""

    name: str
    heights: Floats
    marks: tuple[tuple[float, str], ...]


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
        Inputs left, quantities right; the line of a failed run ends at the last input. Of more than 1500 designs
        every n-th is drawn.

    Raises
    ------
    KeyError, NotInStudy
        If the study does not hold the note or a quantity.
    """
    shown, heading = choose(result, note, quantities), "Designs"
    if shown.why:
        return nothing_to_draw(result, shown.heading(heading), shown.why)
    names = shown.quantities[:_MOST_QUANTITIES]
    order = ranked(shown.view.weights(names[0], shown.note))[:_MOST_AXES]
    inputs = [one for i, one in enumerate(shown.view.inputs) if i in order]
    columns = [*(_input_axis(one, units) for one in inputs), *(_quantity_axis(shown, name, units) for name in names)]
    width = 2.9 + _APART * (len(columns) - 1)
    figure = page(result, shown.heading(heading), max(width, 8.0), 6.0)
    axes = figure.add_subplot(panels(figure, 1, 1, Margins(0.85, 1.35 + max(8.0 - width, 0.0), 1.05, 0.35))[0])
    _lines(axes, shown, columns, len(inputs), names[0], units)
    _frame(axes, columns, len(inputs))
    axes.set_title(_caption(shown, len(inputs)), loc="left", size=SMALL, color=FAINT, pad=54)
    return figure


def _caption(shown: Shown, inputs: int) -> str:
    rows = len(shown.view.rows)
    every = -(-rows // _MOST_LINES)
    lost = int(np.sum(~np.isfinite(shown.view.values(shown.quantities[0], shown.note))))
    some = left_out(inputs, len(shown.view.inputs))
    return "; ".join(
        text
        for text in (
            f"{rows} designs{f', one in {every} drawn' if every > 1 else ''}",
            f"{lost} without a value end at the inputs (broken lines)" if lost else "",
            some,
        )
        if text
    )


def _input_axis(one: Input, units: System) -> _Axis:
    if one.text:
        names, place = np.unique(one.values.astype(str), return_inverse=True)
        gap = max(len(names) - 1, 1)
        return _Axis(one.name, place / gap, tuple((i / gap, str(name)) for i, name in enumerate(names)))
    return _scaled(one.name, np.asarray(one.values, dtype=np.float64), one.unit or "1", units)


def _quantity_axis(shown: Shown, name: str, units: System) -> _Axis:
    return _scaled(shown.view.label(name), shown.view.values(name, shown.note), shown.view.unit(name), units)


def _scaled(name: str, values: Floats, unit: str, units: System) -> _Axis:
    there = values[np.isfinite(values)]
    if not len(there):
        return _Axis(name, np.full(len(values), np.nan), ((0.5, "no value"),))
    low, high = float(np.min(there)), float(np.max(there))
    if not high > low:
        return _Axis(name, np.where(np.isfinite(values), 0.5, np.nan), ((0.5, format_value(low, unit, units)),))
    ends = ((0.0, format_value(low, unit, units)), (1.0, format_value(high, unit, units)))
    return _Axis(name, (values - low) / (high - low), ends)


def _lines(
    axes: Axes, shown: Shown, columns: Sequence[_Axis], inputs: int, shade: str, units: System
) -> None:
    heights = np.column_stack([column.heights for column in columns])
    values, unit = style.shown(shown.view.values(shade, shown.note), shown.view.unit(shade), units)
    rows = np.arange(len(heights))[:: -(-len(heights) // _MOST_LINES)]
    fine = rows[np.all(np.isfinite(heights[rows]), axis=1)]
    lost = rows[~np.isfinite(heights[rows, inputs])]
    part = rows[~np.isin(rows, fine) & ~np.isin(rows, lost)]
    x = np.arange(len(columns), dtype=float)
    scale = Normalize(float(np.nanmin(values)), float(np.nanmax(values)))
    opaque = float(np.clip(160 / max(len(fine), 1), 0.22, 0.9))
    for some in (part, fine):
        courses = [np.column_stack([x, heights[row]]) for row in some]
        axes.add_collection(
            LineCollection(
                courses, array=values[some], cmap=_COLORS, norm=scale, linewidths=0.9, alpha=opaque, rasterized=True
            )
        )
    broken = [np.column_stack([x[:inputs], heights[row, :inputs]]) for row in lost]
    axes.add_collection(LineCollection(broken, colors=VERMILLION, linewidths=0.8, linestyles=[(0, (4, 2))], alpha=0.8))
    bar = axes.figure.colorbar(
        ScalarMappable(scale, mpl.colormaps[_COLORS]), ax=axes, pad=0.02, fraction=0.02, aspect=30, anchor=(1.0, 0.5)
    )
    bar.set_label(axis_title(shown.view.label(shade), unit))
    bar.outline.set_linewidth(0.5)


def _frame(axes: Axes, columns: Sequence[_Axis], inputs: int) -> None:
    """Upright axes with their names above and values along them."""
    axes.set_xlim(-0.05, len(columns) - 1 + 0.05)
    axes.set_ylim(-0.02, 1.02)
    for side in axes.spines.values():
        side.set_visible(False)
    axes.set_yticks([])
    axes.set_xticks([])
    axes.grid(False)
    for i, column in enumerate(columns):
        axes.axvline(i, color=INK, linewidth=1.0 if i < inputs else 1.8, zorder=4)
        name = "\n".join(textwrap.wrap(column.name.replace(".", ". "), _LETTERS)).replace(". ", ".")
        weight = "normal" if i < inputs else "bold"
        axes.annotate(
            name, (i, 1.0), (0, 20), textcoords="offset points", ha="center", va="bottom", size=SMALL, weight=weight
        )
        for height, words in column.marks:
            _mark(axes, i, height, words)


def _mark(axes: Axes, i: int, height: float, words: str) -> None:
    """A value on an axis: ends below and above it, others beside it on a white ground."""
    if height in (0.0, 1.0):
        up, va = (5, "bottom") if height else (-5, "top")
        axes.annotate(
            words, (i, height), (0, up), textcoords="offset points", ha="center", va=va, size=SMALL - 0.5, color=INK
        )
    else:
        axes.annotate(
            words,
            (i, height),
            (0, 0),
            textcoords="offset points",
            ha="center",
            va="center",
            size=SMALL - 0.5,
            color=INK,
            zorder=6,
            bbox={"facecolor": "white", "edgecolor": "none", "pad": 1.0, "alpha": 0.85},
        )
