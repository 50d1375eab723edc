"""Steps between neighbours: as drawn, how far they scatter, and how often each is beyond what counts."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from numpy.typing import NDArray

from keyaction.models.notes import note_name
from keyaction.models.units.quantity import System
from keyaction.plots.style.page import FOOT, Margins, axis_title, in_style, nothing_to_draw, page, panels, shown
from keyaction.plots.style.pens import BLACK, BLUE, FAINT, ORANGE, SKY, SMALL, VERMILLION
from keyaction.sim.files.labelled import Result
from keyaction.sim.tolerances.full import ENOUGH
from keyaction.sim.tolerances.tolerances import Tolerances

_MOST_NAMES = 30
"""Pairs whose names all stand at the axis."""
_LEAST_WIDE = 12
"""Pairs for which there is room at least, so that a few bars stay bars."""


@in_style
def steps(made: Tolerances, about: Result, units: System = "trade") -> Figure:
    """Draw the steps.

    Parameters
    ----------
    made : Tolerances
    about : Result
        With the texts of the page.
    units : {"trade", "si"}

    Returns
    -------
    matplotlib.figure.Figure
        Above every step as drawn with one and two standard deviations, and the limits between which it does not
        count; below how often each is beyond them: formula, draws, full draws.
    """
    line = made.line
    heading = f"Steps of the {line.figure.heading} between neighbours"
    if not len(line.pairs):
        return nothing_to_draw(about, heading, "No two neighbours have the figure: there are no steps.")
    relative, si = line.figure.relative, line.figure.unit
    factor, unit = (100.0, "%") if relative else (float(shown(1.0, si, units)[0]), shown(1.0, si, units)[1])
    places, middle = np.arange(len(line.pairs)), factor * line.drawn
    sds, limit = factor * np.sqrt(np.sum(line.variances, axis=1)), factor * line.limit
    figure = page(about, heading, 11.5, 6.4)
    grid = panels(figure, 2, 1, Margins(left=0.85, right=2.75, bottom=0.62), hspace=0.14, height_ratios=(1.5, 1))
    below = figure.add_subplot(grid[1])
    above = figure.add_subplot(grid[0], sharex=below)
    above.axhspan(-limit, limit, facecolor="#e6f1ea", zorder=0, label="not beyond the limit")
    for side in (-1, 1):
        above.axhline(side * limit, color=VERMILLION, linewidth=0.9, linestyle=(0, (5, 2)))
    above.errorbar(places, middle, 2 * sds, fmt="none", ecolor=SKY, elinewidth=1.2, label="two standard deviations")
    above.errorbar(places, middle, sds, fmt="none", ecolor=BLUE, elinewidth=2.6, label="one standard deviation")
    above.plot(places, middle, "o", color=BLACK, markersize=3.5, label="as drawn")
    above.set_ylabel(axis_title("step", unit))
    below.bar(places, 100 * line.beyond(), 0.7, color="#c9dcea", edgecolor=BLUE, linewidth=0.6, label="by the formula")
    if made.worths.drawn:
        below.plot(places, 100 * made.worths.drawn.all.pairs, "_", color=BLACK, markersize=6, label="drawn")
    full = made.full_steps
    if full and full.count >= ENOUGH:
        below.plot(
            places, 100 * full.pairs, "x", color=ORANGE, markersize=4, label=f"{full.count} full draws",
        )  # fmt: skip
    below.set_ylabel(axis_title("beyond", "%"))
    below.set_ylim(0.0, max(1.1 * below.get_ylim()[1], 1.0))
    _names(made, places, below)
    above.tick_params(axis="x", labelbottom=False)
    for axes in (above, below):
        axes.grid(False, axis="x")
        axes.legend(loc="upper left", bbox_to_anchor=(1.01, 1.02), borderaxespad=0.0)
    width, height = figure.get_size_inches()
    words = "\n".join(_told(made, len(places)))
    figure.text(1 - 2.62 / width, (FOOT + 0.62) / height, words, color=FAINT, va="bottom", size=SMALL)
    return figure


def _told(made: Tolerances, pairs: int) -> Iterator[str]:
    """What draws say of the whole; full draws that are too few for a share of each step."""
    if made.worths.drawn:
        told = made.worths.drawn.all
        yield f"drawn: {told.expected:.1f} of {pairs} beyond on average,"
        yield f"none in {100 * told.none:.1f} % of all draws"
    if (full := made.full_steps) and full.count < ENOUGH:
        yield f"{full.count} full draw{'s' * (full.count != 1)}: {full.expected:.1f} of {pairs} beyond on"
        yield f"average; fewer than {ENOUGH} are not shown"


def _names(made: Tolerances, places: NDArray[np.int64], axes: Axes) -> None:
    naming = made.case.naming
    names = [note_name(int(made.line.notes[high]), naming) for _, high in made.line.pairs.tolist()]
    every = max(-(-len(names) // _MOST_NAMES), 1)
    axes.set_xticks(places[::every], names[::every], rotation=90 if len(names) > 14 else 0)
    beside = max((_LEAST_WIDE - len(names)) / 2, 0.0)
    axes.set_xlim(-0.8 - beside, len(names) - 0.2 + beside)
    axes.set_xlabel("to the note, from the one below")
