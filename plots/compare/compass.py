"""The variants of a comparison over the compass."""

from __future__ import annotations

from typing import Any, cast

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Patch

from keyaction.models.units.quantity import System
from keyaction.plots.compare.common import below_all, names
from keyaction.plots.compass.keyboard import along, joined, lay_out, semitones, widen
from keyaction.plots.style.page import Margins, axis_title, explain, in_style, page, panels, shown
from keyaction.plots.style.pens import ORANGE, VERMILLION, pen
from keyaction.sim.figures.evenness import JUST_NOTICEABLE
from keyaction.sim.files.labelled import Result

PANELS = (
    ("pluck_force", "pluck force"),
    ("pluck_point", "pluck point"),
    ("speech_delay", "speech delay"),
    ("repetition_rate", "repetition"),
    ("effective_mass", "effective mass"),
    ("rods_stretch", "rods' stretch"),
)
"""Figures of the panels, and the words of their axes."""
_BESIDE = 0.09
"""Semitones from one variant's marks to the next where no lines are drawn."""


@in_style
def compared_compass(result: Result, units: System = "trade") -> Figure:
    """Draw the figures of all variants over the compass.

    Parameters
    ----------
    result : Result
        A comparison, from `keyaction.sim.compare.compare.compare`.
    units : {"trade", "si"}

    Returns
    -------
    matplotlib.figure.Figure
        Pluck force with the band that a finger cannot tell from the first variant's and rings around the notes
        outside it; pluck point, speech delay, repetition, effective mass, stretch of the trackers.
    """
    count = len(result["variant"])
    low = 0.66 + 0.19 * ((count + 3) // 2)
    figure = page(result, "Compared over the compass", 10.5, 10.4 + low)
    margins = Margins(left=0.85, right=0.35, top=0.1, bottom=low)
    grid = panels(figure, len(PANELS) + 1, 1, margins, hspace=0.16, height_ratios=(1.4, *[1.0] * 5, 0.2))
    strip = figure.add_subplot(grid[len(PANELS)])
    rows = [figure.add_subplot(grid[i], sharex=strip) for i in range(len(PANELS))]
    for axes, (name, words) in zip(rows, PANELS, strict=True):
        _panel(axes, result, name, words, units)
    _band(rows[0], result, units)
    ringed = _rings(rows[0], result, units)
    for axes, (name, _) in zip(rows, PANELS, strict=True):
        if axes.axison:
            widen(axes, result.held(name).unit, units)
    lay_out(rows, strip, result)
    figure.align_ylabels(rows)
    _legend(figure, rows[0], result, ringed)
    return figure


def _panel(axes: Axes, result: Result, name: str, words: str, units: System) -> None:
    variable = result.held(name)
    axes.set_ylabel(axis_title(words, shown(0.0, variable.unit, units)[1]))
    if not np.any(np.isfinite(variable.data)):
        explain(axes, f"No note has a figure for {variable.label}.")
        return
    for v in range(len(result["variant"])):
        style = pen(v)
        x, y = along(result, shown(variable.data[v], variable.unit, units)[0])
        dash, size = (style.dash, 2.8) if joined(y) else ("none", 4.5)
        axes.plot(
            x + _aside(result, name, v),
            y,
            color=style.color,
            linestyle=dash,
            marker=style.marker,
            markersize=size,
            linewidth=1.0,
        )
    axes.margins(y=0.12)
    axes.use_sticky_edges = False


def _aside(result: Result, name: str, v: int) -> float:
    """Semitones by which single marks of a variant stand aside, so that equal figures do not hide each other."""
    if joined(along(result, result[name][v])[1]):
        return 0.0
    return _BESIDE * (v - (len(result["variant"]) - 1) / 2)


def _band(axes: Axes, result: Result, units: System) -> None:
    """What a finger cannot tell from the first variant, note by note."""
    notes, first = np.array(semitones(result)), shown(result["pluck_force"][0], "N", units)[0]
    there = np.isfinite(first)
    low, high = first * (1 - JUST_NOTICEABLE), first * (1 + JUST_NOTICEABLE)
    axes.bar(
        notes[there],
        (high - low)[there],
        bottom=low[there],
        width=1.0,
        color=ORANGE,
        alpha=0.25,
        linewidth=0,
        zorder=0,
    )


def _rings(axes: Axes, result: Result, units: System) -> bool:
    """Rings around notes whose pluck can be told from the first variant's; whether there are any."""
    notes = np.array(semitones(result))
    apart = np.abs(np.asarray(result["pluck_force_apart"], dtype=float)) > JUST_NOTICEABLE
    for v in range(1, len(apart)):
        forces, _ = shown(result["pluck_force"][v][apart[v]], "N", units)
        axes.plot(
            notes[apart[v]] + _aside(result, "pluck_force", v),
            forces,
            "o",
            markersize=7,
            markerfacecolor="none",
            markeredgecolor=VERMILLION,
            zorder=4,
        )
    return bool(np.any(apart))


def _legend(figure: Figure, axes: Axes, result: Result, ringed: bool) -> None:
    handles: list[Line2D | Patch] = []
    drawn = [along(result, one)[1] for name, _ in PANELS for one in result[name]]
    lines = any(joined(one) for one in drawn)
    for v, name in enumerate(names(result)):
        style = pen(v)
        line = Line2D([], [], color=style.color, marker=style.marker, markersize=4, label=name)
        line.set_linestyle(cast(Any, style.dash) if lines else "none")
        handles.append(line)
    share = f"{JUST_NOTICEABLE:.0%}".replace("%", " %")
    handles.append(Patch(color=ORANGE, alpha=0.25, label=f"within {share} of A: a finger cannot tell"))
    if ringed:
        ring = Line2D([], [], marker="o", linestyle="none", markersize=7, label="a pluck that can be told from A's")
        ring.set_markerfacecolor("none")
        ring.set_markeredgecolor(VERMILLION)
        handles.append(ring)
    below_all(figure, axes, handles, 0.75)
