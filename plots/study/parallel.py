"""Parallel coordinates: designs as lines over their inputs and quantities; those with the extremes of one stand out."""

from __future__ import annotations

import textwrap
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.collections import LineCollection
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from numpy.typing import NDArray

from keyaction.models.units.quantity import System
from keyaction.plots.study.common import WIDEST, Shown, choose, drawn, key, left_out, letter, ranked, room
from keyaction.plots.style.page import Floats, Margins, in_style, nothing_to_draw, page, panels
from keyaction.plots.style.pens import BLACK, BLUE, FAINT, INK, SMALL, VERMILLION
from keyaction.sim.analysis.columns import Input
from keyaction.sim.files.labelled import Result

_MOST_LINES = 30
"""Lines of one group; more would be a thicket."""
_MOST_OTHERS = 120
_GREY = "#9a9a9a"
_TENTH = 0.1
"""Share of the designs that makes a group at either end."""
_MOST_AXES, _LEAST_AXES = 10, 3
"""Inputs that get an axis: at most, and however wide the page gets."""
_MOST_QUANTITIES = 4
_OVER = 0.02
"""How far the axes reach beyond their ends, where the words for these stand."""
_APART = 1.0
"""Inches from axis to axis at least."""
_LETTERS_IN = 13
"""Letters in an inch of small print."""
_LETTERS = 15
"""Letters of a name, or a choice, in a line."""


@dataclass(frozen=True)
class _Axis:
    """One upright axis: its name, where each design meets it from 0 to 1, and words at places along it."""

    name: str
    heights: Floats
    marks: tuple[tuple[float, str], ...]

    @property
    def heading(self) -> str:
        """The name in short lines."""
        return _short(self.name.replace(".", ". ")).replace(". ", ".")

    @property
    def lines(self) -> list[str]:
        """All that is written at the axis, line by line."""
        return [line for text in (self.heading, *(words for _, words in self.marks)) for line in text.split("\n")]


def _short(text: str) -> str:
    """A text in short lines of about one length."""
    count = len(textwrap.wrap(text, _LETTERS))
    even = next(width for width in range(1, _LETTERS + 1) if len(textwrap.wrap(text, width)) <= count)
    return "\n".join(textwrap.wrap(text, max(even, max(map(len, text.split()), default=1))))


@in_style
def parallel_coordinates(
    result: Result, note: str, quantities: Sequence[str] | None = None, units: System = "trade"
) -> Figure:
    """Draw the designs of a study as lines over its inputs and quantities.

    Parameters
    ----------
    result : Result
        Of a study.
    note : str
    quantities : sequence of str, optional
        By default those of the study; the first four are drawn, and the first makes the groups.
    units : {"trade", "si"}

    Returns
    -------
    matplotlib.figure.Figure
        Inputs left, quantities right; those that have no axis are named at the foot. The tenths of the designs with
        the lowest and the highest value of the first quantity stand out from the others, which are grey; the line of a
        design without a value ends at the last input. Of many designs some of each group are drawn, and the key says
        how many of how many.

    Raises
    ------
    KeyError, NotInStudy
        If the study does not hold the note or a quantity.
    """
    shown, heading = choose(result, note, quantities), "Designs"
    if shown.why:
        return nothing_to_draw(result, shown.heading(heading), shown.why)
    there = [name for name in shown.quantities if shown.view.spread(name, shown.note).count]
    names = there[:_MOST_QUANTITIES]
    weights = np.max([np.nan_to_num(shown.view.weights(name, shown.note), nan=-1.0) for name in names], axis=0)
    order = ranked(weights)[:_MOST_AXES]
    inputs_there = len(shown.view.inputs)
    shown, words = drawn(shown)
    values = shown.view.values(names[0], shown.note)
    inputs, columns, apart = _columns(shown, names, order, units)
    left, width = 0.25 + apart / 2, apart * (len(columns) - 1)
    whole = max(left + width + apart / 2 + 0.25, 8.0)
    groups = _groups(shown.view.label(names[0]), values, lambda value: shown.view.written(names[0], value, units))
    absent = _absent(shown, there, whole)
    below = 0.3 + 0.14 * len(absent)
    figure = page(result, shown.heading(heading), whole, 6.0 + below)
    axes = figure.add_subplot(panels(figure, 1, 1, Margins(left, whole - left - width, 1.3, below))[0])
    _lines(axes, columns, inputs, groups)
    _frame(axes, columns, inputs)
    handles = [
        Line2D([], [], color=one.color, linewidth=one.width, linestyle=one.dash, label=one.words)
        for one in sorted(groups, key=lambda one: one.color == _GREY)
    ]
    key(figure, handles, columns=2)
    some = "; ".join(text for text in (words, left_out(inputs, inputs_there)) if text)
    figure.text(0.2 / whole, 1 - 1.18 / figure.get_figheight(), some, size=SMALL, color=FAINT, va="top")
    figure.text(0.2 / whole, 0.34 / figure.get_figheight(), "\n".join(absent), size=SMALL, color=FAINT, va="bottom")
    return figure


