"""A rail under struck notes: how far it goes, what they do, and how the pallets of quiet notes keep their seats."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from keyaction.models.frame.rail import Rail
from keyaction.models.units.quantity import System
from keyaction.plots.style.labels import Mark, breadth, mark_right
from keyaction.plots.style.page import Floats, Margins, axis_title, in_style, page, panels, shown
from keyaction.plots.style.pens import BLACK, FAINT, INK, SMALL, VERMILLION, pen
from keyaction.sim.files.labelled import Result

if TYPE_CHECKING:
    from keyaction.sim.floating.struck import Struck

_MOST = 8
"""Quiet notes whose pallets are drawn one by one: those that press least."""


@dataclass(frozen=True)
class StruckCourses:
    """What is drawn of struck notes on a rail.

    Attributes
    ----------
    rail : Rail
    t : (N,) array
        s.
    place : (N,) array
        Of the rail, from its centre, m.
    lifts : mapping of str to (N,) array
        Of every struck pallet, m.
    seats : mapping of str to (N,) array
        Force of every quiet pallet on its seat, N.
    sounding : tuple of str
        Quiet notes that sound.
    """

    rail: Rail
    t: Floats
    place: Floats
    lifts: Mapping[str, Floats]
    seats: Mapping[str, Floats]
    sounding: tuple[str, ...]


def courses_of(struck: Struck) -> StruckCourses:
    """What is to be drawn of a motion."""
    lifts, seats = dict[str, Floats](), dict[str, Floats]()
    for name, motion in struck.motion.notes.items():
        if name in struck.struck:
            lifts[name] = np.asarray(motion[motion.kernel.speech[2]])
            continue
        forces = [one for one in motion.kernel.elements if one.place == "seat"]
        seats[name] = np.min([motion[one.force] for one in forces], axis=0)
    return StruckCourses(struck.rail, struck.motion.t, struck.motion.place, lifts, seats, struck.sounding)


@in_style
def rail_struck(found: StruckCourses, about: Mapping[str, str], units: System = "trade") -> Figure:
    """Draw a rail under struck notes.

    Parameters
    ----------
    found : StruckCourses
    about : mapping of str to str
        ``title`` and ``case_name`` for head and foot of the page.
    units : {"trade", "si"}

    Returns
    -------
    matplotlib.figure.Figure
        Place of the rail, gaps of the struck pallets, and the force with which those of quiet notes press on their
        seats: each of the eight that press least, the range of all others.
    """
    names = list(found.lifts)
    told = " ".join(names) if len(names) <= 12 else f"of {len(names)} notes, {names[0]} to {names[-1]}"
    figure = page(Result({}, dict(about)), f"The rail under the chord {told}", 10.5, 7.6)
    least = _least(found)
    more = ["all other struck notes", *(f"{name}, sounds" for name in least)]
    right = 0.8 + breadth(figure, [*names[:_MOST], *more])
    ratios = (1.2, 0.9, 1.2)[: 3 if found.seats else 2]
    grid = panels(figure, len(ratios), 1, Margins(0.95, right, 0.15), hspace=0.16, height_ratios=ratios)
    rows = [figure.add_subplot(grid[0])]
    rows += [figure.add_subplot(grid[i], sharex=rows[0]) for i in range(1, len(ratios))]
    _rail(rows[0], found, units)
    _courses(rows[1], found, found.lifts, names[:_MOST], "m", units, "all other struck notes")
    rows[1].set_ylabel(axis_title("gap under struck pallets,\nbelow 0 seated", shown(0.0, "m", units)[1]))
    if found.seats:
        _courses(rows[2], found, found.seats, least, "N", units, "all other quiet notes")
        rows[2].set_ylabel(axis_title("quiet pallets on their seats", shown(0.0, "N", units)[1]))
    time, unit = shown(found.t, "s", units)
    rows[0].set_xlim(0.0, float(time[-1]))
    rows[-1].set_xlabel(axis_title("time from the press", unit))
    for axes in rows[:-1]:
        axes.tick_params(labelbottom=False)
    for axes in rows[1:]:
        if axes.get_legend_handles_labels()[0]:
            axes.legend(loc="upper left", bbox_to_anchor=(1.01, 1.02), borderaxespad=0.0)
    figure.align_ylabels(rows)
    rows[0].set_title(_told(found), loc="left", size=SMALL, color=INK, pad=5)
    _marks(rows[0], found.rail, units)
    return figure


def _least(found: StruckCourses) -> list[str]:
    """Quiet notes that are drawn one by one, in the order of the notes."""
    chosen = sorted(found.seats, key=lambda name: float(np.min(found.seats[name])))[:_MOST]
    return [name for name in found.seats if name in chosen]


def _told(found: StruckCourses) -> str:
    if not found.seats:
        return "no quiet note is on the rail"
    if not found.sounding:
        return f"none of {len(found.seats)} quiet notes sounds"
    few = ", ".join(found.sounding[:6]) + (f" and {len(found.sounding) - 6} others" if len(found.sounding) > 6 else "")
    return f"{len(found.sounding)} of {len(found.seats)} quiet notes sound: {few}"


def _rail(axes: Axes, found: StruckCourses, units: System) -> None:
    time, place = shown(found.t, "s", units)[0], shown(found.place, "m", units)[0]
    axes.plot(time, place, color=BLACK, linewidth=1.4)
    axes.set_ylabel(axis_title("rail from its centre", shown(0.0, "m", units)[1]))
    least = float(shown(0.05e-3, "m", units)[0])
    low, high = float(np.min(place)), float(np.max(place))
    spare = max(0.15 * (high - low), (least - (high - low)) / 2)
    axes.set_ylim(low - spare, high + spare)


def _marks(axes: Axes, rail: Rail, units: System) -> None:
    low, high = axes.get_ylim()
    marks = []
    for at, name in ((rail.ahead, "stop ahead"), (-rail.behind, "stop behind"), (0.0, "centre")):
        place = float(shown(at, "m", units)[0])
        if low <= place <= high:
            axes.axhline(place, color=VERMILLION if at else FAINT, linewidth=0.9, linestyle=(0, (6, 2)), zorder=1)
            marks.append(Mark(place, name))
    mark_right(axes, marks, 0.12)


def _courses(
    axes: Axes, found: StruckCourses, courses: Mapping[str, Floats], chosen: Sequence[str], si: str, units: System,
    others: str,
) -> None:  # fmt: skip
    """Some courses one by one, and the range of all others."""
    time = shown(found.t, "s", units)[0]
    rest = [values for name, values in courses.items() if name not in chosen]
    if rest:
        low, high = (shown(end(rest, axis=0), si, units)[0] for end in (np.min, np.max))
        axes.fill_between(time, low, high, facecolor="#d9d9d9", linewidth=0.0, label=others)
    for i, name in enumerate(chosen):
        look, loud = pen(i), name in found.sounding
        axes.plot(
            time, shown(courses[name], si, units)[0], color=look.color, linestyle=look.dash,
            linewidth=1.8 if loud else 1.1, label=f"{name}, sounds" if loud else name,
        )  # fmt: skip
    axes.axhline(0.0, color=FAINT, linewidth=0.6, zorder=0)
