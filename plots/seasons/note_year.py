"""One note over a year: the air, the wood, the rail, and what follows at its key."""

from __future__ import annotations

import textwrap
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from keyaction.models.notes import note_name, parse_note
from keyaction.models.units.quantity import System
from keyaction.plots.seasons.ground import (
    MUTE,
    bounds,
    course,
    lay_days,
    shade,
    spell_words,
    title_axis,
    wide_enough,
)
from keyaction.plots.style.labels import Mark, breadth, mark_above
from keyaction.plots.style.page import Floats, Margins, in_style, nothing_to_draw, page, panels, shown, tell_verdict
from keyaction.plots.style.pens import BLACK, BLUE, FAINT, GREEN, VERMILLION, Pen, pen
from keyaction.sim.files.labelled import Result
from keyaction.sim.seasons.months import merged
from keyaction.sim.seasons.result import mute_at, season_result, unplayed
from keyaction.sim.seasons.season import DivisionSeason, NoteSeason

BAND = (40.0, 60.0)
"""Relative humidity between which guidance wants it, %."""
_GUIDANCE, _GREEN = "40 to 60 %, guidance", "#cbe8dc"
_LETTERS, _MOST_SPELLS = 22, 4
_SAME = 2e-4
"""Moisture content by which two courses are told apart."""
_PENS = (Pen(BLACK), Pen(BLUE, (0, (5, 2)), "s"), Pen(GREEN, (0, (1.5, 1.2)), "D"))


@dataclass(frozen=True)
class _Panel:
    """Figures of one panel, their SI unit, and the words of its axis."""

    names: tuple[str, ...]
    unit: str
    words: str
    ratio: float = 1.0


_TRAVEL = _Panel(("level", "lost_motion", "pluck_point"), "m", "at the key", 1.7)
_BELOW = (
    _Panel(("steady_lift",), "m", "lift", 0.8),
    _Panel(("seat_load",), "N", "seat load", 0.8),
    _Panel(("margin",), "m", "margin", 1.0),
)
_NAMES = {"level": "level", "lost_motion": "lost motion", "pluck_point": "plucks at"}


@in_style
def note_year(season: DivisionSeason, note: str, units: System = "trade") -> Figure:
    """Draw a note over the year.

    Parameters
    ----------
    season : DivisionSeason
    note : str
        Name of a note of it.
    units : {"trade", "si"}

    Returns
    -------
    matplotlib.figure.Figure
        Temperature and humidity of the air with the band of guidance, moisture of members and rods, the rail where
        one floats; level, play and pluck point, lift, seat load and margin. Days on which the note sounds unplayed, and
        those on which it does not speak when played, are shaded, each in its way, and named.

    Raises
    ------
    KeyError
        If the note is not there.
    """
    result = season_result(season)
    one = list(season.notes.values())[_row(season, result, note)]
    heading = f"A year of {one.name}"
    if one.failed:
        return nothing_to_draw(result, heading, f"{one.name} has no figures: {one.failed}")
    ratios = _ratios(season)
    figure = page(result, heading, 10.5, 2.3 + 1.12 * sum(ratios))
    right = 0.8 + max(breadth(figure, _legends(season)), breadth(figure, [_GUIDANCE]))
    there, mute = unplayed(season, one), mute_at(season, one)
    top = 0.42 if np.any(there | mute) else 0.1
    grid = panels(figure, len(ratios), 1, Margins(0.95, right, top), hspace=0.14, height_ratios=ratios)
    rows = [figure.add_subplot(grid[0])]
    rows += [figure.add_subplot(grid[i], sharex=rows[0]) for i in range(1, len(ratios))]
    _fill(rows, season, one, units)
    lay_days(rows, season.year)
    for axes in rows:
        shade(axes, season.year, there)
        shade(axes, season.year, mute, MUTE)
        if axes.get_legend_handles_labels()[0]:
            axes.legend(loc="upper left", bbox_to_anchor=(1.01, 1.04), borderaxespad=0.0)
    figure.align_ylabels(rows)
    _name_spells(rows[0], season, {"sounds": there, "mute": mute})
    tell_verdict(figure, str(result["verdict"][result.index(note)]) if np.any(there | mute) else "")
    return figure


