"""The path of a stroke: when press and release arrive at each station of the train, from finger to groove."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from matplotlib.axes import Axes
from matplotlib.colors import to_rgba
from matplotlib.figure import Figure

from keyaction.models.units.quantity import System, format_value
from keyaction.plots.note.stations import ARRIVED, Station, stations
from keyaction.plots.style import reading
from keyaction.plots.style.labels import breadth
from keyaction.plots.style.page import Floats, Margins, axis_title, nothing_to_draw, page, panels, shown
from keyaction.plots.style.pens import FAINT, HAIR, INK, SMALL
from keyaction.plots.style.picture import of_note
from keyaction.plots.style.shares import Fill, part_fills
from keyaction.sim.figures.limits import EMPTY, FULL, HALF
from keyaction.sim.files.labelled import Result

_NEEDED = ("time", "finger_travel", "key_travel", "groove_pressure", "body_ratio")
_HEIGHT = 0.74
"""Height of a full stroke, in spacings of the stations."""
_BAR = 5e-3
"""m of the scale bar."""
_NAME = SMALL + 0.5
"""Size of the stations' names."""
_EDGE, _COLUMN = (0.2, 0.15), (1.3, 1.1)
"""Inches left and right of the drawing, and of its two columns of figures."""
_NO_PART, _FAINT = Fill("#8a8a8a", ""), 0.3
"""Finger and groove; how faint the motions are filled."""
_HEAD, _ELBOW = 0.55, 0.1
"""Spacings above a branch for its name; inches between the lines that lead off to branches."""
_LEAD = (0, (2, 2))
"""Dashes of the line that leads over to a branch."""
_MARGIN = 0.012
"""s shown around what happens."""


@dataclass(frozen=True)
class _Side:
    """Press or release: its span (s), where its time counts from, its arrivals and their marker; all instants."""

    title: str
    axis: str
    start: float
    end: float
    zero: float
    arrivals: tuple[float, ...]
    marker: str
    time: Floats


@of_note("The path of a stroke", *_NEEDED)
def stroke_path(result: Result, row: int, heading: str, units: System) -> Figure:
    """Draw the path of a note's standard stroke.

    Returns
    -------
    matplotlib.figure.Figure
        The train down the page, from finger to groove. Beside each station its motion as it is at the key (its
        own motion divided by its speed ratio), with the instant at which press and release arrive: moved by 1 mm
        at the key, in the groove 50 % of the box pressure. A line joins the arrivals; columns give them in figures.
        Trains that couplers move stand below as branches, each led off from where its coupler takes hold.
    """
    try:
        found = stations(result, row)
    except ValueError as problem:
        return nothing_to_draw(result, heading, str(problem))
    places, branches = _places(found), sum(bool(station.strand) for station in found)
    figure = page(result, heading, 12.0, 2.6 + 0.74 * (1.0 - places[-1]))
    names = [name for station in found for name in (station.name, station.link, station.strand)]
    first = breadth(figure, names, _NAME, "bold") + 0.4 + _ELBOW * branches
    traces_wide = (12.0 - _EDGE[0] - _EDGE[1] - first - _COLUMN[0] - _COLUMN[1]) / 2
    grid = panels(
        figure,
        1,
        5,
        Margins(left=_EDGE[0], right=_EDGE[1], top=0.3, bottom=0.95),
        width_ratios=(first, traces_wide, _COLUMN[0], traces_wide, _COLUMN[1]),
        wspace=0.0,
    )
    train, fills = figure.add_subplot(grid[0]), part_fills(result)
    _train(train, found, places, fills, first)
    for i, side in enumerate(_sides(result, row, found, units)):
        traces = figure.add_subplot(grid[1 + 2 * i], sharey=train)
        _traces(traces, found, places, fills, side, units)
        _column(figure.add_subplot(grid[2 + 2 * i], sharey=train), found, places, side, units)
        if i == 0:
            _scale(traces, found, units)
    _legend(figure, units)
    return figure


