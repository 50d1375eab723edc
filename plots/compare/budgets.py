"""What gives way before the pluck, and the effective mass at the key, one bar for each variant."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Patch

from keyaction.models.units.quantity import System, format_value
from keyaction.plots.compare.common import names
from keyaction.plots.note.budget import BUDGETS, Budget
from keyaction.plots.style.labels import breadth
from keyaction.plots.style.page import Margins, axis_title, explain, in_style, page, panels, shown
from keyaction.plots.style.pens import INK, SMALL
from keyaction.plots.style.shares import part_fills, share_fill
from keyaction.sim.files.labelled import Result

_BAR = 0.36
"""Inches for each bar."""
_KEY_ROW = 0.19
_KEY_COLUMNS = 4
_LETTERS = 26
"""Letters in a line of a variant's name."""


@in_style
def compared_budgets(result: Result, note: str, units: System = "trade") -> Figure:
    """Draw the budgets of one note, one stacked bar for each variant.

    Parameters
    ----------
    result : Result
        A comparison, from `keyaction.sim.compare.compare.compare`.
    note : str
        Name of a note of the comparison.
    units : {"trade", "si"}

    Returns
    -------
    matplotlib.figure.Figure
        Shares in train order with their names below, and the whole at the end of each bar.

    Raises
    ------
    KeyError
        If the comparison does not hold the note.
    """
    row, count = result.index(note), len(result["variant"])
    keys = [-(-len(result[budget.axis]) // _KEY_COLUMNS) * _KEY_ROW + 0.75 for budget in BUDGETS]
    bars = _BAR * count + 0.15
    figure = page(result, f"Budgets compared, {result.notes[row]}", 10.5, 1.5 + sum(bars + 0.3 + key for key in keys))
    called = [textwrap.fill(name, _LETTERS) for name in names(result)]
    left = 0.25 + breadth(figure, called)
    heights = [bars, keys[0], bars]
    grid = panels(
        figure, 3, 1, Margins(left=left, right=0.95, top=0.25, bottom=keys[1] - 0.25), hspace=0.0, height_ratios=heights
    )
    for place, budget in zip((0, 2), BUDGETS, strict=True):
        _bars(figure.add_subplot(grid[place]), result, row, budget, called, units)
    return figure


def _bars(axes: Axes, result: Result, row: int, budget: Budget, called: Sequence[str], units: System) -> None:
    data = np.asarray(result[budget.name][:, row, :], dtype=float)
    axes.set_title(budget.title, loc="left", size=SMALL + 1.5, weight="bold", pad=6)
    if not np.any(np.isfinite(data)):
        explain(axes, budget.none)
        return
    values, unit = shown(data, budget.unit, units)
    fills, places = part_fills(result), [float(v) for v in range(len(values))]
    up, down = np.zeros(len(values)), np.zeros(len(values))
    handles = []
    for name, column in zip(result[budget.axis], values.T, strict=True):
        if not np.any(np.isfinite(column)):
            continue
        look, width = share_fill(result, str(name), fills), np.nan_to_num(column)
        base = np.where(width >= 0, up, down + width)
        axes.barh(
            places, np.abs(width), left=base, height=0.7, color=look.color, hatch=look.hatch, edgecolor=INK,
            linewidth=0.4,
        )  # fmt: skip
        handles.append(Patch(facecolor=look.color, hatch=look.hatch, edgecolor=INK, linewidth=0.4, label=str(name)))
        up, down = up + np.maximum(width, 0), down + np.minimum(width, 0)
    for place, end, whole in zip(places, up, np.nansum(data, axis=1), strict=True):
        axes.text(
            end + 0.008 * float(np.max(up)), place, format_value(float(whole), budget.unit, units), va="center",
            size=SMALL,
        )  # fmt: skip
    axes.set_yticks(places, called)
    axes.set_ylim(len(values) - 0.5, -0.5)
    axes.set_xlim(min(float(np.min(down)) * 1.1, 0.0), float(np.max(up)) * 1.02)
    axes.tick_params(axis="y", length=0)
    axes.grid(False, axis="y")
    axes.axvline(0.0, color=INK, linewidth=0.8)
    axes.set_xlabel(axis_title(budget.of, unit))
    inches = float(axes.get_window_extent().height) / axes.figure.dpi
    axes.legend(
        handles=handles,
        loc="upper left",
        bbox_to_anchor=(-0.01, -0.45 / inches),
        ncols=_KEY_COLUMNS,
        borderaxespad=0.0,
        handlelength=1.6,
        columnspacing=1.2,
    )
