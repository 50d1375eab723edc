"""Tornado: how far each input alone takes a quantity from its base, the farthest on top."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Patch

from keyaction.models.units import System, format_value
from keyaction.plots.style import (
    BLUE,
    FAINT,
    INK,
    ORANGE,
    SMALL,
    VERMILLION,
    Margins,
    axis_title,
    explain,
    in_style,
    nothing_to_draw,
)
from keyaction.plots import style
from keyaction.plots.sweep_common import Shown, capital, choose, key, left_out, ranked, room, sheet, title
from keyaction.sim.effects import Effect, Effects
from keyaction.sim.result import Result
from keyaction.sim.study_view import Input

_PLAIN = "#b9b9b9"


@in_style
def tornado(result: Result, note: str, quantities: Sequence[str] | None = None, units: System = "trade") -> Figure:
    """Draw what each input alone does to each quantity.

    Parameters
    ----------
    result : Result
        Of a study: one at a time as it was run; of any other plan by a plane fitted through all its runs.
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
    names = [one.name for one in shown.view.inputs]
    left = 0.3 + room(names)
    rows = len(ranked(np.zeros(len(names))))
    figure, axes = sheet(shown, heading, 2, 4.6, 0.3 + 0.36 * rows, Margins(left, 0.75, 0.8), (left + 0.55, 1.1))
    for panel, name in zip(axes, shown.quantities, strict=True):
        _panel(panel, shown, name, units)
    key(figure, _key(), left_out(rows, len(names)))
    return figure


def _key() -> list[Patch]:
    return [
        Patch(facecolor=BLUE, edgecolor=INK, label="input at its lower value"),
        Patch(facecolor=ORANGE, edgecolor=INK, hatch="////", label="input at its higher value"),
        Patch(facecolor=_PLAIN, edgecolor=INK, hatch="xxx", label="another material"),
    ]


def _panel(axes: Axes, shown: Shown, quantity: str, units: System) -> None:
    view = shown.view
    found, unit, label = view.effects(quantity, shown.note), view.unit(quantity), capital(view.label(quantity))
    swings = np.array([effect.swing for effect in found.effects])
    if not np.isfinite(found.base) or not np.any(swings > 0):
        explain(axes, f"{label}\n{_why(found)}")
        return
    order = ranked(swings)
    base, word = style.shown(found.base, unit, units)
    ends = [_bar(axes, place, view.inputs[i], found.effects[i], base, unit, units) for place, i in enumerate(order)]
    _frame(axes, [view.inputs[i].name for i in order], ends, float(base))
    if np.isfinite(found.explained):
        small = f"from the mean, {format_value(found.base, unit, units)}; the fitted plane explains {found.explained:.0%}"
    else:
        small = f"from the base design, {format_value(found.base, unit, units)}"
    title(axes, label, small.replace("%", " %"))
    axes.set_xlabel(axis_title(view.label(quantity), word))


def _why(found: Effects) -> str:
    if np.isfinite(found.base):
        return "No input changes it."
    return "The base design has no value." if found.used else "No run has a value."


def _bar(
    axes: Axes, place: int, one: Input, effect: Effect, base: np.ndarray, unit: str, units: System
) -> tuple[float, float]:
    """The two halves of a bar, with the input's values at their ends; returns the ends."""
    ends, _ = style.shown([effect.low, effect.high], unit, units)
    settings = (effect.at_low, effect.at_high)
    for end, setting, other, side in zip(ends, settings, settings[::-1], ("right", "left"), strict=True):
        length = float(end - base)
        if not np.isfinite(length) or abs(length) <= 1e-9 * abs(float(base)):
            continue
        color, hatch = _PLAIN, "xxx"
        if not one.text:
            color, hatch = (BLUE, "") if setting < other else (ORANGE, "////")
        axes.barh(place, length, left=float(base), height=0.62, color=color, hatch=hatch, edgecolor=INK, linewidth=0.5)
        gap = -4 if side == "right" else 4
        axes.annotate(
            one.written(setting, units),
            (float(end), place),
            (gap, 0),
            textcoords="offset points",
            ha=side,
            va="center",
            size=SMALL - 0.5,
            color=INK,
        )
    if effect.failed:
        text = f"{effect.failed} failed"
        axes.annotate(
            text,
            (1.0, place),
            (2, 0),
            ("axes fraction", "data"),
            "offset points",
            va="center",
            size=SMALL - 0.5,
            color=VERMILLION,
        )
    return float(ends[0]), float(ends[1])


def _frame(axes: Axes, names: Sequence[str], ends: Sequence[tuple[float, float]], base: float) -> None:
    """Room beside the bars for the lettering at their ends."""
    low, high = (np.array(side)[np.isfinite(side)] for side in zip(*ends, strict=True))
    left, right = float(np.min(low, initial=base)), float(np.max(high, initial=base))
    reach = right - left
    axes.set_xlim(left - 0.36 * reach, right + 0.36 * reach)
    axes.set_yticks(range(len(names)), names)
    axes.set_ylim(len(names) - 0.4, -0.6)
    axes.tick_params(axis="y", length=0)
    axes.spines["left"].set_visible(False)
    axes.axvline(base, color=FAINT, linewidth=0.8, zorder=3)
    axes.grid(False, axis="y")
