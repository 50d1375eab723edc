"""The rail of a division over a year: its place, its pull, and what it leaves to the notes."""

from __future__ import annotations

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from keyaction.models.units.quantity import System
from keyaction.plots.compass.keyboard import MARKS, lay_out, mark_verdicts, semitones, widen
from keyaction.plots.seasons.ground import course, lay_days, shade, spell_words, title_axis, wide_enough
from keyaction.plots.style.labels import Mark, breadth, mark_above, mark_right
from keyaction.plots.style.page import Floats, Margins, axis_title, in_style, nothing_to_draw, page, panels, shown
from keyaction.plots.style.pens import BLACK, BLUE, FAINT, INK, SMALL, VERMILLION, Pen
from keyaction.plots.style.reading import no_notes
from keyaction.sim.files.labelled import Result
from keyaction.sim.floating.course import RailCourse
from keyaction.sim.seasons.months import spells
from keyaction.sim.seasons.rail_sheets import without_rail
from keyaction.sim.seasons.result import season_result, span
from keyaction.sim.seasons.season import DivisionSeason

_FIXED, _LEFT = "#c9c9c9", Pen(BLUE, "-", "s")
_AT_STOP = ("#e9e9e9", "#b4b4b4", "//")
"""Under the days at a stop, and their hatching."""
_NAMES = ("rail made fast", "left with the rail", "load that draws it", "pull of the rods", "held by friction")
_MOST_SPELLS = 3


@in_style
def rail_year(season: DivisionSeason, units: System = "trade") -> Figure:
    """Draw the rail over the year.

    Parameters
    ----------
    season : DivisionSeason
    units : {"trade", "si"}

    Returns
    -------
    matplotlib.figure.Figure
        Place of the rail between its stops with the places in which friction holds it, days at a stop shaded and named;
        pull of the rods against its load; how far the paths of all notes change at the key with the rail made fast and
        with it as it moves; the same note by note. A page that says so where no rail floats.
    """
    result, heading = season_result(season), "The rail over the year"
    rail = season.rail
    why = "No rail floats in this division." if rail is None else no_notes(result)
    if rail is None or why:
        return nothing_to_draw(result, heading, why)
    figure = page(result, heading, 10.5, 10.2)
    right = 0.8 + breadth(figure, [*_NAMES, *MARKS])
    stuck = rail.at_stop != 0
    margins = Margins(0.95, right, 0.42 if np.any(stuck) else 0.1)
    grid = panels(figure, 6, 1, margins, hspace=0.2, height_ratios=(1.3, 0.8, 1.2, 0.22, 1.2, 0.2))
    first = figure.add_subplot(grid[0])
    days = [first, *(figure.add_subplot(grid[i], sharex=first) for i in (1, 2))]
    strip = figure.add_subplot(grid[5])
    notes = figure.add_subplot(grid[4], sharex=strip)
    _place(days[0], season, rail, units)
    _pull(days[1], season, rail, units)
    _paths(days[2], season, units)
    lay_days(days, season.year)
    for axes in days:
        shade(axes, season.year, stuck, _AT_STOP)
    _note_by_note(notes, result, season, units)
    lay_out([notes], strip, result)
    figure.align_ylabels([*days, notes])
    for axes in (*days, notes):
        if not axes.get_legend_handles_labels()[0]:
            continue
        out = 1.11 if axes is days[0] else 1.01  # beside the names of its stops
        axes.legend(loc="upper left", bbox_to_anchor=(out, 1.04), borderaxespad=0.0)
    _stops(days[0], rail, units)
    _name_stops(days[0], season, rail)
    return figure


def _place(axes: Axes, season: DivisionSeason, rail: RailCourse, units: System) -> None:
    low, high = (shown(one, "m", units)[0] for one in (rail.lower, rail.upper))
    if wide_enough(rail):
        _between(axes, season.year.days, low, high, "#d9d9d9", "held by friction", "")
    course(axes, season.year, shown(rail.place, "m", units)[0], Pen(BLACK), "_rail")
    title_axis(axes, "place from its centre", "m", units)
    low_stop, high_stop = (float(shown(one, "m", units)[0]) for one in (-rail.rail.behind, rail.rail.ahead))
    bottom, top = axes.get_ylim()
    near = 0.5 * (top - bottom)
    axes.set_ylim(
        min(bottom, low_stop - 0.2 * near) if low_stop > bottom - near else bottom,
        max(top, high_stop + 0.2 * near) if high_stop < top + near else top,
    )


