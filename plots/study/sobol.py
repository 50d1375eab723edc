"""Sobol' indices as bars with their confidence: which inputs a quantity's variance comes from."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from keyaction.plots.study.common import Shown, capital, choose, key, left_away, left_out, ranked, room, sheet, title
from keyaction.plots.style.page import Margins, explain, in_style, nothing_to_draw
from keyaction.plots.style.pens import BLUE, INK, ORANGE
from keyaction.sim.analysis.indices import Estimate, SobolIndices
from keyaction.sim.files.labelled import Result

_HALF = 0.37
"""Thickness of a bar, in rows."""


@dataclass(frozen=True)
class _Look:
    words: str
    color: str
    hatch: str
    up: float


_FIRST = _Look("first order: the input alone", BLUE, "", -_HALF / 2)
_TOTAL = _Look("total: with all its interactions", ORANGE, "////", _HALF / 2)


@in_style
def sobol_bars(result: Result, note: str, quantities: Sequence[str] | None = None) -> Figure:
    """Draw first and total Sobol' indices of each quantity.

    Parameters
    ----------
    result : Result
        Of a study with a Sobol' plan.
    note : str
    quantities : sequence of str, optional
        By default those of the study, at most six.

    Returns
    -------
    matplotlib.figure.Figure
        Shares of the variance in per cent with bars of 95 % confidence, inputs in one order in all panels.

    Raises
    ------
    KeyError, NotInStudy
        If the study does not hold the note or a quantity.
    """
    shown, heading = choose(result, note, quantities), "Sobol' indices"
    found = {name: shown.view.indices(name, shown.note) for name in shown.quantities}
    indices = {name: one for name, one in found.items() if one is not None}
    if shown.why or not indices:
        why = shown.why or f"The plan '{shown.view.plan}' gives no Sobol' indices; the plan 'sobol' does."
        return nothing_to_draw(result, shown.heading(heading), why)
    order = ranked(np.max([np.nan_to_num(one.total.value, nan=-1.0) for one in indices.values()], axis=0))
    names = [shown.view.inputs[i].name for i in order]
    margins = Margins(left=0.3 + room(names), right=0.3, top=0.8)
    figure, axes = sheet(shown, heading, 3, 2.9, 0.3 + 0.38 * len(names), margins, (0.3, 1.1))
    for panel, (name, one) in zip(axes, indices.items(), strict=True):
        _bars(panel, shown, name, one, order, names)
    _same_scale([panel for panel in axes if panel.axison])
    handles = next((panel.get_legend_handles_labels()[0] for panel in axes if panel.axison), [])
    key(figure, handles, left_away(shown, left_out(len(order), len(shown.view.inputs))))
    return figure


def _bars(
    axes: Axes, shown: Shown, quantity: str, found: SobolIndices, order: Sequence[int], names: Sequence[str]
) -> None:
    label = capital(shown.view.label(quantity))
    if not np.any(np.isfinite(found.total.value)):
        few = f"{found.used} base points have a value in all their designs."
        explain(axes, f"{label}\n{'It does not vary.' if found.used > 1 else few}")
        return
    places = np.arange(len(order))
    for look, estimate in ((_FIRST, found.first), (_TOTAL, found.total)):
        _row(axes, places + look.up, estimate, order, look)
    lost = f", {found.dropped} left out" if found.dropped else ""
    title(axes, label, f"{found.used} base points{lost}")
    first = axes.get_subplotspec().colspan.start == 0  # type: ignore[union-attr]
    axes.set_yticks(places, names if first else [])
    axes.set_ylim(len(order) - 0.4, -0.6)
    axes.tick_params(axis="y", length=0)
    axes.spines["left"].set_visible(False)
    axes.axvline(0.0, color=INK, linewidth=0.8)
    axes.grid(False, axis="y")
    axes.set_xlabel("share of the variance (%)")


def _same_scale(axes: Sequence[Axes]) -> None:
    ends = [panel.get_xlim() for panel in axes]
    for panel in axes:
        panel.set_xlim(min(-2.0, *(low for low, _ in ends)), max(100.0, *(high for _, high in ends)))


def _row(axes: Axes, places: np.ndarray, estimate: Estimate, order: Sequence[int], look: _Look) -> None:
    value, low, high = (100 * part[list(order)] for part in (estimate.value, estimate.low, estimate.high))
    axes.barh(
        places, value, height=_HALF, color=look.color, hatch=look.hatch, edgecolor=INK, linewidth=0.5, label=look.words
    )
    reach = (np.maximum(value - low, 0.0), np.maximum(high - value, 0.0))
    label = "95 % confidence" if look is _TOTAL else "_"
    axes.errorbar(value, places, xerr=reach, fmt="none", ecolor=INK, elinewidth=0.9, capsize=2, label=label)
