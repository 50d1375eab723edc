"""What pictures over a year share: its axis of days, its page, and the spells that are shaded."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime, timedelta

import numpy as np
from matplotlib.axes import Axes

from keyaction.models.climate.year import DAY, Year
from keyaction.models.units.quantity import System
from keyaction.plots.style.page import Floats, axis_title, shown
from keyaction.plots.style.pens import BLUE, ORANGE, Pen
from keyaction.sim.floating.course import RailCourse
from keyaction.sim.seasons.months import spells

_MOST_TICKS = 13
_SPAN = 0.5
"""Days shown beside a climate of one instant."""
SOUNDS = ("#fae3d3", "#e2a47c", "//")
"""Under the days on which a note sounds unplayed, and its hatching: pale, so that courses stay clear on it."""
MUTE = ("#e3e8ee", "#9fb0c4", "\\\\")
"""The same of days on which it does not speak when played."""
LEAST_SPAN = {"m": 0.1e-3, "N": 0.1, "K": 2.0, "%": 2.0}
"""Span of an upright axis below which differences mean nothing (assumed)."""
DRY, DAMP = Pen(ORANGE, "-", "v"), Pen(BLUE, "-", "^")
"""Marks of the driest and the dampest day."""


def lay_days(rows: Sequence[Axes], year: Year) -> None:
    """Give panels that share an axis the days of a climate; the lowest carries their names."""
    days = year.days
    low, high = float(days[0]), float(days[-1])
    if high == low:
        low, high = low - _SPAN, high + _SPAN
    rows[-1].set_xlim(low, high)
    places, names, words = _ticks(year)
    rows[-1].set_xticks(places, names)
    rows[-1].set_xlabel(words)
    for panel in rows[:-1]:
        panel.tick_params(axis="x", labelbottom=False)


def _ticks(year: Year) -> tuple[list[float], list[str], str]:
    if len(year) == 1:
        return [0.0], [year.when(0)], "day"
    span = float(year.days[-1])
    months = _firsts(year.start, span) if year.start else []
    if len(months) >= 2:
        step = -(-len(months) // _MOST_TICKS)
        named = [f"1 {day:%b}" for _, day in months[::step]]
        return [place for place, _ in months[::step]], named, "day of the year"
    step = next(one for one in (1, 2, 5, 7, 10, 14, 30, 60, 100, 365, 730, 3650) if span / one <= _MOST_TICKS)
    places = [float(one) for one in np.arange(0, span + 1e-9, step)]
    if year.start:
        dates = [year.start + timedelta(days=place) for place in places]
        return places, [f"{day.day} {day:%b}" for day in dates], "day of the year"
    return places, [f"{place + 1:.0f}" for place in places], "day of the climate"


def _firsts(start: date, span: float) -> list[tuple[float, datetime]]:
    """The first days of months within the climate, each with its place in days from the start."""
    begin = datetime(start.year, start.month, start.day, getattr(start, "hour", 0), getattr(start, "minute", 0))
    found, day = [], datetime(start.year, start.month, 1)
    while (place := (day - begin).total_seconds() / DAY) <= span:
        if place >= 0.0:
            found.append((place, day))
        day = (day + timedelta(days=32)).replace(day=1)
    return found


def course(axes: Axes, year: Year, values: Floats, look: Pen, label: str, width: float = 1.4) -> None:
    """A course over the days; of a single known instant a mark."""
    there = np.isfinite(values)
    alone = bool(np.any(there)) and not np.any(there[1:] & there[:-1])
    axes.plot(
        year.days, values, color=look.color, linestyle="none" if alone else look.dash, linewidth=width,
        marker=look.marker if alone else "none", markersize=4.5, label=label,
    )  # fmt: skip


def title_axis(axes: Axes, words: str, si: str, units: System) -> None:
    """Name the upright axis with the reader's unit, and open it to the least span that the unit makes sense of."""
    unit = si if si == "%" else shown(0.0, si, units)[1]
    axes.set_ylabel(axis_title(words, unit))
    least = LEAST_SPAN.get(si, 0.0)
    if si not in ("%", "K", ""):
        least = float(shown(least, si, units)[0])
    low, high = float(axes.dataLim.ymin), float(axes.dataLim.ymax)
    if not np.isfinite(high - low):
        return
    spare = max(0.12 * (high - low), (least - (high - low)) / 2)
    axes.set_ylim(low - spare, high + spare)


def shade(axes: Axes, year: Year, there: np.ndarray, look: tuple[str, str, str] = SOUNDS) -> None:
    """Shade the spells in which a thing is so, each to the middle between its instants and their neighbours.

    `look` is the colour of the ground, that of its hatching, and the hatching.
    """
    for first, last in spells(there):
        low, high = bounds(year, first, last)
        axes.axvspan(low, high, facecolor=look[0], edgecolor=look[1], hatch=look[2], linewidth=0.0, zorder=-1)


def bounds(year: Year, first: int, last: int) -> tuple[float, float]:
    """Where a spell begins and ends on the axis, days."""
    days = year.days
    if len(days) == 1:
        return -_SPAN, _SPAN
    low = days[0] if first == 0 else (days[first - 1] + days[first]) / 2
    high = days[-1] if last == len(days) - 1 else (days[last] + days[last + 1]) / 2
    return float(low), float(high)


def spell_words(year: Year, first: int, last: int) -> str:
    """From when to when, for people."""
    return year.when(first) if year.when(first) == year.when(last) else f"{year.when(first)} to {year.when(last)}"


def wide_enough(rail: RailCourse) -> bool:
    """Whether the band in which friction holds a rail is wide enough to be seen beside its way over the year."""
    band = float(np.max(rail.upper - rail.lower))
    return band > 0.02 * float(np.ptp(rail.place)) and band > 0.0
