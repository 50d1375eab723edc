"""A standard stroke from finger to groove: ways, pallet, forces and groove pressure over one time axis."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from keyaction.models.units.quantity import System
from keyaction.plots.note.courses import PalletCourse, own_pallet, several_pallets
from keyaction.plots.style import reading
from keyaction.plots.style.labels import Mark, breadth, mark_above, mark_right
from keyaction.plots.style.page import Floats, Margins, axis_title, page, panels, shown
from keyaction.plots.style.pens import BLACK, FAINT, Pen, pen
from keyaction.plots.style.picture import of_note
from keyaction.plots.style.shares import part_dash, part_fills
from keyaction.plots.style.trains import joined_trains
from keyaction.sim.figures.limits import EMPTY, FULL, HALF
from keyaction.sim.files.labelled import Result

_AFTER = 0.06
"""s shown after the last thing that happens."""
_STILL = 0.01
"""Share of the greatest pallet gap above which the pallet counts as open."""
_NEEDED = (
    "time",
    "finger_travel",
    "key_travel",
    "key_force",
    "pallet_lift",
    "seat_gap",
    "groove_pressure",
    "link_force",
)


_LINE, _ROOM = 0.17, 14
"""Inches that a line of the rods' key takes, and how many there is room for."""


class Line(NamedTuple):
    """A course to draw: its name in the legend, SI values, unit, and how it looks where that is not the panel's."""

    label: str
    values: Floats
    unit: str
    look: Pen | None = None


@of_note("A stroke from finger to groove", *_NEEDED)
def stroke(result: Result, row: int, heading: str, units: System) -> Figure:
    """Draw the motion of a note's standard stroke.

    Returns
    -------
    matplotlib.figure.Figure
        Four panels over one time axis: finger and key; pallet; forces of key and rods; groove pressure. The key
        passing 1 mm, the groove's 50 % and 90 %, the finger's lift and the groove's fall below 10 % are named.
        Where a key opens several pallets, every one is drawn with its groove, as a share of its own box; the events
        are those of the first.
    """
    several, rods = several_pallets(result, row), _rods(result, row)
    tall = max(0.0, _LINE * (len(rods) - _ROOM))
    figure = page(result, heading, 10.5, 9.6 + tall)
    names = [line.label for line in rods] + [one.label for one in several]
    right = 0.85 + max(breadth(figure, names), 1.0)
    grid = panels(
        figure,
        4,
        1,
        Margins(left=0.85, right=right, top=0.6),
        hspace=0.14,
        height_ratios=(1, 0.9, 1.25 + tall / 2, 0.9),
    )
    rows = [figure.add_subplot(grid[0])]
    rows += [figure.add_subplot(grid[i], sharex=rows[0]) for i in range(1, 4)]
    seconds = np.asarray(result["time"], dtype=float)
    time, time_unit = shown(seconds, "s", units)
    fills = part_fills(result)
    key, pallet = (fills[name].color for name in (reading.parts(result)[0], own_pallet(result)))
    ways = [("finger_travel", "finger", None), ("key_travel", "key front", Pen(key, pen(1).dash))]
    lifts = [
        _course(result, row, "pallet_lift", "lift from rest", Pen(pallet)),
        _course(result, row, "seat_gap", "gap at its eye", Pen(pallet, pen(1).dash)),
    ]
    lifts = [Line(one.label, one.lift, "m", pen(i)) for i, one in enumerate(several)] or lifts
    _lines(rows[0], time, [_course(result, row, *one) for one in ways], "travel", units)
    _lines(rows[1], time, lifts, "gap under each pallet,\nbelow 0 seated" if several else "pallet", units)
    _lines(rows[2], time, [_course(result, row, "key_force", "finger on key"), *rods], "force", units)
    if several:
        _grooves(rows[3], several, time)
    else:
        _groove(rows[3], result, row, time, units)
    rows[3].set_xlabel(axis_title("time from the press", time_unit))
    rows[0].set_xlim(0.0, float(shown(_end(result, row, seconds), "s", units)[0]))
    figure.align_ylabels(rows)
    for axes in rows[:3]:
        axes.tick_params(labelbottom=False)
    _events(rows, result, row, units)
    if not several:
        _shares(rows[3], result, row, units)
    return figure


def _lines(axes: Axes, time: Floats, lines: Sequence[Line], words: str, units: System) -> None:
    unit = ""
    for i, line in enumerate(lines):
        course, unit = shown(line.values, line.unit, units)
        width, look = 1.9 if i == 0 else 1.2, line.look or pen(i)
        axes.plot(time, course, color=look.color, linestyle=look.dash, linewidth=width, label=line.label)
    axes.set_ylabel(axis_title(words, unit))
    axes.legend(loc="upper left", bbox_to_anchor=(1.01, 1.02), borderaxespad=0.0)
    axes.axhline(0.0, color=FAINT, linewidth=0.6, zorder=0)