def _between(axes: Axes, days: Floats, low: Floats, high: Floats, color: str, label: str, hatch: str) -> None:
    """A band; of a single instant a bar."""
    if len(days) == 1:
        axes.bar(days, high - low, bottom=low, width=0.2, facecolor=color, edgecolor=FAINT, hatch=hatch, label=label)
    else:
        axes.fill_between(days, low, high, facecolor=color, edgecolor=FAINT, hatch=hatch, linewidth=0.0, label=label)


def _stops(axes: Axes, rail: RailCourse, units: System) -> None:
    """Its end stops, where they are near enough to be seen."""
    low, high = axes.get_ylim()
    marks = []
    for at, name in ((rail.rail.ahead, "stop ahead"), (-rail.rail.behind, "stop behind"), (0.0, "centre")):
        place = float(shown(at, "m", units)[0])
        if low <= place <= high:
            axes.axhline(place, color=VERMILLION if at else FAINT, linewidth=0.9, linestyle=(0, (6, 2)), zorder=1)
            marks.append(Mark(place, name))
    mark_right(axes, marks, 0.12)


def _name_stops(axes: Axes, season: DivisionSeason, rail: RailCourse) -> None:
    marks = []
    for stop, name in ((1, "ahead"), (-1, "behind")):
        for first, last in sorted(spells(rail.at_stop == stop), key=lambda one: one[0] - one[1])[:_MOST_SPELLS]:
            middle = float((season.year.days[first] + season.year.days[last]) / 2)
            marks.append(Mark(middle, f"at the stop {name} {spell_words(season.year, first, last)}"))
    mark_above(axes, marks, 0.16)


def _pull(axes: Axes, season: DivisionSeason, rail: RailCourse, units: System) -> None:
    load = rail.rail.load - rail.rail.rate * rail.place
    rubs = rail.rail.friction
    if rubs > 0.0:
        low, high = (shown(load + end, "N", units)[0] for end in (-rubs, rubs))
        _between(axes, season.year.days, low, high, "#e4e4e4", "load and friction", "")
    course(axes, season.year, shown(load, "N", units)[0], Pen(FAINT, (0, (6, 2)), "D"), "load that draws it")
    course(axes, season.year, shown(rail.pull, "N", units)[0], Pen(BLACK), "pull of the rods", 0.7)
    title_axis(axes, "force", "N", units)


def _paths(axes: Axes, season: DivisionSeason, units: System) -> None:
    """How far the paths of all notes go, with the rail made fast and with it as it moves."""
    days = season.year.days
    for courses, color, label, hatch in (
        (_fixed(season), _FIXED, _NAMES[0], "...."),
        (season.over("tightening"), "#a9cbe6", _NAMES[1], ""),
    ):
        low, high = span(courses.T)
        mean = shown((low + high) / 2, "m", units)[0]
        course(axes, season.year, mean, Pen(FAINT if hatch else _LEFT.color), "_middle", 1.0)
        _between(axes, days, shown(low, "m", units)[0], shown(high, "m", units)[0], color, label, hatch)
    title_axis(axes, "path at the key, all notes", "m", units)
    axes.axhline(0.0, color=FAINT, linewidth=0.6, zorder=0)


def _fixed(season: DivisionSeason) -> Floats:
    empty = np.full(len(season.year), np.nan)
    return np.array([empty if one.failed else without_rail(season, one) for one in season.notes.values()])


def _note_by_note(axes: Axes, result: Result, season: DivisionSeason, units: System) -> None:
    notes = np.array(semitones(result))
    low, high = (shown(one, "m", units)[0] for one in span(_fixed(season)))
    wide = 6.0 if len(notes) < 30 else 4.2
    _strokes(axes, notes, (low, high), _FIXED, wide, _NAMES[0])
    low, high = (shown(result[f"tightening_{end}"], "m", units)[0] for end in ("low", "high"))
    _strokes(axes, notes, (low, high), _LEFT.color, 2.0, _NAMES[1])
    mark_verdicts(axes, result, result["tightening_low"], "no figure", every=True)
    axes.set_ylabel(axis_title("path at the key", shown(0.0, "m", units)[1]))
    axes.margins(y=0.14)
    axes.axhline(0.0, color=FAINT, linewidth=0.6, zorder=0)
    widen(axes, "m", units)
    axes.set_title("the same note by note, least to most of the year", loc="left", size=SMALL, color=INK, pad=5)


def _strokes(axes: Axes, notes: np.ndarray, ends: tuple[Floats, Floats], color: str, width: float, label: str) -> None:
    """A stroke for every note, with a dash at each end, which is all there is to see where nothing moves."""
    axes.vlines(notes, *ends, color=color, linewidth=width, label=label)
    for end in ends:
        axes.plot(notes, end, "_", color=color, markersize=width + 3.0, markeredgewidth=1.6, label="_end")
