"""A calibrated note: the model on what was measured with the residuals below, and how well its unknowns are known."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from pathlib import Path

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from keyaction.models.notes import file_name, note_name
from keyaction.models.readings.courses import CHANNELS
from keyaction.models.readings.figures import BY_NAME
from keyaction.models.units.quantity import System, format_value
from keyaction.plots.style.files import Draw, Progress, write_pictures
from keyaction.plots.style.labels import breadth
from keyaction.plots.style.page import FOOT, HEAD, Margins, axis_title, in_style, page, panels, shown, tell_verdict
from keyaction.plots.style.pens import BLUE, FAINT, HAIR, INK, SMALL, VERMILLION, WASH
from keyaction.sim.calibration.found import Calibrated
from keyaction.sim.calibration.measured import CurveBlock, SheetBlock, TraceBlock
from keyaction.sim.calibration.sheets import Course, courses
from keyaction.sim.calibration.telling import interval_words, value_words
from keyaction.sim.calibration.unknowns import Unknown
from keyaction.sim.files.labelled import Result
from keyaction.sim.motion.integrate import Tolerances
from keyaction.sim.run.about import about

_WIDE, _TALL, _BELOW, _APART = 9.6, 3.0, 1.25, 0.75
"""Inches: the page, a course, its residuals, and the room for an axis and a key."""
_BOTH = 11.0
"""Inches: the page of intervals and correlations."""
_ROW, _LEAST = 0.3, 1.1
"""Inches: a figure of a sheet, and the least that a panel takes."""
_UP = (0, (4, 1.5))
_POOR = "The fit is poor: the model does not have what was measured."
_BAND = 2.0
"""Errors within which 95 of 100 residuals lie by chance."""
_FURTHEST = 0.25
"""Usual deviations that the axis of intervals reaches at least."""
_ONE = "one usual deviation"
_DARK = 0.55
"""Correlation from which on its cell is too dark for dark letters."""


def _result(found: Calibrated) -> Result:
    return Result({}, about(found.asked.case, Tolerances()))


@in_style
def fit_picture(found: Calibrated, units: System = "trade") -> Figure:
    """Draw the model on what was measured at a note.

    Parameters
    ----------
    found : Calibrated
    units : {"trade", "si"}

    Returns
    -------
    matplotlib.figure.Figure
        A panel for the feel curves of each wind, for each trace and for the figures of sheets; points are what was
        measured, lines the model. Below a course its residuals over their errors, between two of which 95 of 100 lie by
        chance.
    """
    groups = _groups(list(courses(found)))
    heights = [h for group in groups for h in _heights(group)][:-1]
    tall = HEAD + FOOT + 0.6 + sum(heights)
    figure = page(_result(found), f"Model on measurement, {_name(found)}", _WIDE, tall)
    rows = [i for i, group in enumerate(groups) for _ in _heights(group)][:-1]
    grid = panels(figure, len(heights), 1, Margins(0.8, 0.3, 0.1, 0.5), height_ratios=heights, hspace=0.0)
    for i, group in enumerate(groups):
        first = rows.index(i)
        if isinstance(group[0].block, SheetBlock):
            _draw_figures(figure.add_subplot(grid[first]), group[0], units)
            continue
        top, below = figure.add_subplot(grid[first]), figure.add_subplot(grid[first + 2])
        _draw_course(top, group, units)
        _draw_residuals(below, group, units)
        below.set_xlim(top.get_xlim())
    tell_verdict(figure, _POOR if found.poor else "")
    return figure


def _name(found: Calibrated) -> str:
    return note_name(found.note, found.asked.case.naming)


def _groups(all_of: Sequence[Course]) -> list[list[Course]]:
    """Courses that share a panel: both ways of a feel curve."""
    found: dict[tuple[str, ...], list[Course]] = {}
    for i, course in enumerate(all_of):
        block = course.block
        name = ("curve", *block.condition.same) if isinstance(block, CurveBlock) else (str(i),)
        found.setdefault(name, []).append(course)
    return list(found.values())


def _heights(group: Sequence[Course]) -> list[float]:
    if isinstance(group[0].block, SheetBlock):
        return [max(_ROW * group[0].block.count, _LEAST), _APART]
    return [_TALL, 0.3, _BELOW, _APART]


def _draw_course(axes: Axes, group: Sequence[Course], units: System) -> None:
    for course in group:
        block = course.block
        across, unit = ("m", "N") if isinstance(block, CurveBlock) else ("s", _channel(block)[1])
        up = isinstance(block, CurveBlock) and not block.down
        way = ("up" if up else "down") if isinstance(block, CurveBlock) else _channel(block)[0]
        at, _ = shown(course.at, across, units)
        measured, label = shown(course.measured, unit, units)
        axes.plot(
            at, measured, "o" if not up else "s", markersize=2.8, markerfacecolor="white", markeredgewidth=0.7,
            color=FAINT if not up else BLUE, label=f"measured, {way}",
        )  # fmt: skip
        if len(course.line):
            ends = float(np.min(course.at)), float(np.max(course.at))
            inside = (course.line[:, 0] >= ends[0]) & (course.line[:, 0] <= ends[1])
            line = course.line[inside]
            axes.plot(
                shown(line[:, 0], across, units)[0], shown(line[:, 1], unit, units)[0], color=INK if not up else BLUE,
                linewidth=1.3, linestyle=_UP if up else "-", label=f"model, {way}",
            )  # fmt: skip
        axes.set_ylabel(axis_title("key force" if unit == "N" else way, label))
        axes.set_xlabel("")
        axes.tick_params(labelbottom=False)
    block = group[0].block
    wind = "" if isinstance(block, SheetBlock) or _wind(block) else "wind off"
    axes.set_title(wind, loc="left", size=SMALL, color=FAINT)
    axes.margins(x=0.02)
    axes.legend(loc="best", ncols=2)


def _wind(block: CurveBlock | TraceBlock) -> bool:
    return block.condition.wind if isinstance(block, CurveBlock) else block.trace.wind


def _channel(block: object) -> tuple[str, str, float]:
    assert isinstance(block, TraceBlock)
    return CHANNELS[block.channel]


def _draw_residuals(axes: Axes, group: Sequence[Course], units: System) -> None:
    axes.axhspan(-_BAND, _BAND, color=WASH, linewidth=0, zorder=0)
    axes.axhline(0.0, color=HAIR, linewidth=0.8)
    far = _BAND + 1
    for course in group:
        up = isinstance(course.block, CurveBlock) and not course.block.down
        unit = "m" if isinstance(course.block, CurveBlock) else "s"
        at, label = shown(course.at, unit, units)
        axes.plot(
            at, course.missed, "s" if up else "o", markersize=2.8, markerfacecolor="white", markeredgewidth=0.7,
            color=BLUE if up else FAINT,
        )  # fmt: skip
        far = max(far, float(np.max(np.abs(course.missed), initial=0.0)) * 1.1)
        axes.set_xlabel(axis_title("key travel" if unit == "m" else "time", label))
    axes.set_ylim(-far, far)
    axes.set_ylabel("residual\nover its error")


def _draw_figures(axes: Axes, course: Course, units: System) -> None:
    block = course.block
    assert isinstance(block, SheetBlock)
    names = []
    for name, read, model in zip(block.figures, course.measured, course.model, strict=True):
        about = BY_NAME[name]
        both = [format_value(float(one), about.unit, units) for one in (read, model)]
        names.append(f"{about.heading}: {both[0]}, model {both[1]}")
    places = np.arange(block.count)[::-1]
    figure = axes.figure
    assert isinstance(figure, Figure)
    box, room = axes.get_position(), breadth(figure, names) + 0.4
    axes.set_position((room / _WIDE, box.y0, box.x1 - room / _WIDE, box.height))
    far = max(_BAND + 1, float(np.max(np.abs(course.missed))) * 1.1)
    axes.axvspan(-_BAND, _BAND, color=WASH, linewidth=0, zorder=0)
    axes.axvline(0.0, color=HAIR, linewidth=0.8)
    axes.plot(course.missed, places, "o", color=INK, markersize=4)
    axes.set_yticks(places, names)
    axes.set_ylim(-0.6, block.count - 0.4)
    axes.set_xlim(-far, far)
    axes.set_xlabel("residual over its error")


@in_style
def unknowns_picture(found: Calibrated, units: System = "trade") -> Figure:
    """Draw how well the unknowns of a note are known.

    Parameters
    ----------
    found : Calibrated
    units : {"trade", "si"}

    Returns
    -------
    matplotlib.figure.Figure
        At the left every unknown with its 95 % interval, counted from the case's figure in usual deviations, of which
        each row says how much one is; dashed over the whole panel where it is not told. At the right the correlations.
    """
    size = len(found.values)
    high = max(0.42 * size, 1.6)
    figure = page(_result(found), f"What was found, {_name(found)}", _BOTH, HEAD + FOOT + 1.15 + high)
    names = [
        f"{one.of.name}: {value_words(one, one.figure, units)}\n{interval_words(one, units)}" for one in found.values
    ]
    usual = [_usual(one.of, units) for one in found.values]
    left = breadth(figure, [part for name in names for part in name.split("\n")], SMALL) + 0.35
    between = breadth(figure, [*usual, _ONE], SMALL) + breadth(figure, [one.of.name for one in found.values]) + 0.45
    room = (_BOTH - left - 0.3 - between) / 2
    grid = panels(figure, 1, 2, Margins(left, 0.3, 0.35, 0.75), wspace=between / room)
    _draw_intervals(figure.add_subplot(grid[0]), found, names, usual)
    _draw_correlations(figure.add_subplot(grid[1]), found)
    tell_verdict(figure, _POOR if found.poor else "")
    return figure


def _usual(one: Unknown, units: System) -> str:
    """What a case may be off by before anything is measured, as people read it."""
    if one.kind.log:
        return f"factor {math.exp(one.kind.span):.2g}"
    return f"{one.kind.span:g} times" if one.kind.unit == "1" else format_value(one.kind.span, one.kind.unit, units)


def _minus(text: str) -> str:
    """A text with minus signs before its numbers, as axes have them."""
    return re.sub(r"(?<!\w)-(?=\d)", "\N{MINUS SIGN}", text)


def _draw_intervals(axes: Axes, found: Calibrated, names: Sequence[str], usual: Sequence[str]) -> None:
    places = np.arange(len(names))[::-1]
    far = _FURTHEST
    axes.axvline(0.0, color=INK, linewidth=0.8)
    for place, one in zip(places, found.values, strict=True):
        at, span = (one.figure - one.of.start) / one.of.kind.span, one.of.kind.span
        if one.interval is None:
            axes.axhline(place, color=VERMILLION, linewidth=1.0, linestyle=_UP)
            continue
        ends = [(x - one.of.start) / span for x in (one.interval.low, one.interval.high)]
        axes.plot(ends, [place, place], color=INK, linewidth=2.2)
        axes.plot([at], [place], "o", color=INK, markersize=5, markerfacecolor="white")
        far = max(far, *(1.1 * abs(end) for end in ends))
    beside = axes.get_yaxis_transform()
    for place, words in zip([len(names) - 0.3, *places], [_ONE, *usual], strict=True):
        axes.text(1.03, place, words, transform=beside, va="center", size=SMALL, color=FAINT)
    axes.set_yticks(places, [_minus(name) for name in names])
    axes.set_ylim(-0.6, len(names) - 0.4)
    axes.set_xlim(-far, far)
    axes.set_xlabel("\N{LEFTWARDS ARROW} less than the case has    more \N{RIGHTWARDS ARROW}\n(usual deviations)")
    axes.set_title("Values and 95 % intervals", loc="left", size=SMALL + 1, weight="bold", pad=14)


def _draw_correlations(axes: Axes, found: Calibrated) -> None:
    size = len(found.values)
    table = np.array(found.spread.correlations[:size, :size])
    np.fill_diagonal(table, 0.0)
    axes.imshow(np.nan_to_num(np.abs(table)), cmap="Greys", vmin=0.0, vmax=1.2, aspect="auto")
    names = [one.of.name for one in found.values]
    axes.set_xticks(range(size), names, rotation=40, ha="right", rotation_mode="anchor")
    axes.set_yticks(range(size), names)
    axes.grid(visible=False)
    for i, k in np.argwhere(np.isfinite(table)).tolist():
        words = _minus(f"{table[i, k]:z.2f}") if i != k else "1"
        color = FAINT if i == k else "white" if abs(table[i, k]) > _DARK else INK
        axes.text(k, i, words, ha="center", va="center", size=SMALL - 1.5, color=color)
    axes.set_title(
        "Correlations: 1 or \N{MINUS SIGN}1, not told apart", loc="left", size=SMALL + 1, weight="bold", pad=14
    )


def save_fits(found: Sequence[Calibrated], folder: Path, units: System, progress: Progress | None = None) -> list[Path]:
    """Write both pictures of every note, ``fit-NOTE.png`` and ``unknowns-NOTE.png``."""
    drawings: list[tuple[str, Draw]] = []
    for one in found:
        name = file_name(one.note)
        drawings.append((f"fit-{name}.png", lambda one=one: fit_picture(one, units)))  # type: ignore[misc]
        drawings.append((f"unknowns-{name}.png", lambda one=one: unknowns_picture(one, units)))  # type: ignore[misc]
    return write_pictures(folder, drawings, progress)
