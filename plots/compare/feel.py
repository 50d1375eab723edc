"""Feel curves of the variants of a comparison, laid over each other, and where they pluck."""

from __future__ import annotations

import json
from typing import Any, cast

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Patch

from keyaction.models.units.quantity import System, format_value
from keyaction.plots.compare.common import below_all, names
from keyaction.plots.style.page import Floats, Margins, axis_title, in_style, nothing_to_draw, page, panels, shown
from keyaction.plots.style.pens import FAINT, INK, ORANGE, SMALL, pen
from keyaction.sim.compare.compare import FEEL_CURVES
from keyaction.sim.figures.evenness import JUST_NOTICEABLE
from keyaction.sim.files.labelled import Result

_BEFORE, _AFTER = 0.7e-3, 0.5e-3
"""m of key travel that the near view shows beside the pluck points."""


@in_style
def compared_feel(result: Result, units: System = "trade") -> Figure:
    """Draw the slow press of one note, down and up, of every variant.

    Parameters
    ----------
    result : Result
        A comparison, from `keyaction.sim.compare.compare.compare`.
    units : {"trade", "si"}

    Returns
    -------
    matplotlib.figure.Figure
        The whole way at the left; at the right the way to the pluck from near, with the band of forces that a finger
        cannot tell from the first variant's pluck.
    """
    note = str(result["curve_note"][0])
    heading = f"Feel curves compared, {note}"
    statuses = json.loads(result.about.get("curve_status", "[]"))
    if any(name not in result for name in FEEL_CURVES):
        why = "\n".join(f"{letter}: {text}" for letter, text in zip(result["letter"], statuses, strict=True))
        return nothing_to_draw(result, heading, f"{note} could not be played.\n{why}")
    count = len(result["variant"])
    low = 0.66 + 0.19 * ((count + 4) // 2)
    figure = page(result, heading, 10.5, 5.0 + low)
    grid = panels(figure, 1, 2, Margins(left=0.75, right=0.35, top=0.28, bottom=low), wspace=0.2)
    whole, near = figure.add_subplot(grid[0]), figure.add_subplot(grid[1])
    for axes, title in ((whole, "slow press, down and up"), (near, "at the pluck, down")):
        axes.set_title(title, loc="left", size=SMALL + 1, weight="bold", pad=6)
    _whole(whole, result, units)
    _near(near, result, note, units)
    _legend(figure, whole, result, note, units)
    return figure


def _course(result: Result, v: int, side: str, units: System) -> tuple[tuple[Floats, str], tuple[Floats, str]]:
    """Travel and force of a variant's slow press, each with its unit."""
    way, force = (np.asarray(result[f"feel_{side}_{what}"][v], dtype=float) for what in ("travel", "force"))
    return shown(way, "m", units), shown(force, "N", units)


def _whole(axes: Axes, result: Result, units: System) -> None:
    high = 0.0
    for v in range(len(result["variant"])):
        style = pen(v)
        for side, width in (("down", 1.5), ("up", 0.9)):
            (way, way_unit), (force, force_unit) = _course(result, v, side, units)
            axes.plot(way, force, color=style.color, linestyle=style.dash, linewidth=width)
        # The bottom felt runs out of the frame: what is of interest lies above it.
        pluck = np.nanmax(result["pluck_force"][v], initial=0.0)
        free = result["feel_down_force"][v][result["feel_down_travel"][v] < 0.8 * np.nanmax(result["key_dip"])]
        high = max(high, float(np.nanmax(free, initial=0.0)), float(pluck) if not len(free) else 0.0)
    axes.set_xlim(left=0.0)
    axes.set_ylim(0.0, max(float(shown(high, "N", units)[0]) * 1.15, 1e-9))
    axes.set_xlabel(axis_title("key travel", way_unit))
    axes.set_ylabel(axis_title("key force", force_unit))


def _near(axes: Axes, result: Result, note: str, units: System) -> None:
    forces, points = (_figure(result, name, note) for name in ("pluck_force", "pluck_point"))
    for v in range(len(result["variant"])):
        style = pen(v)
        (way, way_unit), (force, force_unit) = _course(result, v, "down", units)
        axes.plot(way, force, color=style.color, linestyle=style.dash)
        if np.isfinite(points[v]):
            at = shown(points[v], "m", units)[0], shown(forces[v], "N", units)[0]
            axes.plot(*at, style.marker, color=style.color, markersize=5, markerfacecolor="white", zorder=5)
    axes.set_xlabel(axis_title("key travel", way_unit))
    axes.set_ylabel(axis_title("key force", force_unit))
    there = np.isfinite(points)
    if not np.any(there):
        axes.text(0.5, 0.5, "none of them plucks", transform=axes.transAxes, ha="center", color=FAINT, gid="why")
        return
    span = float(np.min(points[there])) - _BEFORE, float(np.max(points[there])) + _AFTER
    axes.set_xlim(*(float(shown(max(end, 0.0), "m", units)[0]) for end in span))
    top = float(shown(np.max(forces[there]), "N", units)[0])
    axes.set_ylim(0.55 * top, 1.12 * top)
    if there[0]:
        first = float(shown(forces[0], "N", units)[0])
        band = first * (1 - JUST_NOTICEABLE), first * (1 + JUST_NOTICEABLE)
        axes.axhspan(*band, color=ORANGE, alpha=0.25, linewidth=0, zorder=0)


def _figure(result: Result, name: str, note: str) -> np.ndarray:
    """One figure of the note in every variant; NaN where the comparison left the note out."""
    if note not in result.notes:
        return np.full(len(result["variant"]), np.nan)
    return np.asarray(result[name][:, result.index(note)], dtype=float)


def _legend(figure: Figure, axes: Axes, result: Result, note: str, units: System) -> None:
    forces, points = (_figure(result, name, note) for name in ("pluck_force", "pluck_point"))
    handles: list[Line2D | Patch] = []
    for v, name in enumerate(names(result)):
        style, told = pen(v), ""
        if np.isfinite(points[v]):
            told = f": {format_value(forces[v], 'N', units)} at {format_value(points[v], 'm', units)}"
        line = Line2D([], [], color=style.color, linestyle=cast(Any, style.dash), marker=style.marker, markersize=5)
        line.set_markerfacecolor("white")
        line.set_label(f"{name}{told}")
        handles.append(line)
    share = f"{JUST_NOTICEABLE:.0%}".replace("%", " %")
    handles.append(Patch(color=ORANGE, alpha=0.25, label=f"within {share} of A's pluck force: a finger cannot tell"))
    handles.append(Line2D([], [], color=INK, linewidth=0.9, label="thinner: up"))
    below_all(figure, axes, handles, 0.65)
