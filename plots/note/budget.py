"""The budgets of one note: who contributes which share of its effective mass, and of the give before the pluck."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from keyaction.models.units.quantity import System, format_value
from keyaction.plots.style import reading
from keyaction.plots.style.labels import breadth
from keyaction.plots.style.page import Floats, Margins, explain, page, panels
from keyaction.plots.style.pens import FAINT, INK, SMALL
from keyaction.plots.style.picture import of_note
from keyaction.plots.style.shares import part_fills, share_fill
from keyaction.plots.style.trains import joined_trains
from keyaction.sim.files.labelled import Result

_AIR = 0.3
"""Inches free beside the bars."""


@dataclass(frozen=True)
class Budget:
    """A budget of the result: its variable, its axis, its unit and its words.

    Attributes
    ----------
    whole, of : str
        The quantity to which the shares add up, and what it is called.
    none : str
        What is said where a note has none.
    """

    name: str
    axis: str
    unit: str
    title: str
    whole: str
    of: str
    none: str


BUDGETS = (
    Budget(
        "mass_budget",
        "part",
        "kg",
        "Effective mass at the key",
        "effective_mass",
        "effective mass",
        "No effective mass.",
    ),
    Budget(
        "compliance_budget",
        "give",
        "m",
        "Key travel before the pluck",
        "pluck_point",
        "pluck point",
        reading.NEVER_PLUCKS,
    ),
)


@of_note("Budgets", *(budget.name for budget in BUDGETS))
def budgets(result: Result, row: int, heading: str, units: System) -> Figure:
    """Draw the budgets of effective mass and of compliance of a note.

    Returns
    -------
    matplotlib.figure.Figure
        Shares in train order, each with its value. Of a coupled key the masses stand by trains, each with its sum,
        and the couplers apart.
    """
    heads = len(joined_trains(result))
    width, longest = 11.5, max(len(result[budget.axis]) + heads * (budget.axis == "part") for budget in BUDGETS)
    figure = page(result, heading, width, 2.6 + 0.29 * longest)
    room = [0.2 + breadth(figure, [str(name) for name in result[budget.axis]]) for budget in BUDGETS]
    bars = (width - sum(room) - 2 * _AIR) / 2
    grid = panels(figure, 1, 2, Margins(left=room[0], right=_AIR, top=0.35), wspace=(room[1] + _AIR) / bars)
    for i, budget in enumerate(BUDGETS):
        _bars(figure.add_subplot(grid[i]), result, row, budget, units)
    return figure


def shares(values: Floats) -> Floats:
    """Shares of the whole, of those that are there."""
    whole = float(np.sum(values[np.isfinite(values)]))
    return values / whole if whole > 0 else np.full(len(values), math.nan)


def _bars(axes: Axes, result: Result, row: int, budget: Budget, units: System) -> None:
    values = np.asarray(result[budget.name][row], dtype=float)
    there = np.isfinite(values)
    names = [str(name) for name, found in zip(result[budget.axis], there, strict=True) if found]
    values = values[there]
    if not len(values):
        explain(axes, f"{budget.title}\n{budget.none}")
        return
    part = shares(values)
    fills = part_fills(result)
    groups = _groups(result, names) if budget.axis == "part" else [("", names, names)]
    places = np.array(_places(groups), dtype=float)
    for place, name, share in zip(places, names, part, strict=True):
        look = share_fill(result, name, fills)
        axes.barh(place, 100 * share, height=0.68, color=look.color, hatch=look.hatch, edgecolor=INK, linewidth=0.6)
    _figures(axes, places, values, part, budget.unit, units)
    _heads(axes, groups, places, values, budget.unit, units)
    axes.set_yticks(places, [name for _, _, called in groups for name in called])
    axes.set_ylim(places[-1] + 0.6, -0.6)
    axes.tick_params(axis="y", length=0)
    axes.spines["left"].set_visible(False)
    axes.axvline(0.0, color=INK, linewidth=0.8)
    axes.grid(False, axis="y")
    whole = format_value(reading.value(result, budget.whole, row), budget.unit, units)
    axes.set_xlabel(f"share of {budget.of}, {whole} (%)")
    axes.set_title(budget.title, loc="left", size=SMALL + 1.5, weight="bold", pad=8)


_Group = tuple[str, Sequence[str], Sequence[str]]
"""A train's label, its parts, and what they are called under it."""


def _groups(result: Result, names: Sequence[str]) -> list[_Group]:
    """The parts of a note by trains, couplers last; all in one without a label where there is one train."""
    trains = joined_trains(result)
    if not trains:
        return [("", names, names)]
    found = [(one, [name for name in names if name in one.parts]) for one in trains]
    return [(one.label, parts, [one.bare(name) for name in parts]) for one, parts in found if parts]


def _places(groups: Sequence[_Group]) -> list[int]:
    """Where the bars stand, one line free above each train that has a label."""
    places: list[int] = []
    at = 0
    for label, parts, _ in groups:
        at += bool(label)
        places += range(at, at + len(parts))
        at += len(parts)
    return places


def _heads(axes: Axes, groups: Sequence[_Group], places: Floats, values: Floats, unit: str, units: System) -> None:
    """The label and the sum of each train above its bars."""
    done, whole = 0, float(np.sum(values))
    gap = 0.012 * (axes.get_xlim()[1] - axes.get_xlim()[0])
    for label, parts, _ in groups:
        if label:
            together = float(np.sum(values[done : done + len(parts)]))
            share = f"  {100 * together / whole:.1f} %" if whole > 0 else ""
            told = f"{label}: {format_value(together, unit, units)}{share}"
            axes.text(gap, places[done] - 1, told, va="center", size=SMALL + 0.5, weight="bold")
        done += len(parts)


def _figures(axes: Axes, places: Floats, values: Floats, part: Floats, unit: str, units: System) -> None:
    """Value and share at the end of each bar."""
    high = 100 * float(np.nanmax(part, initial=0.0))
    low = 100 * min(float(np.nanmin(part, initial=0.0)), 0.0)
    axes.set_xlim(low * 1.15, max(high, 1.0) * 1.42)
    gap = 0.012 * (axes.get_xlim()[1] - axes.get_xlim()[0])
    for place, value, share in zip(places, values, part, strict=True):
        text = f"{format_value(float(value), unit, units)}  "
        at = max(100 * float(share), 0.0) + gap
        axes.text(at, place, f"{text}{100 * share:z.1f} %", va="center", size=SMALL, color=INK if share >= 0 else FAINT)
