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
from numpy.typing import NDArray

from keyaction.models.units.quantity import System, convert
from keyaction.plots.study.common import MOST_DRAWN, key
from keyaction.plots.study.numbers import Number, numbers
from keyaction.plots.style.files import write_pictures
from keyaction.plots.style.page import Floats, Margins, axis_title, in_style, nothing_to_draw, page, panels
from keyaction.plots.style.pens import FAINT, INK, SKY, VERMILLION, YELLOW
from keyaction.sim.files.labelled import Result

Bools = NDArray[np.bool_]
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
        numbers; the compromise and the case as it is drawn have marks of their own. The key counts the designs that
        keep all limits and those that miss one; a line below it those that are not in the picture, and why.
    """
    aims: list[_Aim] = [tuple(one) for one in json.loads(result.about["aims"])]
    heading = "The front of a search" if len(aims) > 1 else f"A search for the best {aims[0][3]}"
    if not len(result["offered"]):
        return nothing_to_draw(result, heading, "No design keeps every limit.")
    pairs = list(combinations(range(len(aims)), 2)) or [(-1, 0)]
    across = min(len(pairs), 2)
    down = -(-len(pairs) // across)
    width = 1.25 + across * _ACROSS + (across - 1) * 1.25
    figure = page(result, heading, width, 2.05 + down * _HIGH + (down - 1) * 0.75)
    grid = panels(figure, down, across, Margins(0.85, 0.4, 0.6), wspace=1.25 / _ACROSS, hspace=0.75 / _HIGH)
    drawn = [figure.add_subplot(grid[k // across, k % across]) for k in range(len(pairs))]
    beyond = np.zeros(len(result["design"]), dtype=bool)
    nameless = 0
    for axes, pair in zip(drawn, pairs, strict=True):
        beyond |= _panel(axes, result, aims, pair, units)
        nameless += _numbers(axes, result, aims, pair, units)
    words = _not_shown(result, aims, beyond) + (f"; {nameless} numbers find no room" if nameless else "")
    key(figure, drawn[0].get_legend_handles_labels()[0], words, columns=3)
    return figure


def save_front(result: Result, path: Path, units: System = "trade") -> Path:
    """Write the picture as PNG, whole or not at all; errors as of `write_pictures`."""
    return write_pictures(path.parent, [(path.name, lambda: search_front(result, units))])[0]


def _panel(axes: Axes, result: Result, aims: Sequence[_Aim], pair: tuple[int, int], units: System) -> Bools:
    """One pair of aims; which designs lie beyond the panel's edge."""
    keeps = result["short"] == 0.0
    looked = [_looked(result, aims, k, units) for k in pair]
    some = np.flatnonzero(np.isfinite(looked[0]) & np.isfinite(looked[1]))
    if len(some) > MOST_DRAWN:
        some = np.sort(np.random.default_rng(0).choice(some, MOST_DRAWN, replace=False))
    groups = ((~keeps, FAINT, "x", "miss a limit"), (keeps, SKY, "o", "keep all limits"))
    for which, color, mark, label in groups:
        rows = some[which[some]]
        if len(rows):
            words = f"{np.count_nonzero(which)} {label}"
            axes.plot(looked[0][rows], looked[1][rows], mark, color=color, alpha=0.5, label=words, **_FAINT_MARK)
    offered = [_offered(result, aims, k, units) for k in pair]
    _offers(axes, offered, _compromise(result))
    drawn = [_drawn(result, aims, k, units) for k in pair]
    shown = [np.append(column[some][keeps[some]], own) for column, own in zip(looked, offered, strict=True)]
    if np.all(np.isfinite(drawn)):
        axes.plot([drawn[0]], [drawn[1]], "P", markersize=8.0, color=INK, label="as drawn", zorder=4)
        shown = [np.append(values, at) for values, at in zip(shown, drawn, strict=True)]
    _bound(axes, shown)
    for axis, k in ((axes.xaxis, pair[0]), (axes.yaxis, pair[1])):
        axis.set_label_text(_title(aims, k, units))
    (left, end), (low, high) = axes.get_xlim(), axes.get_ylim()
    return (looked[0] < left) | (looked[0] > end) | (looked[1] < low) | (looked[1] > high)


def _numbers(axes: Axes, result: Result, aims: Sequence[_Aim], pair: tuple[int, int], units: System) -> int:
    """Numbers of the offered designs; how many found no room."""
    offered = list(zip(*(_offered(result, aims, k, units) for k in pair), strict=True))
    chosen, own = _compromise(result), (_drawn(result, aims, pair[0], units), _drawn(result, aims, pair[1], units))
    told = zip(result["offered"], offered, strict=True)
    named = [Number(str(int(number)), x, y, i == chosen) for i, (number, (x, y)) in enumerate(told)]
    right, up = (1 if k >= 0 and aims[k][1] else -1 for k in pair)
    return numbers(axes, named, right, up, [*offered, *([own] if np.all(np.isfinite(own)) else [])])


def _not_shown(result: Result, aims: Sequence[_Aim], beyond: Bools) -> str:
    """What the picture leaves out of all designs that were looked at."""
    there = np.all([np.isfinite(result[f"aim_{name}"]) for name, *_ in aims], axis=0)
    counts = (
        (np.count_nonzero(~there), "without a figure of an aim"),
        (np.count_nonzero(beyond & there), "beyond the edges"),
        (np.count_nonzero(there) - MOST_DRAWN, "left out at random"),
    )
    told = ", ".join(f"{count} {words}" for count, words in counts if count > 0)
    return f"{len(there)} designs were looked at{f'; not in the picture: {told}' if told else ''}"


def _compromise(result: Result) -> int:
    """Which of the offered designs it is, -1 if none: of a single one it is nothing to tell."""
    several = len(result["offered"]) > 1 and np.any(result["compromise"])
    return int(np.argmax(result["compromise"])) if several else -1


def _offers(axes: Axes, offered: Sequence[Floats], chosen: int) -> None:
    """What is offered, the compromise with a mark of its own."""
    edge: dict[str, Any] = {"markeredgecolor": INK, "markeredgewidth": 0.6, "linestyle": "none"}
    others = [np.delete(values, chosen) if chosen >= 0 else values for values in offered]
    axes.plot(*others, marker="o", markersize=5.5, color=VERMILLION, label="offered (numbers: designs)", **edge)
    if chosen >= 0:
        at = [values[[chosen]] for values in offered]
        axes.plot(*at, marker="D", markersize=6.5, color=YELLOW, label="offered, the compromise", zorder=3, **edge)


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
