"""Over the compass: pluck, its steps between neighbours, repetition, and the delays of speech and release."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from keyaction.models.units.quantity import System
from keyaction.plots.compass.coupled_compass import draw_alone
from keyaction.plots.compass.keyboard import MARKS, along, joined, lay_out, mark_verdicts, semitones, widen
from keyaction.plots.style.labels import breadth
from keyaction.plots.style.page import Floats, Margins, axis_title, page, panels, shown
from keyaction.plots.style.pens import BLACK, BLUE, GREEN, INK, ORANGE, SMALL, VERMILLION, Pen
from keyaction.plots.style.picture import of_compass
from keyaction.plots.style.spread import compass_band, steps_told
from keyaction.sim.figures.evenness import JUST_NOTICEABLE, neighbour_steps
from keyaction.sim.files.labelled import Result


@dataclass(frozen=True)
class _Panel:
    """Quantities of one panel, the words of its axis, and what a sound note without a value is called."""

    names: tuple[str, ...]
    words: str
    none: str


_PANELS = (
    _Panel(("pluck_force",), "pluck force", "no pluck"),
    _Panel(("pluck_point", "lost_motion"), "key travel", "no pluck"),
    _Panel(("repetition_rate",), "repetition", "no rate"),
    _Panel(("opening_time", "speech_delay"), "speech", "no time"),
    _Panel(("release_delay",), "release", "no time"),
)
_PENS = (Pen(BLACK, "-", "o"), Pen(BLUE, (0, (5, 2)), "^"), Pen(GREEN, (0, (1.5, 1.5)), "D"))


@of_compass("Over the compass")
def compass(result: Result, heading: str, units: System) -> Figure:
    """Draw the figures of all notes over the compass.

    Returns
    -------
    matplotlib.figure.Figure
        Pluck force, with the band within which a note cannot be told from its lower neighbour; pluck point and
        lost motion; repetition rate; opening time and speech delay; release delay. Notes without a figure are gaps,
        marked by their verdict; the first panel marks every note with which something is wrong. Where the result has
        the spread of its figures, strokes go from the lower to the upper edge of each band. Of coupled keys the pluck
        of the same keys alone lies behind, faint.
    """
    figure = page(result, heading, 10.5, 11.2)
    ratios = (1.5, 1.1, 1.0, 1.1, 1.0, 0.22)
    right = 0.75 + breadth(figure, MARKS)
    grid = panels(figure, 6, 1, Margins(left=0.85, right=right, top=0.1), hspace=0.16, height_ratios=ratios)
    strip = figure.add_subplot(grid[5])
    rows = [figure.add_subplot(grid[i], sharex=strip) for i in range(5)]
    for axes, panel in zip(rows, _PANELS, strict=True):
        _courses(axes, result, panel, units)
    draw_alone(rows[0], result, units)
    _neighbours(rows[0], result, units)
    for axes, panel in zip(rows, _PANELS, strict=True):
        widen(axes, result.held(panel.names[0]).unit, units)
    lay_out(rows, strip, result)
    figure.align_ylabels(rows)
    for axes in rows:
        axes.legend(loc="upper left", bbox_to_anchor=(1.01, 1.02), borderaxespad=0.0)
    return figure


def _courses(axes: Axes, result: Result, panel: _Panel, units: System) -> None:
    unit = ""
    for name, style in zip(panel.names, _PENS, strict=False):
        variable = result.held(name)
        values, unit = shown(variable.data, variable.unit, units)
        x, y = along(result, values)
        axes.plot(
            x,
            y,
            color=style.color,
            linestyle=style.dash if joined(y) else "none",
            marker=style.marker,
            markersize=3.6,
            linewidth=1.0,
            label=variable.label,
        )
        compass_band(axes, result, name, style.color, units)
    mark_verdicts(axes, result, result[panel.names[0]], panel.none, every=panel is _PANELS[0])
    axes.set_ylabel(axis_title(panel.words, unit))
    axes.margins(y=0.12)
    axes.use_sticky_edges = False


def band(below: Floats) -> tuple[Floats, Floats]:
    """Values that step by no more than the just-noticeable share from `below`, as shares of the mean of both."""
    half = JUST_NOTICEABLE / 2
    return below * (1 - half) / (1 + half), below * (1 + half) / (1 - half)


def _neighbours(axes: Axes, result: Result, units: System) -> None:
    """The band around each note's lower neighbour, and the notes outside theirs."""
    notes = np.array(semitones(result))
    forces, _ = shown(result["pluck_force"], "N", units)
    steps = neighbour_steps(notes, np.asarray(result["pluck_force"], dtype=float))
    beside = np.flatnonzero(np.isfinite(steps))
    if not len(beside):
        return
    low, high = band(forces[beside - 1])
    share = f"{JUST_NOTICEABLE:.0%}".replace("%", " %")
    axes.bar(
        notes[beside],
        high - low,
        bottom=low,
        width=0.9,
        color=ORANGE,
        alpha=0.35,
        linewidth=0,
        zorder=0,
        label=f"within {share} of the\nnote below",
    )
    out = beside[np.abs(steps[beside]) > JUST_NOTICEABLE]
    if len(out):
        axes.plot(
            notes[out],
            forces[out],
            "o",
            markersize=9,
            markerfacecolor="none",
            markeredgecolor=VERMILLION,
            markeredgewidth=1.6,
            label="a step that can be felt",
        )
    text = f"{len(out)} of {len(beside)} steps between neighbours exceed {share}, the least that a finger tells apart"
    text = "; ".join(filter(None, (text, steps_told(result))))
    axes.set_title(text, loc="left", size=SMALL, color=INK, pad=5)
