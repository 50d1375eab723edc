"""Morris screening as a scatter: how much each input matters, and how unevenly it acts."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from keyaction.models.units.quantity import System
from keyaction.plots.study.common import (
    Shown,
    capital,
    choose,
    dot,
    key,
    left_away,
    left_out,
    name_right,
    ranked,
    room,
    sheet,
    title,
)
from keyaction.plots.style.labels import Mark
from keyaction.plots.style.page import Margins, axis_title, explain, in_style, nothing_to_draw
from keyaction.plots.style.pens import FAINT, INK, Dash, Pen, mark
from keyaction.sim.analysis.indices import MorrisScreening
from keyaction.sim.files.labelled import Result


@dataclass(frozen=True)
class _Rule:
    slope: float
    words: str
    dash: Dash


_RULES = (
    _Rule(1.0, "above sigma = mu*: acts jointly, or in a curve", (0, (5, 2))),
    _Rule(0.1, "below sigma = mu* / 10: nearly in proportion", (0, (1.5, 1.5))),
)
"""sigma over mu*: after D. Garcia Sanchez, B. Lacarrière, M. Musy and B. Bourges, "Application of sensitivity
analysis in building energy simulations: combining first- and second-order elementary effects methods", Energy and
Buildings 68 (2014) 741-750 (thresholds from memory)."""


@in_style
def morris_scatter(
    result: Result, note: str, quantities: Sequence[str] | None = None, units: System = "trade"
) -> Figure:
    """Draw mean size and spread of the elementary effects of each quantity.

    Parameters
    ----------
    result : Result
        Of a study with a Morris plan.
    note : str
    quantities : sequence of str, optional
        By default those of the study, at most six.
    units : {"trade", "si"}

    Returns
    -------
    matplotlib.figure.Figure
        mu* with its 95 % confidence against sigma, each input named at the right.

    Raises
    ------
    KeyError, NotInStudy
        If the study does not hold the note or a quantity.
    """
    shown, heading = choose(result, note, quantities), "Morris screening"
    found = {name: shown.view.screening(name, shown.note) for name in shown.quantities}
    screenings = {name: one for name, one in found.items() if one is not None}
    if shown.why or not screenings:
        why = shown.why or f"The plan '{shown.view.plan}' gives no screening; the plan 'morris' does."
        return nothing_to_draw(result, shown.heading(heading), why)
    right = 0.7 + room([one.name for one in shown.view.inputs])
    rows = len(ranked(np.zeros(len(shown.view.inputs))))
    height = max(3.0, 0.17 * rows)
    figure, axes = sheet(shown, heading, 2, 3.9, height, Margins(0.85, right, 0.75), (right + 0.7, 1.15))
    for panel, (name, one) in zip(axes, screenings.items(), strict=True):
        _panel(panel, shown, name, one, units)
    key(figure, next((panel.get_legend_handles_labels()[0] for panel in axes if panel.axison), []), left_away(shown))
    return figure


def _panel(axes: Axes, shown: Shown, quantity: str, found: MorrisScreening, units: System) -> None:
    view, label = shown.view, capital(shown.view.label(quantity))
    there = np.isfinite(found.mu_star.value) & np.isfinite(found.sigma.value)
    if not np.any(there & (found.mu_star.value > 0)):
        explain(axes, f"{label}\n{'No input changes it.' if np.any(there) else 'Too few designs have a value.'}")
        return
    star, low, high, spread = (
        view.shown(quantity, part, units)[0]
        for part in (found.mu_star.value, found.mu_star.low, found.mu_star.high, found.sigma.value)
    )
    unit = view.shown(quantity, 0.0, units)[1]
    order = [i for i in ranked(star) if there[i]]
    reach = (float(np.max(high[order])) * 1.08, float(np.max(spread[order], initial=0.0)) * 1.12)
    reach = (reach[0], max(reach[1], 0.12 * reach[0]))
    _rules(axes, reach)
    for i in order:
        _point(axes, mark(i), (star[i], spread[i]), (low[i], high[i]))
    axes.set_xlim(-0.02 * reach[0], reach[0])
    axes.set_ylim(-0.04 * reach[1], reach[1])
    lost = f", {found.dropped} spoilt by designs without a value" if found.dropped else ""
    some = left_out(len(order), len(view.inputs))
    title(axes, label, f"{int(found.effects.sum())} effects{lost}{f'; {some}' if some else ''}")
    axes.set_xlabel(axis_title("mean size of the effects, mu*", unit))
    axes.set_ylabel(axis_title("their spread, sigma", unit))
    name_right(axes, [(Mark(float(spread[i]), view.inputs[i].name), mark(i)) for i in order])


def _point(axes: Axes, look: Pen, at: tuple[float, float], interval: tuple[float, float]) -> None:
    """One input: its marker with the confidence of mu*."""
    reach = [[max(at[0] - interval[0], 0.0)], [max(interval[1] - at[0], 0.0)]]
    axes.errorbar([at[0]], [at[1]], xerr=reach, fmt="none", ecolor=INK, elinewidth=0.9, capsize=2, zorder=2)
    dot(axes, at, look)


def _rules(axes: Axes, reach: tuple[float, float]) -> None:
    """Lines of equal sigma over mu*."""
    for rule in _RULES:
        end = min(reach[0], reach[1] / rule.slope)
        axes.plot([0, end], [0, rule.slope * end], color=FAINT, linewidth=0.9, linestyle=rule.dash, label=rule.words)
