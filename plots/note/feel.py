"""The feel curve: key force against key travel, pressed slowly, and below it at three speeds."""

from __future__ import annotations

import math
import textwrap
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D

from keyaction.models.units.quantity import System, format_value
from keyaction.plots.note.plucks import draw_alone, mark_plucks, plucks
from keyaction.plots.style import reading, spread
from keyaction.plots.style.labels import Mark, mark_above, mark_right
from keyaction.plots.style.page import FOOT, HEAD, Floats, Margins, axis_title, page, panels, shown
from keyaction.plots.style.pens import BLUE, FAINT, INK, SMALL, VERMILLION, WASH, Pen
from keyaction.plots.style.picture import of_note
from keyaction.sim.figures.dip import AS_WRITTEN, pressed_words, written_dip
from keyaction.sim.files.labelled import Result

_SPEED_PENS = (Pen("#00735a", (0, (1.2, 1.2))), Pen(BLUE, (0, (5, 1.6))), Pen(VERMILLION, (0, (7, 1.5, 1.2, 1.5))))
_UP = (0, (4, 1.5))
_WIDE, _NARROW, _MARGINS = 9.6, 0.3, Margins(left=0.75, right=1.75, top=0.55)
"""Inches: the page, what is left free right of the presses at speed, and beside the slow press."""
_TALL, _KEY, _SMALL_ONES = 4.1, 1.3, 1.7
"""Inches: the slow press, room for its key, the presses at speed."""
_RAW, _LOST = "#b0b0b0", "#f8e2b3"
"""The slow press beside one at speed; the work lost, opaque, so that no band below changes its colour."""


@dataclass(frozen=True)
class _Press:
    """One slow movement of the key, in the reader's units."""

    way: Floats
    force: Floats


_NEEDED = ("feel_down_travel", "feel_down_force", "feel_up_travel", "feel_up_force")


@of_note("Feel curve", *_NEEDED)
def feel_curve(result: Result, row: int, heading: str, units: System) -> Figure:
    """Draw what the finger feels of one note.

    Returns
    -------
    matplotlib.figure.Figure
        Slow press down and up, with the loop between them shaded (the work that the finger does not get back), and
        lost motion, pluck, follow-through and dip marked with their values. Where the result has the spread of its
        figures, the bands of the press down and up lie under it. Of a coupled key the same key alone lies behind it,
        faint, and the pluck of every pallet is marked and named by its division.
        Below it small panels, one for each stated speed, with the slow press for comparison.
    """
    speeds = [float(speed) for speed in result["speed"]] if "feel_speed_travel" in result else []
    return _drawn(result, row, heading, units, speeds)


@of_note("Feel curve", *_NEEDED)
def slow_press(result: Result, row: int, heading: str, units: System) -> Figure:
    """Draw the slow press of one note alone.

    Returns
    -------
    matplotlib.figure.Figure
        The upper part of `feel_curve`.
    """
    return _drawn(result, row, heading, units, [])


def _drawn(result: Result, row: int, heading: str, units: System, speeds: Sequence[float]) -> Figure:
    """The slow press, and below it the presses at these speeds."""
    heights = [_TALL, *([_KEY, _SMALL_ONES] if speeds else [])]
    bottom = 0.5 if speeds else 0.5 * _KEY + 0.25
    figure = page(result, heading, _WIDE, HEAD + FOOT + _MARGINS.top + bottom + sum(heights))
    margins = Margins(_MARGINS.left, _NARROW, _MARGINS.top, bottom)
    grid = panels(figure, len(heights), 1, margins, height_ratios=heights, hspace=0.0)
    beside = _MARGINS.right - _NARROW
    top = grid[0].subgridspec(1, 2, width_ratios=(_WIDE - _MARGINS.left - _NARROW - beside, beside), wspace=0.0)
    axes = figure.add_subplot(top[0])
    down, up = (_slow(result, row, side, units) for side in ("down", "up"))
    _presses(axes, result, row, (down, up), units)
    draw_alone(axes, result, row, units)
    _frame(axes, result, row, (down, up), units)
    _key(axes, spread.band_told(result, row))
    _marks(axes, result, row, units)
    if speeds:
        small = grid[2].subgridspec(1, len(speeds), wspace=0.12)
        _at_speed([figure.add_subplot(small[i]) for i in range(len(speeds))], result, row, speeds, down, units)
    return figure