def _sides(result: Result, row: int, found: Sequence[Station], units: System) -> tuple[_Side, _Side]:
    when, time = reading.events(result, row), np.asarray(result["time"], dtype=float)
    finger = found[0].way
    full = float(np.max(finger))
    bottom, top = time[np.flatnonzero(finger >= 0.999 * full)[0]], time[np.flatnonzero(finger > 0.001 * full)[-1]]
    down, up = (tuple(getattr(station, name) for station in found) for name in ("down", "up"))

    def last(values: Sequence[float], least: float) -> float:
        return min(max([least, *(v + _MARGIN for v in values if math.isfinite(v))]), float(time[-1]))

    press_end = min(last([*down, *(one.full for one in found)], float(bottom)), when.lift)
    release_end = last([*up, *(one.silent for one in found)], float(top))
    speech, silence = (reading.written(result, name, row, units) for name in ("speech_delay", "release_delay"))
    opening = reading.written(result, "opening_time", row, units)
    return (
        _Side(
            f"Down: opening time {opening}, speech delay {speech}",
            "time from the press",
            0.0,
            press_end,
            0.0,
            down,
            "o",
            time,
        ),
        _Side(
            f"Up: release delay {silence}",
            "time from the finger's lift",
            when.lift,
            release_end,
            when.lift,
            up,
            "s",
            time,
        ),
    )


def _places(found: Sequence[Station]) -> list[float]:
    """Where each station stands, in spacings below the finger; a branch begins with its name above it."""
    heads = np.cumsum([_HEAD if station.strand else 0.0 for station in found])
    return [-float(i + more) for i, more in enumerate(heads)]


def _train(
    axes: Axes, found: Sequence[Station], places: Sequence[float], fills: Mapping[str, Fill], width: float
) -> None:
    """The train as a line down the page: stations as knots, what joins them in between; x in inches."""
    axes.set_xlim(0, width)
    axes.set_ylim(places[-1] - 0.35, 1.0)
    axes.set_axis_off()
    branches = [i for i, station in enumerate(found) if station.strand]
    spine = width - 0.22 - _ELBOW * len(branches)
    edge = spine - 0.14
    for start, end in pairwise([0, *branches, len(found)]):
        axes.plot([spine] * 2, [places[start], places[end - 1]], color=INK, linewidth=1.4, solid_capstyle="butt")
    for number, i in enumerate(branches, 1):
        out, at = spine + 0.06 + _ELBOW * number, places[found[i].before]
        axes.plot([spine, out, out, spine], [at, at, places[i], places[i]], color=INK, linewidth=1.0, zorder=1)
    for y, station in zip(places, found, strict=True):
        marker = "s" if station is found[0] or station.groove else "o"
        face = fills[station.part].color if station.part in fills else INK
        axes.plot([spine], [y], marker, color=INK, markerfacecolor=face, markersize=7)
        axes.text(edge, y, station.name, ha="right", va="center", weight="bold", size=_NAME)
        axes.text(edge, y + 0.5, station.link, ha="right", va="center", size=SMALL - 1, color=FAINT, style="italic")
        if station.strand:
            axes.text(edge, y + 0.5 + _HEAD / 2, station.strand, ha="right", va="center", weight="bold", size=_NAME + 1)


def _heights(found: Sequence[Station]) -> list[Floats]:
    """Motions in spacings of the stations; the finger's depth and the box pressure are equally high."""
    full = float(np.max(found[0].way))
    return [s.way * (_HEIGHT if s.groove else _HEIGHT / full) for s in found]


def _traces(
    axes: Axes,
    found: Sequence[Station],
    places: Sequence[float],
    fills: Mapping[str, Fill],
    side: _Side,
    units: System,
) -> None:
    seconds = np.asarray(side.time, dtype=float)
    inside = (seconds >= side.start - 1e-9) & (seconds <= side.end + 1e-9)
    time, unit = shown(seconds[inside] - side.zero, "s", units)
    heights = _heights(found)
    for i, (y, height) in enumerate(zip(places, heights, strict=True)):
        axes.axhline(y, color=HAIR, linewidth=0.8, zorder=1)
        look = fills.get(found[i].part, _NO_PART)
        axes.fill_between(
            time,
            y,
            y + height[inside],
            facecolor=to_rgba(look.color, _FAINT),
            edgecolor=to_rgba(INK, _FAINT),
            hatch=look.hatch,
            linewidth=0,
            zorder=2 + i / 100,
        )
        axes.plot(time, y + height[inside], color=INK, linewidth=1.1, zorder=3 + i / 100, label=f"_{found[i].name}")
    at = [
        float(np.interp(t, seconds, y + h)) if math.isfinite(t) else math.nan
        for t, y, h in zip(side.arrivals, places, heights, strict=True)
    ]
    when, _ = shown(np.array(side.arrivals) - side.zero, "s", units)
    for number, strand in enumerate(_strands(found)):
        label = f"_path {number}" if number else "_path"
        axes.plot(when[strand], [at[i] for i in strand], color=INK, linewidth=1.8, alpha=0.9, zorder=5, label=label)
        if number:
            lead = [found[strand[0]].before, strand[0]]
            axes.plot(when[lead], [at[i] for i in lead], color=INK, linewidth=1.0, linestyle=_LEAD, zorder=5)
    axes.plot(when, at, side.marker, color=INK, markeredgecolor="white", markersize=7, zorder=6, label="_arrivals")
    _last_words(axes, found, places, heights, side, units)
    axes.set_xlim(float(time[0]), float(time[-1]))
    axes.set_xlabel(axis_title(side.axis, unit))
    axes.set_title(side.title, loc="left", size=SMALL + 1, weight="bold", color=INK, pad=8)
    axes.grid(False, axis="y")
    axes.tick_params(labelleft=False, left=False)
    axes.spines["left"].set_visible(False)


