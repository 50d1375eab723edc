"""Pressures of boxes and grooves, and what the trunks carry, over the time of a chord."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import NamedTuple

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from keyaction.models.units.quantity import System
from keyaction.plots.style.labels import Mark, breadth, mark_right
from keyaction.plots.style.page import Floats, Margins, axis_title, in_style, page, panels, shown
from keyaction.plots.style.pens import FAINT, pen
from keyaction.sim.chord.chord import Chord
from keyaction.sim.chord.places import seen
from keyaction.sim.chord.together import Together
from keyaction.sim.figures.limits import EMPTY, FULL
from keyaction.sim.files.labelled import Result


class _Line(NamedTuple):
    label: str
    time: Floats
    values: Floats


@in_style
def pressures(chord: Chord, about: Mapping[str, str], units: System = "trade") -> Figure:
    """Draw a chord: its boxes, its grooves, and the flow from the reservoirs.

    Parameters
    ----------
    chord : Chord
        Where it was repeated too, that is drawn.
    about : mapping of str to str
        ``title`` and ``case_name`` for head and foot of the page.
    units : {"trade", "si"}

    Returns
    -------
    matplotlib.figure.Figure
        Three panels over one time axis; shares of the box with no key down are named.
    """
    played = chord.repeated.played if chord.repeated else chord.played
    how = f", repeated at {chord.repeated.rate:g} Hz" if chord.repeated else ""
    figure = page(Result({}, dict(about)), f"Wind under the chord {_names(played)}{how}", 10.5, 8.4)
    boxes = [_Line(name, played.t, course.pressure) for name, course in played.boxes.items()]
    grooves, flows = _grooves(chord, played), [_Line(name, played.t, c.flow) for name, c in played.boxes.items()]
    right = 1.75 + max(breadth(figure, [line.label for line in (*boxes, *grooves)]), 0.6)
    grid = panels(figure, 3, 1, Margins(left=0.85, right=right), hspace=0.13, height_ratios=(1.0, 1.5, 0.8))
    rows = [figure.add_subplot(grid[0])]
    rows += [figure.add_subplot(grid[i], sharex=rows[0]) for i in (1, 2)]
    for axes, lines, words, unit in zip(
        rows, (boxes, grooves, flows), ("box", "groove", "flow from reservoir"), ("Pa", "Pa", "m^3/s"), strict=True
    ):
        _draw(axes, lines, words, unit, units)
    full = max(course.supply.pressure for course in played.boxes.values())
    top = [0.0, 1.1 * max(full, *(float(np.max(line.values)) for line in boxes))]
    rows[0].set_ylim(*(float(one) for one in shown(np.array(top), "Pa", units)[0]))
    last = float(shown(played.t[-1], "s", units)[0])
    rows[0].set_xlim(0.0, last)
    rows[2].set_xlabel(axis_title("time from the press", shown(0.0, "s", units)[1]))
    for axes in rows[:2]:
        axes.tick_params(labelbottom=False)
    figure.align_ylabels(rows)
    if len(boxes) == 1 and full > 0.0:
        _levels(rows[0], full, ((FULL, "90 %"), (1.0, "no key down")), units)
        _levels(rows[1], full, ((EMPTY, "10 %"), (FULL, "90 %"), (1.0, "full box")), units)
    return figure


def _names(played: Together) -> str:
    names = list(played.notes)
    return " ".join(names) if len(names) <= 12 else f"of {len(names)} notes, {names[0]} to {names[-1]}"


def _grooves(chord: Chord, played: Together) -> list[_Line]:
    found = []
    for one in chord.notes:
        motion = played.notes[one.note]
        found.append(_Line(one.name, motion.t, motion[seen(motion.kernel, one.groove, "groove_pressure")]))
    return found


def _draw(axes: Axes, lines: Sequence[_Line], words: str, si: str, units: System) -> None:
    unit = ""
    for i, line in enumerate(lines):
        (time, _), (course, unit), look = shown(line.time, "s", units), shown(line.values, si, units), pen(i)
        axes.plot(time, course, color=look.color, linestyle=look.dash, linewidth=1.3, label=line.label)
    axes.set_ylabel(axis_title(words, unit))
    axes.axhline(0.0, color=FAINT, linewidth=0.6, zorder=0)
    columns = math.ceil(len(lines) / 20)
    axes.legend(loc="upper left", bbox_to_anchor=(1.14, 1.02), borderaxespad=0.0, ncols=columns)


def _levels(axes: Axes, full: float, named: Sequence[tuple[float, str]], units: System) -> None:
    """Shares of the box with no key down."""
    marks = []
    for share, words in named:
        level = float(shown(share * full, "Pa", units)[0])
        axes.axhline(level, color=FAINT, linewidth=0.7, linestyle=(0, (1, 2)), zorder=1)
        marks.append(Mark(level, words))
    mark_right(axes, marks, 0.12)