def _slow(result: Result, row: int, side: str, units: System) -> _Press:
    way, force = (np.asarray(result[f"feel_{side}_{what}"][row], dtype=float) for what in ("travel", "force"))
    return _Press(
        shown(way, "m", units)[0],
        shown(force, "N", units)[0],
    )


def _presses(axes: Axes, result: Result, row: int, slow: tuple[_Press, _Press], units: System) -> None:
    lost = format_value(reading.value(result, "loop_work", row), "J", units)
    spread.feel_band(axes, result, row, units)
    axes.fill(
        np.concatenate([one.way for one in slow]),
        np.concatenate([one.force for one in slow]),
        facecolor=_LOST,
        linewidth=0,
        label=f"work lost in a slow stroke: {lost}",
    )
    down, up = slow
    axes.plot(down.way, down.force, color=INK, linewidth=2.0, label="slow, down")
    axes.plot(up.way, up.force, color=INK, linewidth=1.2, linestyle=_UP, label="slow, up")
    axes.set_xlabel(axis_title("key travel", shown(0.0, "m", units)[1]))
    axes.set_ylabel(axis_title("key force", shown(0.0, "N", units)[1]))


def touch(result: Result, row: int) -> float:
    """Travel at which the key meets the bottom felt, m; NaN if the result does not say."""
    return float(written_dip(result)[row])


def _frame(axes: Axes, result: Result, row: int, slow: Sequence[_Press], units: System) -> None:
    """High enough for all that happens above the bottom felt; the felt itself runs out of the frame."""
    felt = touch(result, row)
    end = float(shown(felt, "m", units)[0]) if math.isfinite(felt) else math.inf
    high = max(float(np.max(one.force[one.way < end], initial=0.0)) for one in slow)
    high = max(high, spread.highest(result, row, units, end))
    far = max(float(np.nanmax(one.way, initial=0.0)) for one in slow)
    axes.set_xlim(0.0, max(far * 1.01, 1e-9))
    axes.set_ylim(0.0, max(high * 1.15, 1e-9))
    if math.isfinite(felt):
        axes.axvspan(end, axes.get_xlim()[1], color=WASH, zorder=0, linewidth=0)


def _key(axes: Axes, more: str) -> None:
    """The slow press down and up and the loop, in this order, and what else must be known."""
    handles, labels = axes.get_legend_handles_labels()
    order = sorted(range(len(labels)), key=lambda i: not isinstance(handles[i], Line2D))
    axes.legend(
        [handles[i] for i in order],
        [labels[i] for i in order],
        loc="upper left",
        bbox_to_anchor=(-0.01, -0.48 / _TALL),
        ncols=min(len(labels), 4),
        columnspacing=1.2,
        borderaxespad=0.0,
    )
    told = f"Pressed so slowly that all forces balance at every place.{more}"
    axes.text(0.0, -0.72 / _TALL, told, transform=axes.transAxes, va="top", size=SMALL - 0.5, color=FAINT)