def _absent(shown: Shown, there: Sequence[str], width: float) -> list[str]:
    """Lines of a page so wide that name the quantities that have no axis, of those that were asked for."""
    more = [shown.view.label(name) for name in (*there[_MOST_QUANTITIES:], *shown.more)]
    none = [shown.view.label(name) for name in shown.quantities if name not in there]
    told = [f"without an axis of their own: {', '.join(more)}"] * bool(more)
    told += [f"no design has a value: {', '.join(none)}"] * bool(none)
    return textwrap.wrap("; ".join(told), int(_LETTERS_IN * width))


def _columns(shown: Shown, names: Sequence[str], order: Sequence[int], units: System) -> tuple[int, list[_Axis], float]:
    """How many inputs there are, the axes, and inches between them: as many inputs as a page holds."""
    view = shown.view
    last = [_quantity_axis(shown, name, units) for name in names]
    while True:
        first = [_input_axis(one, units) for i, one in enumerate(view.inputs) if i in order]
        columns = [*first, *last]
        apart = max(_APART, 0.12 + room([line for column in columns for line in column.lines]))
        if len(first) <= _LEAST_AXES or apart * len(columns) + 0.5 <= WIDEST:
            return len(first), columns, apart
        order = order[:-1]


@dataclass(frozen=True)
class _Group:
    """Designs that are drawn alike: their rows, how they look, and what the key says of them."""

    rows: NDArray[np.intp]
    words: str
    color: str
    dash: Any
    width: float
    alpha: float
    ends: bool = False


def _groups(label: str, values: Floats, written: Callable[[float], str]) -> list[_Group]:
    """The tenths at both ends, the designs between, and those without a value; the last to be drawn comes last."""
    there, lost = np.flatnonzero(np.isfinite(values)), np.flatnonzero(~np.isfinite(values))
    order = there[np.argsort(values[there], kind="stable")]
    count = max(round(_TENTH * len(order)), 1) if len(order) > 2 and np.ptp(values[there]) > 0 else 0
    low, between, high = np.split(order, [count, len(order) - count])
    found = [
        _Group(
            _some(between, _MOST_OTHERS),
            _told("other designs" if count else "designs", between, _MOST_OTHERS),
            _GREY,
            "-",
            0.7,
            0.55,
        )
    ]
    if count:
        ends = f"lowest {label}, up to {written(values[low[-1]])}", f"highest {label}, from {written(values[high[0]])}"
        found += [
            _Group(_some(low, _MOST_LINES), _told(ends[0], low, _MOST_LINES), BLUE, "-", 1.2, 0.85),
            _Group(_some(high, _MOST_LINES), _told(ends[1], high, _MOST_LINES), VERMILLION, (0, (5, 2)), 1.2, 0.85),
        ]
    if len(lost):
        words = _told("without a value", lost, _MOST_LINES)
        found.append(_Group(_some(lost, _MOST_LINES), words, BLACK, (0, (1, 1.6)), 1.0, 0.8, ends=True))
    return [one for one in found if len(one.rows)]


