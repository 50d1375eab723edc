"""Where scatter comes from: what each tolerance adds to the variance of a figure and of its steps, ranked."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Patch

from keyaction.models.units.quantity import System, format_value
from keyaction.plots.style.page import Floats, Margins, explain, in_style, page, panels
from keyaction.plots.style.pens import BLUE, FAINT, INK, ORANGE, SMALL
from keyaction.sim.files.labelled import Result
from keyaction.sim.tolerances.sheets import of_compass
from keyaction.sim.tolerances.tolerances import Tolerances

MOST = 14
"""Tolerances in one panel; the others are one bar."""
LEAST = 5e-3
"""Share of the variance below which a tolerance has no bar of its own."""
_OTHERS = "all others together"


@in_style
def origins(made: Tolerances, about: Result, units: System = "trade") -> Figure:
    """Draw what each tolerance adds.

    Parameters
    ----------
    made : Tolerances
    about : Result
        With the texts of the page.
    units : {"trade", "si"}

    Returns
    -------
    matplotlib.figure.Figure
        Left what adds to the variance of the figure over the compass, right to that of its steps; parts common to all
        notes and each note's own apart, in % of the whole.
    """
    line = made.line
    heading = f"Where the scatter of the {line.figure.heading} comes from"
    figure = page(about, heading, 12.4, 5.8)
    grid = panels(figure, 1, 2, Margins(left=2.35, right=0.45, top=0.62), wspace=0.72)
    left, right = (figure.add_subplot(grid[k]) for k in (0, 1))
    common, own = (np.nan_to_num(part) ** 2 for part in of_compass(made.found, line.figure.name))
    whole = float(np.sqrt(np.sum(common + own)))
    told = format_value(whole, line.figure.unit, units, digits=2)
    _bars(left, made, common, own, f"Variance of a note's {line.figure.heading}\nstandard deviation {told}")
    if len(line.pairs):
        alone, shared = _of_steps(made)
        sd = float(np.sqrt(np.sum(alone + shared)))
        size = f"{100 * sd:.2g} %" if line.figure.relative else format_value(sd, line.figure.unit, units, digits=2)
        _bars(right, made, shared, alone, f"Variance of a step between neighbours\nstandard deviation {size}")
    else:
        explain(right, "No two neighbours: there are no steps.")
    handles = [
        Patch(facecolor=ORANGE, edgecolor=INK, hatch="////", label="what all notes share (batch, jig, gauge)"),
        Patch(facecolor=BLUE, edgecolor=INK, label="each note's own (as made, as set)"),
    ]
    width, height = figure.get_size_inches()
    figure.legend(handles=handles, loc="upper left", bbox_to_anchor=(0.2 / width, 1 - 0.72 / height), ncols=2)
    return figure


def _of_steps(made: Tolerances) -> tuple[Floats, Floats]:
    """Mean variance of steps by tolerance: of each note's own part, and of what all notes share."""
    line = made.line
    whole = np.mean(line.variances, axis=0)
    a, b = line.pairs.T
    if line.figure.relative:
        low, high = line.values[a], line.values[b]
        lower, upper = 4 * high / (low + high) ** 2, 4 * low / (low + high) ** 2
    else:
        lower = upper = np.ones(len(a))
    alone = np.mean((lower[:, None] * line.own[a]) ** 2 + (upper[:, None] * line.own[b]) ** 2, axis=0)
    return alone, np.maximum(whole - alone, 0.0)


def _bars(axes: Axes, made: Tolerances, common: Floats, own: Floats, title: str) -> None:
    total = float(np.sum(common + own))
    axes.set_title(title, loc="left", size=SMALL + 1, weight="bold")
    if total <= 0.0:
        explain(axes, "Nothing scatters here.")
        return
    order = np.argsort(-(common + own), kind="stable").tolist()
    shown = [k for k in order[:MOST] if common[k] + own[k] > LEAST * total]
    rest = [k for k in order if k not in shown]
    names: Sequence[str] = [*(made.found.doubts[k].name for k in shown), _OTHERS]
    parts = [[*(float(part[k]) for k in shown), float(np.sum(part[rest]))] for part in (common, own)]
    shares = [100 * np.array(part) / total for part in parts]
    places = np.arange(len(names))
    axes.barh(places, shares[0], 0.66, color=ORANGE, hatch="////", edgecolor=INK, linewidth=0.5)
    axes.barh(places, shares[1], 0.66, left=shares[0], color=BLUE, edgecolor=INK, linewidth=0.5)
    for place, size in zip(places, shares[0] + shares[1], strict=True):
        axes.annotate(
            f"{size:.1f}" if size < 10 else f"{size:.0f}", (size, place), (3, 0), textcoords="offset points",
            va="center", size=SMALL - 0.5, color=FAINT,
        )  # fmt: skip
    axes.set_yticks(places, names)
    axes.set_ylim(len(names) - 0.4, -0.6)
    axes.set_xlim(0.0, 1.12 * float(np.max(shares[0] + shares[1])))
    axes.tick_params(axis="y", length=0)
    axes.grid(False, axis="y")
    axes.set_xlabel("share of the variance (%)")