def _rods(result: Result, row: int) -> list[Line]:
    """The rods from key to pallet; of a rod in pieces both ends. Of a coupled key its own rods, and the couplers."""
    known, fills = reading.parts(result), part_fills(result)
    trains = joined_trains(result)
    if trains:
        known = [*trains[0].parts, *trains[-1].parts]
    found: list[tuple[int, Line]] = []
    columns = [result[name] for name in ("link_part", "link_place", "link_kind")]
    for i, (part, place, kind) in enumerate(zip(*columns, strict=True)):
        if part not in known or (kind, place) not in (("rod", place), ("coupler", "give")):
            continue
        if not np.any(np.isfinite(result["link_force"][row, i])):
            continue
        end = {"in": ", key's end", "out": ", pallet's end"}.get(place, "")
        look = Pen(fills[part].color, (0, (1, 1)) if place == "out" else part_dash(fills, part))
        line = Line(part + end, result["link_force"][row, i], "N", look)
        found.append((2 * known.index(part) + (place == "out"), line))
    return [line for _, line in sorted(found, key=lambda one: one[0])]


def _course(result: Result, row: int, name: str, label: str, look: Pen | None = None) -> Line:
    return Line(label, result[name][row], result.held(name).unit, look)


def _groove(axes: Axes, result: Result, row: int, time: Floats, units: System) -> None:
    pressure, unit = shown(result["groove_pressure"][row], "Pa", units)
    axes.plot(time, pressure, color=BLACK, linewidth=1.9, label="groove")
    axes.set_ylabel(axis_title("groove", unit))
    axes.axhline(0.0, color=FAINT, linewidth=0.6, zorder=0)


def _grooves(axes: Axes, several: Sequence[PalletCourse], time: Floats) -> None:
    """Every groove as a share of its own box, with the shares that count."""
    for i, one in enumerate(several):
        look = pen(i)
        axes.plot(time, 100 * one.share, color=look.color, linestyle=look.dash, linewidth=1.4, label=one.label)
    axes.set_ylabel("groove, of its box (%)")
    axes.set_yticks([100 * share for share in (0.0, EMPTY, HALF, FULL, 1.0)])
    axes.legend(loc="upper left", bbox_to_anchor=(1.01, 1.02), borderaxespad=0.0)


def _shares(axes: Axes, result: Result, row: int, units: System) -> None:
    """The shares of the box pressure that count."""
    box = reading.parameter(result, "box", "p_box", row)
    if not math.isfinite(box):
        return
    shares = (EMPTY, HALF, FULL, 1.0)
    levels = [float(shown(share * box, "Pa", units)[0]) for share in shares]
    low, high = axes.get_ylim()
    axes.set_ylim(min(low, -0.05 * levels[-1]), max(high, 1.08 * levels[-1]))
    for level in levels:
        axes.axhline(level, color=FAINT, linewidth=0.7, linestyle=(0, (1, 2)), zorder=1)
    words = [f"{share:.0%} of the box" if share < 1 else "box pressure" for share in shares]
    mark_right(axes, [Mark(level, text.replace("%", " %")) for level, text in zip(levels, words, strict=True)], 0.12)


def _end(result: Result, row: int, seconds: Floats) -> float:
    """Until a while after finger, pallets and grooves have come to rest."""
    finger, gap, groove = (reading.curve(result, n, row) for n in ("finger_travel", "seat_gap", "groove_pressure"))
    pairs = [(gap, groove), *((one.lift, one.share) for one in several_pallets(result, row)[1:])]
    busy = finger > _STILL * np.max(finger)
    for lift, held in pairs:
        filled = held > EMPTY * np.max(held, initial=0.0)
        busy |= (lift > _STILL * np.max(lift, initial=0.0)) | filled
    last = np.flatnonzero(busy & np.isfinite(finger))
    return float(min(seconds[last[-1]] + _AFTER, seconds[-1])) if len(last) else float(seconds[-1])


def _events(rows: Sequence[Axes], result: Result, row: int, units: System) -> None:
    when = reading.events(result, row)
    named = [
        (when.start, "key at 1 mm"),
        (when.half, "groove 50 %"),
        (when.full, "groove 90 %"),
        (when.lift, "finger lifts"),
        (when.silent, "groove below 10 %"),
    ]
    marks = []
    for instant, words in named:
        if not math.isfinite(instant):
            continue
        at, unit = shown(instant, "s", units)
        digits = 1 if unit == "ms" else 4
        marks.append(Mark(float(at), f"{words}\n{float(at):.{digits}f} {unit}"))
        for axes in rows:
            axes.axvline(float(at), color=FAINT, linewidth=0.8, linestyle=(0, (4, 2)), zorder=1)
    if not math.isfinite(when.half):
        rows[3].text(
            0.5,
            0.5,
            "The groove does not reach 50 % of the box pressure.",
            transform=rows[3].transAxes,
            ha="center",
            va="center",
            backgroundcolor="white",
            color=FAINT,
            gid="why",
        )
    mark_above(rows[0], marks, 0.26)