def _some(rows: NDArray[np.intp], most: int) -> NDArray[np.intp]:
    """At most so many of the rows, evenly."""
    return rows[np.unique(np.linspace(0, len(rows) - 1, min(len(rows), most)).astype(int))] if len(rows) else rows


def _told(words: str, rows: NDArray[np.intp], most: int) -> str:
    return f"{words}: {len(rows)}{f', {most} of them drawn' if len(rows) > most else ''}"


def _input_axis(one: Input, units: System) -> _Axis:
    if one.text:
        names, place = np.unique(one.values.astype(str), return_inverse=True)
        gap = max(len(names) - 1, 1)
        return _Axis(one.name, place / gap, tuple((i / gap, _short(str(name))) for i, name in enumerate(names)))
    return _scaled(one.name, np.asarray(one.values, dtype=np.float64), lambda value: one.written(value, units))


def _quantity_axis(shown: Shown, name: str, units: System) -> _Axis:
    view = shown.view
    return _scaled(view.label(name), view.values(name, shown.note), lambda value: view.written(name, value, units))


def _scaled(name: str, values: Floats, words: Callable[[float], str]) -> _Axis:
    there = values[np.isfinite(values)]
    if not len(there):
        return _Axis(name, np.full(len(values), np.nan), ((0.5, "no value"),))
    low, high = float(np.min(there)), float(np.max(there))
    if not high > low:
        return _Axis(name, np.where(np.isfinite(values), 0.5, np.nan), ((0.5, words(low)),))
    return _Axis(name, (values - low) / (high - low), ((0.0, words(low)), (1.0, words(high))))


def _lines(axes: Axes, columns: Sequence[_Axis], inputs: int, groups: Sequence[_Group]) -> None:
    """The designs; those without a value end at the last input."""
    heights, x = np.column_stack([column.heights for column in columns]), np.arange(len(columns), dtype=float)
    for group in groups:
        end = inputs if group.ends else len(columns)
        lines = [np.column_stack([x[:end], heights[row, :end]]) for row in group.rows]
        axes.add_collection(
            LineCollection(
                lines, colors=group.color, linewidths=group.width, linestyles=[group.dash], alpha=group.alpha,
                rasterized=True, label=group.words,
            )
        )  # fmt: skip


def _frame(axes: Axes, columns: Sequence[_Axis], inputs: int) -> None:
    """Upright axes with their names above and values along them."""
    axes.set_xlim(0, max(len(columns) - 1, 1))
    axes.set_ylim(-_OVER, 1.0 + _OVER)
    for side in axes.spines.values():
        side.set_visible(False)
    axes.set_yticks([])
    axes.set_xticks([])
    axes.grid(False)
    lines = max(
        (words.count("\n") + 1 for column in columns for height, words in column.marks if height == 1.0), default=1
    )
    for i, column in enumerate(columns):
        axes.axvline(i, color=INK, linewidth=1.0 if i < inputs else 1.8, zorder=4, clip_on=False)
        weight, up = "normal" if i < inputs else "bold", 11 + 10 * lines
        letter(axes, column.heading, (i, 1.0 + _OVER), (0, up), ha="center", va="bottom", size=SMALL, weight=weight)
        for height, words in column.marks:
            _mark(axes, i, height, words)


def _mark(axes: Axes, i: int, height: float, words: str) -> None:
    """A value on an axis: ends below and above it, others beside it on a white ground."""
    if height in (0.0, 1.0):
        at, up, va = (1.0 + _OVER, 5, "bottom") if height else (-_OVER, -5, "top")
        letter(axes, words, (i, at), (0, up), ha="center", va=va)
    else:
        ground = {"facecolor": "white", "edgecolor": "none", "pad": 1.0, "alpha": 0.85}
        letter(axes, words, (i, height), (0, 0), ha="center", va="center", zorder=6, bbox=ground)
