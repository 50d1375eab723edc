"""Tornado: how far each input alone takes a quantity from its base, the farthest on top."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Patch

from keyaction.models.units.quantity import System
from keyaction.plots.study.common import (
    Shown,
    capital,
    choose,
    key,
    left_away,
    left_out,
    letter,
    ranked,
    room,
    sheet,
    title,
)
from keyaction.plots.style.page import Margins, axis_title, explain, in_style, nothing_to_draw
from keyaction.plots.style.pens import BLUE, FAINT, INK, ORANGE, VERMILLION
from keyaction.sim.analysis.effects import Effect, Effects
from keyaction.sim.analysis.view import StudyView
from keyaction.sim.files.labelled import Result

_PLAIN = "#b9b9b9"
_LETTERS = 30
_GAP = 4.0
"""Points from a bar's end to the lettering there."""


@in_style
def tornado(result: Result, note: str, quantities: Sequence[str] | None = None, units: System = "trade") -> Figure:
    """Draw what each input alone does to each quantity.

    Parameters
    ----------
    result : Result
        Of a study: one at a time as it was computed; of any other plan by a plane fitted through all its designs.
    note : str
    quantities : sequence of str, optional
        By default those of the study, at most six.
    units : {"trade", "si"}

    Returns
    -------
    matplotlib.figure.Figure
        Bars from the lowest to the highest value about the base, with the input's values at both ends.

    Raises
    ------
    KeyError, NotInStudy
        If the study does not hold the note or a quantity.
    """
    shown, heading = choose(result, note, quantities), "What each input does alone"
    if shown.why:
        return nothing_to_draw(result, shown.heading(heading), shown.why)
    shown.view.look(shown.quantities, shown.note, effects=True)
    names = [one.name for one in shown.view.inputs]
    left = 0.3 + room(names)
    rows = len(ranked(np.zeros(len(names))))
    figure, axes = sheet(shown, heading, 2, 4.6, 0.3 + 0.36 * rows, Margins(left, 0.75, 0.8), (left + 0.55, 1.1))
    for panel, name in zip(axes, shown.quantities, strict=True):
        _panel(panel, shown, name, units)
    key(figure, _key(any(one.text for one in shown.view.inputs)), left_away(shown, left_out(rows, len(names))))
    return figure


def _key(choices: bool) -> list[Patch]:
    found = [
        Patch(facecolor=BLUE, edgecolor=INK, label="input at its lower value"),
        Patch(facecolor=ORANGE, edgecolor=INK, hatch="////", label="input at its higher value"),
    ]
    return [*found, Patch(facecolor=_PLAIN, edgecolor=INK, hatch="xxx", label="another choice")] if choices else found


def _panel(axes: Axes, shown: Shown, quantity: str, units: System) -> None:
    view = shown.view
    found, label = view.effects(quantity, shown.note), capital(view.label(quantity))
    swings = np.array([effect.swing for effect in found.effects])
    if not np.isfinite(found.base) or not np.any(swings > 1e-9 * abs(found.base)):
        explain(axes, f"{label}\n{_why(found)}")
        return
    order = ranked(swings)
    base, word = view.shown(quantity, found.base, units)
    bars = [_bar(view, i, found.effects[i], quantity, units) for i in order]
    for place, bar in enumerate(bars):
        _draw(axes, place, bar, float(base))
    _frame(axes, [view.inputs[i].name for i in order], bars, float(base))
    small = f"from the base design, {view.written(quantity, found.base, units)}"
    if found.fitted:
        mean = view.written_plain(quantity, found.base, units)
        small = f"from the mean, {mean}; straight lines explain {found.explained:.0%}"
    title(axes, label, small.replace("%", " %"))
    axes.set_xlabel(axis_title(view.label(quantity), word))


def _why(found: Effects) -> str:
    if np.isfinite(found.base):
        return "No input changes it."
    return (
        f"{found.used} design{'s are' if found.used != 1 else ' is'} too few for straight lines through all inputs."
        if found.fitted
        else "The base design has no value."
    )


@dataclass(frozen=True)
class _Half:
    """One half of a bar: its end, what the input is there, and how it looks."""

    end: float
    words: str
    color: str
    hatch: str


@dataclass(frozen=True)
class _Bar:
    """Both halves of a bar, and how many settings failed."""

    halves: tuple[_Half, _Half]
    failed: int


def _bar(view: StudyView, i: int, effect: Effect, quantity: str, units: System) -> _Bar:
    one, settings = view.inputs[i], (effect.at_low, effect.at_high)
    ends, _ = view.shown(quantity, [effect.low, effect.high], units)
    halves = []
    for end, setting, other in zip(ends, settings, settings[::-1], strict=True):
        color, hatch = _PLAIN, "xxx"
        if not one.text and setting is not None:
            color, hatch = (BLUE, "") if setting < other else (ORANGE, "////")
        words = textwrap.shorten(one.written(setting, units), _LETTERS, placeholder="...")
        halves.append(_Half(float(end), words, color, hatch))
    return _Bar((halves[0], halves[1]), effect.failed)


def _draw(axes: Axes, place: int, bar: _Bar, base: float) -> None:
    """A bar with the input's values at its ends."""
    for half, side in zip(bar.halves, ("right", "left"), strict=True):
        if _there(half, base):
            axes.barh(
                place,
                half.end - base,
                left=base,
                height=0.62,
                color=half.color,
                hatch=half.hatch,
                edgecolor=INK,
                linewidth=0.5,
            )
            gap = -_GAP if side == "right" else _GAP
            letter(axes, half.words, (half.end, place), (gap, 0), ha=side, va="center")
    if bar.failed:
        text, place_of = f"{bar.failed} failed", ("axes fraction", "data")
        letter(axes, text, (1.0, place), (2, 0), xycoords=place_of, va="center", color=VERMILLION)


def _there(half: _Half, base: float) -> bool:
    return bool(abs(half.end - base) > 1e-9 * abs(base))


def _frame(axes: Axes, names: Sequence[str], bars: Sequence[_Bar], base: float) -> None:
    """Room beside the bars for the lettering at their ends."""
    left, right = ([bar.halves[i] for bar in bars if _there(bar.halves[i], base)] for i in (0, 1))
    before, after = (room([half.words for half in side]) + 3 * _GAP / 72 for side in (left, right))
    low, high = min([base, *(half.end for half in left)]), max([base, *(half.end for half in right)])
    width = axes.get_window_extent().width / axes.figure.dpi
    inch = (high - low) / max(width - before - after, 0.3 * width)
    axes.set_xlim(low - before * inch, high + after * inch)
    axes.set_yticks(range(len(names)), names)
    axes.set_ylim(len(names) - 0.4, -0.6)
    axes.tick_params(axis="y", length=0)
    axes.spines["left"].set_visible(False)
    axes.axvline(base, color=FAINT, linewidth=0.8, zorder=3)
    axes.grid(False, axis="y")
