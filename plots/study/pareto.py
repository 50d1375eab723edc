"""Pareto front: what one quantity costs in another, and the designs that no other beats in both."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import combinations

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from keyaction.models.units.quantity import System
from keyaction.plots.study.common import MOST_DRAWN
from keyaction.plots.study.numbers import Number, numbers
from keyaction.plots.style.page import Floats, Margins, axis_title, in_style, nothing_to_draw, page, panels
from keyaction.plots.style.pens import INK, SKY, VERMILLION
from keyaction.sim.analysis.pareto import Sense, pareto_front
from keyaction.sim.analysis.view import StudyView
from keyaction.sim.files.labelled import Result

_MOST_TRIED = 200
_WANTED = {"min": "less is better", "max": "more is better"}


@in_style
def pareto_scatter(result: Result, note: str, senses: Mapping[str, Sense], units: System = "trade") -> Figure:
    """Draw all designs over chosen quantities, and the front.

    Parameters
    ----------
    result : Result
        Of a study.
    note : str
    senses : mapping of quantity or numeric input to {"min", "max"}
        What is wanted of each; two or more.
    units : {"trade", "si"}

    Returns
    -------
    matplotlib.figure.Figure
        One panel for each pair; the front is that of all quantities together. Designs of the front are named.

    Raises
    ------
    KeyError, NotInStudy
        If the study does not hold the note or a quantity.
    ValueError
        If there are fewer than two quantities.
    """
    view, row = StudyView(result), result.index(note)
    heading = f"Pareto front, {result.notes[row]}"
    if len(senses) < 2:
        raise ValueError("a front needs two quantities or more")
    best = view.front(senses, row)
    if not best.candidates:
        return nothing_to_draw(result, heading, f"No design has all of {', '.join(senses)} at {result.notes[row]}.")
    words = [f"{len(view.rows) - best.candidates} more have no value"] * (best.candidates < len(view.rows))
    words += [f"{MOST_DRAWN} of them drawn"] * (len(view.rows) > MOST_DRAWN)
    view = view.some(MOST_DRAWN, best.rows.tolist())
    values = np.column_stack([view.figures(name, row) for name in senses])
    front = pareto_front(values, list(senses.values()))
    pairs = list(combinations(range(len(senses)), 2))
    across = min(len(pairs), 2)
    down = -(-len(pairs) // across)
    right = 0.4
    width = 0.85 + right + across * 4.8 + (across - 1) * (right + 0.85)
    figure = page(result, heading, max(width, 6.5), 1.75 + down * 3.6 + (down - 1) * 0.75)
    margins = Margins(0.85, max(width, 6.5) - width + right, 0.35)
    grid = panels(figure, down, across, margins, wspace=(right + 0.85) / 4.8, hspace=0.75 / 3.6)
    names = list(senses)
    drawn = [figure.add_subplot(grid[k // across, k % across]) for k in range(len(pairs))]
    nameless = 0
    for axes, (i, j) in zip(drawn, pairs, strict=True):
        nameless += _panel(axes, view, values[:, [i, j]], front, (names[i], names[j]), senses, units)
    numbered = "numbers: designs, where there is room" if nameless else "numbers: designs"
    _legend(
        drawn[0],
        f"{best.candidates} design{'s' * (best.candidates != 1)}",
        f"{len(front)} that no other beats ({numbered})",
        words,
    )
    return figure


def _legend(axes: Axes, designs: str, front: str, more: Sequence[str]) -> None:
    handles, _ = axes.get_legend_handles_labels()
    words = [f"{designs} ({'; '.join(more)})" if more else designs, front]
    axes.legend(handles, words, loc="lower left", bbox_to_anchor=(-0.02, 1.0), ncols=2, borderaxespad=0.3)


def _panel(
    axes: Axes,
    view: StudyView,
    values: Floats,
    front: np.ndarray,
    names: tuple[str, str],
    senses: Mapping[str, Sense],
    units: System,
) -> int:
    """One pair; how many designs of its front found no room for their number."""
    (x, x_unit), (y, y_unit) = (view.shown(name, values[:, i], units) for i, name in enumerate(names))
    size = 8.0 if len(x) < 1000 else 3.0
    axes.scatter(x, y, s=size, color=SKY, linewidths=0, alpha=0.6, label="designs", rasterized=True)
    if len(senses) == 2:
        _steps(axes, x[front], y[front], senses[names[0]])
    axes.plot(
        x[front],
        y[front],
        "o",
        markersize=5.5,
        color=VERMILLION,
        markeredgecolor=INK,
        markeredgewidth=0.6,
        label="front",
    )
    for axis, name, unit in ((axes.xaxis, names[0], x_unit), (axes.yaxis, names[1], y_unit)):
        axis.set_label_text(f"{axis_title(view.label(name), unit)}: {_WANTED[senses[name]]}")
    axes.margins(0.1)
    axes.set_xlim(axes.get_xlim())
    axes.set_ylim(axes.get_ylim())
    return _numbers(axes, view, x, y, front, [senses[name] for name in names])


def _numbers(axes: Axes, view: StudyView, x: Floats, y: Floats, front: np.ndarray, senses: Sequence[Sense]) -> int:
    """Numbers of designs of the front, its ends first, on its better side; how many found no room."""
    right, up = (1 if sense == "max" else -1 for sense in senses)
    some = front[np.unique(np.linspace(0, len(front) - 1, min(len(front), _MOST_TRIED)).astype(int))]
    order = sorted(some, key=lambda row: row not in (front[0], front[-1]))
    named = [Number(str(view.rows[row]), x[row], y[row]) for row in order]
    lost = numbers(axes, named, right, up, list(zip(x[front], y[front], strict=True)))
    return lost + len(front) - len(some)


def _steps(axes: Axes, x: Floats, y: Floats, sense: Sense) -> None:
    """The edge of what is beaten: along it one quantity is held while the other gets better."""
    axes.step(x, y, where="post" if sense == "min" else "pre", color=VERMILLION, linewidth=1.0)
