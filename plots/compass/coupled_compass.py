"""Coupled keys over the compass: every pallet's peak, pluck point, lift and opening, with the keys alone behind."""

from __future__ import annotations

import textwrap
from dataclasses import dataclass

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from keyaction.models.units.quantity import System
from keyaction.plots.compass.keyboard import MARKS, along, joined, lay_out, mark_verdicts, semitones, widen
from keyaction.plots.style.labels import breadth
from keyaction.plots.style.page import Margins, axis_title, nothing_to_draw, page, panels, shown
from keyaction.plots.style.pens import pen
from keyaction.plots.style.picture import of_compass
from keyaction.sim.figures.heavy import key_of
from keyaction.sim.figures.pallets import alone, figure, has_pallets, is_coupled, pallets
from keyaction.sim.figures.sounding import OF_PALLETS
from keyaction.sim.files.labelled import Result

_ALONE = "#8f8f8f"
_LETTERS = 26


@dataclass(frozen=True)
class _Panel:
    """A figure of every pallet, the words of its axis, and what a sound pallet without it is called."""

    name: str
    words: str
    none: str


_PANELS = (
    _Panel("pallet_pluck_force", "peak at its pluck", "no pluck"),
    _Panel("pallet_pluck_point", "plucks at", "no pluck"),
    _Panel("pallet_lift", "lift, key held down", "no lift"),
    _Panel("pallet_opening_time", "opens after", "no time"),
)


@of_compass("Pallets of coupled keys over the compass")
def coupled_compass(result: Result, heading: str, units: System) -> Figure:
    """Draw the figures of every pallet of all notes over the compass.

    Returns
    -------
    matplotlib.figure.Figure
        Of every pallet the peak at its pluck, with the pluck of the same keys alone behind and the most that coupled
        keyboards usually take; where it plucks; its lift with the key held down; when its groove opens. A page that
        says so where no key opens several pallets.
    """
    if not has_pallets(result):
        return nothing_to_draw(result, heading, "No key of this result opens several pallets.")
    drawn = page(result, heading, 10.5, 9.4)
    labels = [_label(one.label) for one in pallets(result)]
    lines = [line for label in (*labels, "most that is usual, coupled") for line in label.split("\n")]
    right = 0.75 + breadth(drawn, [*MARKS, *lines])
    grid = panels(
        drawn, 5, 1, Margins(left=0.85, right=right, top=0.1), hspace=0.16, height_ratios=(1.5, 1, 1, 1, 0.22)
    )
    strip = drawn.add_subplot(grid[4])
    rows = [drawn.add_subplot(grid[i], sharex=strip) for i in range(4)]
    for axes, panel in zip(rows, _PANELS, strict=True):
        _courses(axes, result, panel, units)
    draw_alone(rows[0], result, units)
    _usual(rows[0], result, units)
    for axes, panel in zip(rows, _PANELS, strict=True):
        mark_verdicts(axes, result, _any(result, panel.name), panel.none)
        widen(axes, OF_PALLETS[panel.name].unit, units)
    lay_out(rows, strip, result)
    drawn.align_ylabels(rows)
    for axes in rows:
        axes.legend(loc="upper left", bbox_to_anchor=(1.01, 1.02), borderaxespad=0.0)
    return drawn


def _label(text: str) -> str:
    return textwrap.fill(text, _LETTERS)


def _any(result: Result, name: str) -> np.ndarray:
    """At every note a figure that some pallet has; NaN where none has it."""
    values = figure(result, name)
    return np.where(np.any(np.isfinite(values), axis=1), 0.0, np.nan)


def _courses(axes: Axes, result: Result, panel: _Panel, units: System) -> None:
    unit = ""
    for one in pallets(result):
        values, unit = shown(figure(result, panel.name)[:, one.place], OF_PALLETS[panel.name].unit, units)
        x, y = along(result, values)
        look = pen(one.place)
        axes.plot(
            x,
            y,
            color=look.color,
            linestyle=look.dash if joined(y) else "none",
            marker=look.marker,
            markersize=3.6,
            linewidth=1.0,
            label=_label(one.label),
        )
    axes.set_ylabel(axis_title(panel.words, unit))
    axes.margins(y=0.12)
    axes.use_sticky_edges = False


def draw_alone(axes: Axes, result: Result, units: System) -> None:
    """The pluck of the same keys alone, faint; nothing where no coupler was drawn."""
    if not is_coupled(result):
        return
    x, y = along(result, shown(alone(result, "pluck_force"), "N", units)[0])
    dash = (0, (1.2, 1.2)) if joined(y) else "none"
    axes.plot(x, y, color=_ALONE, linestyle=dash, marker="x", markersize=4.5, linewidth=1.2, zorder=1.5, label="alone")


def _usual(axes: Axes, result: Result, units: System) -> None:
    """The most that coupled keyboards usually take, where a note comes near it."""
    usual = key_of(result).usual_coupled
    notes = semitones(result)
    if usual is None or not is_coupled(result) or not np.any(result["pluck_force"] > 0.9 * usual[1]):
        return
    at = float(shown(usual[1], "N", units)[0])
    ends = [notes[0] - 0.5, notes[-1] + 0.5]
    axes.plot(ends, [at, at], color=_ALONE, linewidth=0.9, linestyle=(0, (6, 2)), label="most that is usual, coupled")
