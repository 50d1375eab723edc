"""Peak and lift over the play of a coupler: what is bought, and what it costs."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from matplotlib.figure import Figure

from keyaction.models.units.quantity import System
from keyaction.plots.style.labels import Mark, mark_above, mark_right
from keyaction.plots.style.page import Floats, Margins, axis_title, in_style, page, panels, shown
from keyaction.plots.style.pens import BLUE, FAINT, INK
from keyaction.sim.files.labelled import Result


@in_style
def coupler_play(
    heading: str,
    plays: Floats,
    peaks: Floats,
    lifts: Floats,
    lift_kept: float,
    marks: Mapping[str, float],
    about: Mapping[str, str],
    units: System = "trade",
) -> Figure:
    """Draw the highest peak and the lift of the driven pallet over the play of a coupler.

    Parameters
    ----------
    heading : str
        Which coupler, and which key.
    plays, peaks, lifts : (n,) arrays
        m, N, m; NaN where nothing was found.
    lift_kept : float
        The least lift that is asked for, m; NaN where none is.
    marks : mapping of str to float
        Plays (m) by the words for them.
    about : mapping of str to str
        ``title`` and ``case_name`` for head and foot of the page.
    units : {"trade", "si"}

    Returns
    -------
    matplotlib.figure.Figure
        Two panels over one axis of play.
    """
    figure = page(Result({}, dict(about)), heading, 8.4, 6.4)
    grid = panels(figure, 2, 1, Margins(left=0.85, right=1.5, top=0.5), hspace=0.12)
    above = figure.add_subplot(grid[0])
    below = figure.add_subplot(grid[1], sharex=above)
    across, across_unit = shown(plays, "m", units)
    for axes, values, si, words, color in (
        (above, peaks, "N", "highest peak", INK),
        (below, lifts, "m", "lift of the driven pallet", BLUE),
    ):
        course, unit = shown(values, si, units)
        axes.plot(across, course, color=color)
        axes.set_ylabel(axis_title(words, unit))
        axes.margins(y=0.15)
        for play in marks.values():
            at = float(shown(play, "m", units)[0])
            axes.axvline(at, color=FAINT, linewidth=0.8, linestyle=(0, (4, 2)))
    above.tick_params(labelbottom=False)
    above.set_xlim(0.0, float(across[-1]))
    below.set_xlabel(axis_title("play of the coupler, where it gives", across_unit))
    figure.align_ylabels([above, below])
    if np.isfinite(lift_kept):
        least = float(shown(lift_kept, "m", units)[0])
        low, high = below.get_ylim()
        below.axhline(least, color=FAINT, linewidth=0.8, linestyle=(0, (1, 2)))
        below.set_ylim(min(low, least - 0.1 * (high - low)), max(high, least + 0.1 * (high - low)))
        mark_right(below, [Mark(least, "least lift")], 0.12)
    mark_above(above, [Mark(float(shown(play, "m", units)[0]), words) for words, play in marks.items()])
    return figure