def _row(season: DivisionSeason, result: Result, note: str) -> int:
    wanted = note_name(parse_note(note, season.case.naming), season.case.naming)
    if wanted not in result.notes:
        raise KeyError(f"note {wanted} is not in this year; it holds {', '.join(result.notes)}")
    return result.notes.index(wanted)


def _ratios(season: DivisionSeason) -> list[float]:
    wood = [max(1.2, 0.19 * len(_legends(season)))] if season.moisture else []
    return [0.8, 1.0, *wood, *([0.9] if season.rail else []), _TRAVEL.ratio, *(one.ratio for one in _BELOW)]


def _legends(season: DivisionSeason) -> list[str]:
    return [line for names, _ in _alike(season) for line in textwrap.fill(names, _LETTERS).split("\n")]


def _alike(season: DivisionSeason) -> list[tuple[str, Floats]]:
    """Moisture courses, the names of those that are the same together."""
    found: list[tuple[list[str], Floats]] = []
    for name, values in season.moisture.items():
        same = next((names for names, other in found if np.allclose(values, other, atol=_SAME)), None)
        if same is None:
            found.append(([name], values))
        else:
            same.append(name)
    return [(", ".join(names), values) for names, values in found]


def _fill(rows: list[Axes], season: DivisionSeason, one: NoteSeason, units: System) -> None:
    """The panels from the top down."""
    year, left = season.year, iter(rows)
    axes = next(left)
    course(axes, year, shown(year.temperature, "K", units)[0], _PENS[0], "_air")
    title_axis(axes, "air", "K", units)
    _humidity(next(left), season)
    if season.moisture:
        _moisture(next(left), season)
    if season.rail:
        _rail(next(left), season, units)
    for panel in (_TRAVEL, *_BELOW):
        _figures(next(left), season, one, panel, units)


def _humidity(axes: Axes, season: DivisionSeason) -> None:
    axes.axhspan(*BAND, facecolor=_GREEN, alpha=0.5, linewidth=0.0, zorder=0, label=_GUIDANCE)
    for edge in BAND:
        axes.axhline(edge, color=GREEN, linewidth=0.8, linestyle=(0, (6, 3)), zorder=0.5)
    course(axes, season.year, 100 * season.year.humidity, _PENS[0], "_air")
    title_axis(axes, "humidity", "%", "trade")


def _moisture(axes: Axes, season: DivisionSeason) -> None:
    for i, (names, values) in enumerate(_alike(season)):
        course(axes, season.year, 100 * values, pen(i), textwrap.fill(names, _LETTERS), 1.2)
    title_axis(axes, "moisture", "%", "trade")


def _rail(axes: Axes, season: DivisionSeason, units: System) -> None:
    rail = season.rail
    assert rail is not None
    low, high = (shown(one, "m", units)[0] for one in (rail.lower, rail.upper))
    if wide_enough(rail):
        axes.fill_between(season.year.days, low, high, facecolor="#d9d9d9", linewidth=0.0, label="held by friction")
    course(axes, season.year, shown(rail.place, "m", units)[0], _PENS[0], "_rail")
    title_axis(axes, "rail", "m", units)


def _figures(axes: Axes, season: DivisionSeason, one: NoteSeason, panel: _Panel, units: System) -> None:
    several = len(panel.names) > 1
    for name, look in zip(panel.names, _PENS, strict=False):
        values, _ = shown(one.figures[name], panel.unit, units)
        if several and not np.any(np.isfinite(values)):
            continue
        course(axes, season.year, values, look, _NAMES[name] if several else f"_{name}")
    title_axis(axes, panel.words, panel.unit, units)
    low, high = axes.get_ylim()
    if not low < 0.0 < high:
        return
    if panel.names == ("margin",):
        axes.axhline(0.0, color=VERMILLION, linewidth=1.0, label="sounds below it")
    else:
        axes.axhline(0.0, color=FAINT, linewidth=0.6, zorder=0)


def _name_spells(axes: Axes, season: DivisionSeason, kinds: Mapping[str, np.ndarray]) -> None:
    """The longest spells by their days, above the panels."""
    every = [(first, last, word) for word, there in kinds.items() for first, last in merged(season.year, there)]
    marks = []
    for first, last, word in sorted(sorted(every, key=lambda one: one[0] - one[1])[:_MOST_SPELLS]):
        low, high = bounds(season.year, first, last)
        marks.append(Mark((low + high) / 2, f"{word} {spell_words(season.year, first, last)}"))
    mark_above(axes, marks, 0.16)
