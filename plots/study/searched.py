"""The front of a search: what is offered among all designs that were looked at, and the case as it is drawn."""

from __future__ import annotations

import json
from collections.abc import Sequence
from itertools import combinations
from pathlib import Path
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from keyaction.models.units.quantity import System, convert
from keyaction.plots.study.common import MOST_DRAWN
from keyaction.plots.study.numbers import Number, numbers
from keyaction.plots.style.files import write_pictures
from keyaction.plots.style.page import Floats, Margins, axis_title, in_style, nothing_to_draw, page, panels
from keyaction.plots.style.pens import FAINT, INK, SKY, VERMILLION
from keyaction.sim.files.labelled import Result

_Aim = tuple[str, bool, str, str]
"""Name, whether more of it is better, SI unit, label."""
_ACROSS, _HIGH = 4.8, 3.8
"""Inches of a panel."""
_ROOM = 0.25
"""Share of the reach of what holds by which a panel goes on beyond it."""


_FAINT_MARK: dict[str, Any] = {"markersize": 3.0, "markeredgewidth": 0.5, "rasterized": True}


@in_style
def search_front(result: Result, units: System = "trade") -> Figure:
    """Draw the designs of a search over its aims.

    Parameters
    ----------
    result : Result
        Of a search.
    units : {"trade", "si"}

    Returns
    -------
    matplotlib.figure.Figure
        One panel for each pair of aims; of a single aim it over the designs as they came. Offered designs have their
        numbers; the case as it is drawn is marked.
    """
    aims: list[_Aim] = [tuple(one) for one in json.loads(result.about["aims"])]
    heading = "The front of a search" if len(aims) > 1 else f"A search for the best {aims[0][3]}"
    if not len(result["offered"]):
        return nothing_to_draw(result, heading, "No design keeps every limit.")
    pairs = list(combinations(range(len(aims)), 2)) or [(-1, 0)]
    across = min(len(pairs), 2)
    down = -(-len(pairs) // across)
    width = 1.25 + across * _ACROSS + (across - 1) * 1.25
    figure = page(result, heading, width, 1.85 + down * _HIGH + (down - 1) * 0.75)
    grid = panels(figure, down, across, Margins(0.85, 0.4, 0.4), wspace=1.25 / _ACROSS, hspace=0.75 / _HIGH)
    for k, pair in enumerate(pairs):
        axes = figure.add_subplot(grid[k // across, k % across])
        _panel(axes, result, aims, pair, units)
        if k == 0:
            axes.legend(loc="lower left", bbox_to_anchor=(-0.02, 1.0), ncols=4, borderaxespad=0.3, columnspacing=1.2)
    return figure


def save_front(result: Result, path: Path, units: System = "trade") -> Path:
    """Write the picture as PNG, whole or not at all; errors as of `write_pictures`."""
    return write_pictures(path.parent, [(path.name, lambda: search_front(result, units))])[0]


def _panel(axes: Axes, result: Result, aims: Sequence[_Aim], pair: tuple[int, int], units: System) -> None:
    keeps = result["short"] == 0.0
    looked = [_looked(result, aims, k, units) for k in pair]
    some = np.flatnonzero(np.isfinite(looked[0]) & np.isfinite(looked[1]))
    if len(some) > MOST_DRAWN:
        some = np.sort(np.random.default_rng(0).choice(some, MOST_DRAWN, replace=False))
    for which, color, mark, label in ((~keeps, FAINT, "x", "miss a limit"), (keeps, SKY, "o", "keep all limits")):
        rows = some[which[some]]
        if len(rows):
            axes.plot(looked[0][rows], looked[1][rows], mark, color=color, alpha=0.5, label=label, **_FAINT_MARK)
    offered = [_offered(result, aims, k, units) for k in pair]
    axes.plot(
        *offered, "o", markersize=5.5, color=VERMILLION, markeredgecolor=INK, markeredgewidth=0.6, label="offered"
    )
    drawn = [_drawn(result, aims, k, units) for k in pair]
    shown = [np.append(column[some][keeps[some]], own) for column, own in zip(looked, offered, strict=True)]
    if np.all(np.isfinite(drawn)):
        axes.plot([drawn[0]], [drawn[1]], "P", markersize=8.0, color=INK, label="as drawn", zorder=4)
        shown = [np.append(values, at) for values, at in zip(shown, drawn, strict=True)]
    _bound(axes, shown)
    for axis, k in ((axes.xaxis, pair[0]), (axes.yaxis, pair[1])):
        axis.set_label_text(_title(aims, k, units))
    better = [1 if k >= 0 and aims[k][1] else -1 for k in pair]
    _numbers(axes, result, offered, better)


def _looked(result: Result, aims: Sequence[_Aim], k: int, units: System) -> Floats:
    if k < 0:
        return np.asarray(result["design"], dtype=np.float64)
    return convert(np.asarray(result[f"aim_{aims[k][0]}"], dtype=np.float64), aims[k][2] or "1", units)[0]


def _offered(result: Result, aims: Sequence[_Aim], k: int, units: System) -> Floats:
    if k < 0:
        return np.asarray(result["offered"], dtype=np.float64)
    return convert(np.asarray(result[f"confirmed_aim_{aims[k][0]}"]), aims[k][2] or "1", units)[0]


def _drawn(result: Result, aims: Sequence[_Aim], k: int, units: System) -> float:
    found = json.loads(result.about["drawn"]).get("aims")
    if found is None or k < 0 or found[k] == "none":
        return float("nan")
    return float(convert(float(found[k]), aims[k][2] or "1", units)[0])


def _title(aims: Sequence[_Aim], k: int, units: System) -> str:
    if k < 0:
        return "design, in the order in which they were looked at"
    _, more, unit, label = aims[k]
    word = convert(0.0, unit or "1", units)[1]
    return f"{axis_title(label, '' if word == '1' else word)}: {'more' if more else 'less'} is better"


def _bound(axes: Axes, shown: Sequence[Floats]) -> None:
    """Show what holds with some room: a design far off would press all others into a corner."""
    axes.set_xlim(*_ends(shown[0]))
    axes.set_ylim(*_ends(shown[1]))


def _ends(values: Floats) -> tuple[float, float]:
    low, high = float(np.min(values)), float(np.max(values))
    room = _ROOM * (high - low) or 0.05 * max(abs(high), 1e-12)
    return low - room, high + room


def _numbers(axes: Axes, result: Result, offered: Sequence[Floats], better: Sequence[int]) -> None:
    """Numbers of the offered designs on the better side; of those that would overlap the compromise's stays, if any."""
    chosen = int(np.argmax(result["compromise"])) if np.any(result["compromise"]) else -1
    several = len(offered[0]) > 1
    order = sorted(range(len(offered[0])), key=lambda i: (i != chosen, i))
    named = (
        Number(
            f"{int(result['offered'][i])}{' compromise' if i == chosen and several else ''}",
            offered[0][i],
            offered[1][i],
            i == chosen,
        )
        for i in order
    )
    numbers(axes, named, *better)
