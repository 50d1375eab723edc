"""The feel curve: key force against key travel, slow down and up, and at three speeds."""

from __future__ import annotations

import math
import textwrap
from collections.abc import Sequence

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from keyaction.models.units.quantity import System, format_value
from keyaction.plots.style import reading
from keyaction.plots.style.labels import Mark, mark_above, mark_right
from keyaction.plots.style.page import Margins, axis_title, page, panels, shown
from keyaction.plots.style.pens import BLUE, FAINT, INK, ORANGE, SMALL, VERMILLION, WASH, Pen
from keyaction.plots.style.picture import of_note
from keyaction.sim.files.labelled import Result

_SPEED_PENS = (Pen("#00735a", (0, (1.2, 1.2))), Pen(BLUE, (0, (5, 1.6))), Pen(VERMILLION, (0, (7, 1.5, 1.2, 1.5))))


@of_note("Feel curve", "feel_down_travel", "feel_down_force", "feel_up_travel", "feel_up_force")
def feel_curve(result: Result, row: int, heading: str, units: System) -> Figure:
    """Draw what the finger feels of one note.

    Returns
    -------
    matplotlib.figure.Figure
        Slow press down and up with the loop between them shaded (the work that the finger does not get back),
        presses at the stated speeds, and lost motion, pluck, follow-through and dip marked with their values.
    """
    figure = page(result, heading, 9.6, 6.4)
    axes = figure.add_subplot(panels(figure, 1, 1, Margins(left=0.75, right=1.75, top=0.55, bottom=1.1))[0])
    _presses(axes, result, row, units)
    _frame(axes, result, row, units)
    _marks(axes, result, row, units)
    return figure


def _presses(axes: Axes, result: Result, row: int, units: System) -> None:
    way, force = {}, {}
    for side in ("down", "up"):
        way[side], travel_unit = shown(result[f"feel_{side}_travel"][row], "m", units)
        force[side], force_unit = shown(result[f"feel_{side}_force"][row], "N", units)
    lost = format_value(reading.value(result, "loop_work", row), "J", units)
    axes.fill(
        np.concatenate([way["down"], way["up"]]),
        np.concatenate([force["down"], force["up"]]),
        facecolor=ORANGE,
        alpha=0.3,
        linewidth=0,
        label=f"work lost in a slow stroke: {lost}",
    )
    for i, speed in enumerate(result["speed"] if "feel_speed_travel" in result else ()):
        travel, _ = shown(result["feel_speed_travel"][row, i], "m", units)
        pressed, _ = shown(result["feel_speed_force"][row, i], "N", units)
        style = _SPEED_PENS[i % len(_SPEED_PENS)]
        label = f"press at {format_value(float(speed), 'm/s', units)}"
        axes.plot(travel, pressed, color=style.color, linestyle=style.dash, linewidth=1.0, label=label)
    slow = reading.stroke_setting(result, "press_speed")
    pace = f" ({format_value(slow, 'm/s', units)})" if math.isfinite(slow) else ""
    axes.plot(way["down"], force["down"], color=INK, linewidth=2.0, label=f"slow, down{pace}")
    axes.plot(way["up"], force["up"], color=INK, linewidth=1.2, linestyle=(0, (4, 1.5)), label=f"slow, up{pace}")
    axes.set_xlabel(axis_title("key travel", travel_unit))
    axes.set_ylabel(axis_title("key force", force_unit))


def touch(result: Result, row: int) -> float:
    """Travel at which the key meets the bottom felt, m; NaN if the result does not say."""
    return reading.parameter(result, "key", "dip", row)


def _frame(axes: Axes, result: Result, row: int, units: System) -> None:
    """High enough for all that happens above the bottom felt; the felt itself runs out of the frame."""
    felt = touch(result, row)
    end = felt if math.isfinite(felt) else math.inf
    names = [name for name in ("feel_down", "feel_up", "feel_speed") if f"{name}_travel" in result]
    pairs = [(result[f"{name}_travel"][row].ravel(), result[f"{name}_force"][row].ravel()) for name in names]
    high = max((float(np.max(force[way < end], initial=0.0)) for way, force in pairs), default=0.0)
    far = max(float(np.nanmax(way, initial=0.0)) for way, _ in pairs)
    axes.set_xlim(0.0, max(float(shown(far, "m", units)[0]) * 1.01, 1e-9))
    axes.set_ylim(0.0, max(float(shown(high, "N", units)[0]) * 1.12, 1e-9))
    if math.isfinite(felt):
        axes.axvspan(float(shown(felt, "m", units)[0]), axes.get_xlim()[1], color=WASH, zorder=0, linewidth=0)
    handles, labels = axes.get_legend_handles_labels()
    order = sorted(range(len(labels)), key=lambda i: (not labels[i].startswith("slow"), i))
    axes.legend(
        [handles[i] for i in order],
        [labels[i] for i in order],
        loc="upper left",
        bbox_to_anchor=(-0.01, -0.13),
        ncols=3,
        borderaxespad=0.0,
    )


def _line(axes: Axes, xs: Sequence[float], ys: Sequence[float]) -> None:
    axes.plot(xs, ys, color=FAINT, linewidth=0.7, linestyle=(0, (1, 2)))


def _named(result: Result, row: int, name: str, words: str, units: System) -> Mark:
    """A quantity as a mark on its axis."""
    at, _ = shown(reading.value(result, name, row), result.variables[name].unit, units)
    return Mark(float(at), f"{words}\n{reading.written(result, name, row, units)}")


def _marks(axes: Axes, result: Result, row: int, units: System) -> None:
    """Dimension lines: places along the key's way named above, forces named at the right."""
    right, top = axes.get_xlim()[1], axes.get_ylim()[1]
    point = _named(result, row, "pluck_point", "pluck point", units)
    pluck = _named(result, row, "pluck_force", "pluck force", units)
    follow = _named(result, row, "follow_through_force", "follow-through", units)
    ways = [_named(result, row, "lost_motion", "lost motion", units), _named(result, row, "key_dip", "key dip", units)]
    felt = touch(result, row)
    for way in (*ways, point):
        _line(axes, (way.at, way.at), (0, top))
    for force in (pluck, follow):
        _line(axes, (point.at, right), (force.at, force.at))
    if math.isfinite(point.at):
        axes.plot([point.at], [pluck.at], "o", markersize=7, markerfacecolor="white", markeredgecolor=INK, zorder=5)
    else:
        why = textwrap.fill(reading.NEVER_PLUCKS, 20)
        axes.text(1.02, 0.98, why, transform=axes.transAxes, va="top", size=SMALL, color=FAINT, gid="why")
    axes.set_xlim(0.0, right)
    axes.set_ylim(0.0, top)
    touched = Mark(float(shown(felt, "m", units)[0]), f"bottom felt\n{format_value(felt, 'm', units)}")
    mark_above(axes, [*ways, point, touched])
    mark_right(axes, [pluck, follow])