def _at_speed(
    axes: Sequence[Axes], result: Result, row: int, speeds: Sequence[float], slow: _Press, units: System
) -> None:
    """A small panel for each speed, all of one height and width, with the slow press in grey."""
    felt = touch(result, row)
    way, force = (result[f"feel_speed_{what}"][row] for what in ("travel", "force"))
    inside = way < (felt if math.isfinite(felt) else math.inf)
    high = float(shown(np.max(np.where(inside, force, 0.0), initial=0.0), "N", units)[0])
    high = max(high, float(np.max(slow.force[slow.way < shown(felt, "m", units)[0]], initial=0.0)), 1e-9)
    for i, (panel, speed) in enumerate(zip(axes, speeds, strict=True)):
        look = _SPEED_PENS[i % len(_SPEED_PENS)]
        panel.plot(slow.way, slow.force, color=_RAW, linewidth=2.0, label="_slow")
        panel.plot(
            shown(way[i], "m", units)[0],
            shown(force[i], "N", units)[0],
            color=look.color,
            linestyle=look.dash,
            linewidth=1.2,
            label=f"press at {format_value(speed, 'm/s', units)}",
        )
        panel.set_title(
            f"pressed at {format_value(speed, 'm/s', units)}", loc="left", size=SMALL + 0.5, weight="bold", pad=5
        )
        if math.isfinite(felt):
            panel.axvspan(float(shown(felt, "m", units)[0]), 2 * slow.way[-1], color=WASH, zorder=0, linewidth=0)
        panel.set_xlim(0.0, max(float(np.nanmax(slow.way, initial=0.0)) * 1.01, 1e-9))
        panel.set_ylim(0.0, 1.1 * high)
        panel.set_xlabel(axis_title("key travel", shown(0.0, "m", units)[1]), size=SMALL)
        panel.tick_params(labelleft=i == 0)
    axes[0].set_ylabel(axis_title("key force", shown(0.0, "N", units)[1]), size=SMALL)
    axes[-1].text(
        1.0, 1.06, "grey: slow, down", transform=axes[-1].transAxes, ha="right", size=SMALL - 0.5, color=FAINT
    )


def _line(axes: Axes, xs: Sequence[float], ys: Sequence[float]) -> None:
    axes.plot(xs, ys, color=FAINT, linewidth=0.7, linestyle=(0, (1, 2)))


def _named(result: Result, row: int, name: str, words: str, units: System) -> Mark:
    """A quantity as a mark on its axis."""
    at, _ = shown(reading.value(result, name, row), result.held(name).unit, units)
    return Mark(float(at), f"{words}\n{reading.written(result, name, row, units)}")


def _marks(axes: Axes, result: Result, row: int, units: System) -> None:
    """Dimension lines: places along the key's way named above, forces named at the right."""
    right, top = axes.get_xlim()[1], axes.get_ylim()[1]
    found = plucks(result, row)
    if found:
        points, forces = mark_plucks(axes, found, units)
    else:
        points = [_named(result, row, "pluck_point", "pluck point", units)]
        forces = [_named(result, row, "pluck_force", "pluck force", units)]
        _pluck(axes, result, row, points[0].at, units)
    follow = _named(result, row, "follow_through_force", "follow-through", units)
    pressed = _named(result, row, "key_dip", pressed_words(result), units)
    ways = [_named(result, row, "lost_motion", "lost motion", units), pressed, *points]
    for way in ways:
        _line(axes, (way.at, way.at), (0, top))
    peaks = [point.at for point in points] if found else [_peak(result, row, units)]
    starts = [*peaks, peaks[-1]]
    for start, force in zip(starts, (*forces, follow), strict=True):
        _line(axes, (start, right), (force.at, force.at))
    axes.set_xlim(0.0, right)
    axes.set_ylim(0.0, top)
    felt = touch(result, row)
    touched = Mark(float(shown(felt, "m", units)[0]), f"{AS_WRITTEN}\n{format_value(felt, 'm', units)}")
    mark_above(axes, [*ways, touched])
    mark_right(axes, [*forces, follow])


def _peak(result: Result, row: int, units: System) -> float:
    """Where on the way down the key takes its pluck force: near the pluck, or at a later stage of its way."""
    down, force = _slow(result, row, "down", units), reading.value(result, "pluck_force", row)
    if not math.isfinite(force):
        return math.nan
    before = down.way < shown(touch(result, row), "m", units)[0]
    apart = np.where(before, np.abs(down.force - float(shown(force, "N", units)[0])), np.inf)
    return float(down.way[np.argmin(apart)])


def _pluck(axes: Axes, result: Result, row: int, point: float, units: System) -> None:
    """The pluck of a single pallet where it stands on the way down, or why there is none."""
    if math.isfinite(point):
        down = _slow(result, row, "down", units)
        force = float(np.interp(point, down.way, down.force))
        spread.pluck_bar(axes, result, row, force, units)
        axes.plot([point], [force], "o", markersize=7, markerfacecolor="white", markeredgecolor=INK, zorder=5)
    else:
        why = textwrap.fill(reading.NEVER_PLUCKS, 20)
        axes.text(1.02, 0.98, why, transform=axes.transAxes, va="top", size=SMALL, color=FAINT, gid="why")