def _strands(found: Sequence[Station]) -> list[list[int]]:
    """Numbers of the stations that a line joins: the train, and each branch."""
    lines: list[list[int]] = [[]]
    for i, station in enumerate(found):
        if station.strand:
            lines.append([])
        lines[-1].append(i)
    return lines


def _scale(axes: Axes, found: Sequence[Station], units: System) -> None:
    """A bar of 5 mm, in the still corner before the press."""
    x, high = axes.get_xlim()[1] * 0.025, _HEIGHT * _BAR / float(np.max(found[0].way))
    axes.plot([x, x], [0.2, 0.2 + high], color=INK, linewidth=1.4, marker="_", markersize=6, zorder=6, label="_scale")
    axes.text(
        2 * x, 0.2 + high / 2, f"{format_value(_BAR, 'm', units)} at the key", va="center", size=SMALL - 1, color=FAINT
    )


def _last_words(
    axes: Axes,
    found: Sequence[Station],
    places: Sequence[float],
    heights: Sequence[Floats],
    side: _Side,
    units: System,
) -> None:
    """An open marker where each groove is full, or silent."""
    for station, y, height in zip(found, places, heights, strict=True):
        instant = station.full if side.zero == 0.0 else station.silent
        if math.isfinite(instant):
            x = float(shown(instant - side.zero, "s", units)[0])
            at = y + float(np.interp(instant, side.time, height))
            axes.plot([x], [at], side.marker, markerfacecolor="white", markeredgecolor=INK, markersize=6, zorder=6)


def _column(axes: Axes, found: Sequence[Station], places: Sequence[float], side: _Side, units: System) -> None:
    """Arrivals and lags in figures."""
    axes.set_axis_off()
    axes.set_xlim(0, 1)
    unit = "ms" if units == "trade" else "s"

    def number(seconds: float, sign: str = "") -> str:
        at = float(shown(seconds, "s", units)[0])
        return f"{at:{sign}z.{1 if unit == 'ms' else 4}f}" if math.isfinite(at) else "n/a"

    axes.text(0.42, 0.86, f"arrives\n({unit})", ha="right", va="center", size=SMALL - 0.5, color=FAINT)
    axes.text(0.74, 0.86, f"lag\n({unit})", ha="right", va="center", size=SMALL - 0.5, color=FAINT)
    share = (FULL if side.zero == 0.0 else EMPTY) * 100
    for y, station, when in zip(places, found, side.arrivals, strict=True):
        arrives = number(when - side.zero)
        axes.text(0.42, y, arrives, ha="right", va="center", weight="bold", size=SMALL, color=INK)
        if station.before >= 0:
            lag = number(when - side.arrivals[station.before], "+")
            axes.text(0.74, y + 0.5, lag, ha="right", va="center", size=SMALL)
        instant = station.full if side.zero == 0.0 else station.silent
        if math.isfinite(instant):
            text = f"{share:.0f} % at {number(instant - side.zero)}"
            axes.text(0.08, y - 0.3, text, ha="left", va="center", size=SMALL - 0.5, color=INK)


def _legend(figure: Figure, units: System) -> None:
    moved = format_value(ARRIVED, "m", units)
    text = (
        f"Arrival: a station has moved by {moved} as it is at the key; the groove has passed {HALF:.0%} of the box "
        f"pressure. Open marker: {FULL:.0%} pressed, {EMPTY:.0%} released.\n"
        "Every motion is drawn as it is at the key, to one scale (what no lever moves: as high as the key); finger's "
        "depth and box pressure are equally high."
    )
    width, height = (float(size) for size in figure.get_size_inches())
    figure.text(
        0.2 / width,
        0.46 / height,
        text.replace("%", " %"),
        size=SMALL - 0.5,
        color=FAINT,
        va="baseline",
        linespacing=1.4,
    )
