"""Sizes of pallets over the compass: openings as drawn, smallest and by custom; what they cost; what they feed."""

from __future__ import annotations

from dataclasses import dataclass

from matplotlib.axes import Axes
from matplotlib.figure import Figure

from keyaction.models.units.quantity import System
from keyaction.plots.compass.keyboard import MARKS, along, joined, lay_out, mark_verdicts, widen
from keyaction.plots.style.labels import breadth
from keyaction.plots.style.page import Margins, axis_title, page, panels, shown
from keyaction.plots.style.pens import BLACK, BLUE, GREEN, Pen
from keyaction.plots.style.picture import of_compass
from keyaction.sim.files.labelled import Result


@dataclass(frozen=True)
class _Panel:
    """Quantities of one panel with their pens, the words of its axis, and what a note without one is called."""

    names: tuple[str, ...]
    pens: tuple[Pen, ...]
    words: str
    none: str


_DRAWN, _SMALLEST, _OTHER = Pen(BLACK, "-", "o"), Pen(BLUE, (0, (5, 2)), "^"), Pen(GREEN, (0, (1.5, 1.5)), "D")
_PANELS = (
    _Panel(("opening_drawn", "opening_smallest", "opening_custom"), (_DRAWN, _SMALLEST, _OTHER), "opening", "no size"),
    _Panel(("pluck_drawn", "pluck_smallest", "pluck_kept"), (_DRAWN, _SMALLEST, _OTHER), "pluck force", "no size"),
    _Panel(("share_drawn", "share_smallest"), (_DRAWN, _SMALLEST), "share of the wind", "no size"),
)


@of_compass("Sizes of pallets")
def pallet_sizes(result: Result, heading: str, units: System) -> Figure:
    """Draw what `sizes_result` holds over the compass.

    Returns
    -------
    matplotlib.figure.Figure
        Length of the opening as drawn, the smallest that feeds the stops, and that of custom; pluck force as drawn,
        with the smallest, and with the shortest whose eye keeps its place; what the groove holds of the wind with no
        key down. Notes without a size are gaps, marked by their verdict.
    """
    figure = page(result, heading, 10.5, 8.6)
    names = [result.held(name).label for panel in _PANELS for name in panel.names]
    right = 0.75 + breadth(figure, [*MARKS, *names])
    grid = panels(figure, 4, 1, Margins(left=0.85, right=right, top=0.1), hspace=0.16, height_ratios=(1.4, 1.2, 1, 0.2))
    strip = figure.add_subplot(grid[3])
    rows = [figure.add_subplot(grid[i], sharex=strip) for i in range(3)]
    for axes, panel in zip(rows, _PANELS, strict=True):
        _courses(axes, result, panel, units)
    lay_out(rows, strip, result)
    figure.align_ylabels(rows)
    for axes in rows:
        axes.legend(loc="upper left", bbox_to_anchor=(1.01, 1.02), borderaxespad=0.0)
    return figure


def _courses(axes: Axes, result: Result, panel: _Panel, units: System) -> None:
    si = result.held(panel.names[0]).unit
    unit = ""
    for name, style in zip(panel.names, panel.pens, strict=True):
        variable = result.held(name)
        values, unit = (100 * variable.data, "%") if not si else shown(variable.data, si, units)
        x, y = along(result, values)
        dash = style.dash if joined(y) else "none"
        axes.plot(
            x, y, color=style.color, linestyle=dash, marker=style.marker, markersize=3.6, linewidth=1.0,
            label=variable.label,
        )  # fmt: skip
    mark_verdicts(axes, result, result[panel.names[1]], panel.none, every=panel is _PANELS[0])
    axes.set_ylabel(axis_title(panel.words, unit))
    axes.margins(y=0.12)
    axes.use_sticky_edges = False
    if si:
        axes.set_ylim(bottom=0.0)
        widen(axes, si, units)
