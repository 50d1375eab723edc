"""Feel curves of one note as it is and with each way of relief, on one another."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from matplotlib.figure import Figure

from keyaction.models.units.quantity import System, format_value
from keyaction.plots.style.labels import breadth
from keyaction.plots.style.page import Floats, Margins, axis_title, in_style, nothing_to_draw, page, panels, shown
from keyaction.plots.style.pens import pen
from keyaction.sim.files.labelled import Result

_FREE = 0.9
"""Share of the longest way up to which forces set the height: the bottom felt runs out of the frame."""


@dataclass(frozen=True)
class Curve:
    """A version's slow press down, m and N; empty where it could not be pressed."""

    name: str
    travel: Floats
    force: Floats


@in_style
def relief(heading: str, curves: Sequence[Curve], about: Mapping[str, str], units: System = "trade") -> Figure:
    """Draw the slow presses of the versions of one note.

    Parameters
    ----------
    heading : str
        Which note.
    curves : sequence of Curve
        The train as it is first.
    about : mapping of str to str
        ``title`` and ``case_name`` for head and foot of the page.
    units : {"trade", "si"}

    Returns
    -------
    matplotlib.figure.Figure
        One panel, key force over key travel; the legend has the highest force of each.
    """
    result = Result({}, dict(about))
    there = [(i, one) for i, one in enumerate(curves) if len(one.travel)]
    if not there:
        return nothing_to_draw(result, heading, "No version could be pressed.")
    far = _FREE * max(float(one.travel[-1]) for _, one in there)
    tops = {i: float(np.max(one.force[one.travel <= far], initial=0.0)) for i, one in there}
    names = {i: f"{one.name}: {format_value(tops[i], 'N', units)}" for i, one in there}
    figure = page(result, heading, 9.6, 5.4)
    right = 0.75 + breadth(figure, list(names.values()))
    axes = figure.add_subplot(panels(figure, 1, 1, Margins(left=0.8, right=right, top=0.25))[0])
    way_unit = force_unit = ""
    for i, one in there:
        way, way_unit = shown(one.travel, "m", units)
        force, force_unit = shown(one.force, "N", units)
        style = pen(i)
        axes.plot(way, force, color=style.color, linestyle=style.dash, linewidth=1.4, label=names[i])
    axes.set_xlim(left=0.0)
    axes.set_ylim(0.0, max(float(shown(max(tops.values()), "N", units)[0]) * 1.15, 1e-9))
    axes.set_xlabel(axis_title("key travel, pressed slowly", way_unit))
    axes.set_ylabel(axis_title("key force", force_unit))
    axes.legend(loc="upper left", bbox_to_anchor=(1.01, 1.02), borderaxespad=0.0)
    return figure
