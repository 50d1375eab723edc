"""The budgets over the compass, stacked note by note."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Patch

from keyaction.models.units.quantity import System
from keyaction.plots.compass.keyboard import MARKS, lay_out, mark_verdicts, semitones
from keyaction.plots.note.budget import BUDGETS, Budget
from keyaction.plots.style.labels import breadth
from keyaction.plots.style.page import Floats, Margins, axis_title, explain, page, panels, shown
from keyaction.plots.style.pens import INK, SMALL
from keyaction.plots.style.picture import of_compass
from keyaction.plots.style.shares import Fill, part_fills, share_fill
from keyaction.plots.style.trains import joined_trains
from keyaction.sim.files.labelled import Result

_LEAST, _KEY_ROW = 3.9, 0.175
"""Inches: least height of a panel, and height of a line of its key."""
_NONE = {"give": "no pluck"}
"""What a sound note without a budget is called."""


@of_compass("Budgets over the compass")
def budgets_compass(result: Result, heading: str, units: System) -> Figure:
    """Draw the budgets of effective mass and of compliance of all notes.

    Returns
    -------
    matplotlib.figure.Figure
        Shares stacked over the compass in train order, with a key at the right in the order of the stack. Of coupled
        keys every train that couplers move is one share, and the couplers are one.
    """
    names = [[layer.name for layer in _layers(result, budget)] for budget in BUDGETS]
    high = max(_LEAST, *(_KEY_ROW * (len(shares) + 3) for shares in names))
    figure = page(result, heading, 10.5, 1.8 + 2 * high)
    right = 0.75 + breadth(figure, [*names[0], *names[1], *MARKS])
    grid = panels(figure, 3, 1, Margins(left=0.85, right=right, top=0.3), hspace=0.16, height_ratios=(1.0, 1.0, 0.075))
    strip = figure.add_subplot(grid[2])
    rows = [figure.add_subplot(grid[i], sharex=strip) for i in range(2)]
    lay_out(rows, strip, result)
    for axes, budget in zip(rows, BUDGETS, strict=True):
        _stack(axes, result, budget, units)
    figure.align_ylabels(rows)
    return figure


class _Layer(NamedTuple):
    """What is drawn as one area of a stack: its name, how it looks, SI values over the notes."""

    name: str
    look: Fill
    values: Floats


def _layers(result: Result, budget: Budget) -> list[_Layer]:
    """The shares of a budget in order; those of each train that couplers move, and of all couplers, together."""
    fills, columns = part_fills(result), np.asarray(result[budget.name], dtype=float).T
    driven = {part: one for one in joined_trains(result)[1:] for part in one.parts}
    layers: dict[str, list[Floats]] = {}
    looks: dict[str, Fill] = {}
    for name, column in zip(result[budget.axis], columns, strict=True):
        one = driven.get(str(name))
        layer = str(name) if one is None else one.label
        looks.setdefault(layer, share_fill(result, str(name), fills))
        layers.setdefault(layer, []).append(column)
    return [_Layer(name, looks[name], _together(one)) for name, one in layers.items()]


def _together(columns: list[Floats]) -> Floats:
    """The sum of shares over the notes; NaN where a note has none of them."""
    lacking = np.all(~np.isfinite(columns), axis=0)
    return np.where(lacking, np.nan, np.nansum(columns, axis=0))


def _stack(axes: Axes, result: Result, budget: Budget, units: System) -> None:
    """Gains stand on each other from zero up, the few losses hang from zero down."""
    notes = np.array(semitones(result))
    values, unit = shown(result[budget.name], budget.unit, units)
    if not np.any(np.isfinite(values)):
        explain(axes, f"{budget.title}\nNo note of this result has this budget.")
        return
    up, down = np.zeros(len(notes)), np.zeros(len(notes))
    standing: list[Artist] = []
    hanging: list[Artist] = []
    for name, look, si in _layers(result, budget):
        column = shown(si, budget.unit, units)[0]
        there = np.isfinite(column)
        height = np.nan_to_num(column)
        base = np.where(height >= 0, up, down)
        axes.bar(
            notes[there],
            height[there],
            bottom=base[there],
            width=0.84,
            color=look.color,
            hatch=look.hatch,
            edgecolor=INK,
            linewidth=0.35,
            label=name,
        )
        if np.any(there):
            patch = Patch(facecolor=look.color, hatch=look.hatch, edgecolor=INK, linewidth=0.5, label=name)
            (standing if np.nansum(column) >= 0 else hanging).append(patch)
        up, down = up + np.maximum(height, 0), down + np.minimum(height, 0)
    axes.set_ylim(min(float(np.min(down)) * 1.3, 0.0), float(np.max(up)) * 1.06)
    axes.axhline(0.0, color=INK, linewidth=0.8)
    axes.grid(False, axis="x")
    axes.set_ylabel(axis_title(budget.of, unit))
    axes.set_title(budget.title, loc="left", size=SMALL + 1.5, weight="bold", pad=8)
    lacking = np.where(np.any(np.isfinite(values), axis=1), 0.0, np.nan)
    mark_verdicts(axes, result, lacking, _NONE.get(budget.axis, "no budget"))
    marked = [one for one in axes.get_lines() if one.get_marker() not in ("", "None")]
    axes.legend(
        handles=[*reversed(standing), *hanging, *marked],
        loc="upper left",
        bbox_to_anchor=(1.01, 1.01),
        borderaxespad=0.0,
        handlelength=1.8,
        handleheight=1.1,
    )
