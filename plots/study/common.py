"""What the pictures of a study share: which quantities and inputs they show, and how their panels are laid out."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.transforms import Transform

from keyaction.plots.style.labels import Mark, breadth, mark_right
from keyaction.plots.style.page import FOOT, HEAD, Floats, Margins, page, panels
from keyaction.plots.style.pens import FAINT, INK, SMALL, Pen
from keyaction.sim.analysis.reasons import counted_by_cause
from keyaction.sim.analysis.view import StudyView
from keyaction.sim.figures.columns import shown_in
from keyaction.sim.files.labelled import Result

MOST_DRAWN = 5_000
"""Designs that a picture shows one by one, or fits a surface to; of more they are drawn at random."""
MOST_PANELS = 6
"""Quantities in one picture."""
MOST_INPUTS = 14
"""Inputs in one panel; the rest matter less."""
_NARROWEST, WIDEST = 7.2, 13.0
"""Inches that a page needs for its key, and that still read on a screen and on paper."""
_SQUEEZE = 0.62
"""Share of its width down to which a panel gives way before the panels go below each other."""


@dataclass(frozen=True)
class Shown:
    """What a picture shows: the study, the note's row, the quantities, and why there is nothing to draw, if so.

    `more` are quantities beyond those that a picture has room for.
    """

    view: StudyView
    note: int
    quantities: tuple[str, ...]
    why: str
    more: tuple[str, ...] = ()

    def heading(self, words: str) -> str:
        """A page's title."""
        return f"{words}, {self.view.result.notes[self.note]}"


def choose(result: Result, note: str, quantities: Sequence[str] | None) -> Shown:
    """What to show of a study.

    Raises
    ------
    KeyError
        If the study does not hold the note.
    NotInStudy
        If it does not hold a quantity.
    """
    view, row = StudyView(result), result.index(note)
    if quantities is not None:
        names = [view.known(name) for name in quantities]
    else:
        names = list(view.quantities)
        if len(names) > MOST_PANELS:
            names = [usual.name for usual in shown_in("pictures") if usual.name in names] or names
    more = [name for name in (view.quantities if quantities is None else names) if name not in names[:MOST_PANELS]]
    return Shown(view, row, tuple(names[:MOST_PANELS]), _nothing(view, row, names), tuple(more))


def _nothing(view: StudyView, row: int, names: Sequence[str]) -> str:
    if not view.inputs:
        return "Nothing is varied in this study."
    view.look(names, row)
    if any(view.spread(name, row).count for name in names):
        return ""
    reasons = "\n".join(f"{count}: {text}" for text, count in counted_by_cause(view.reasons(row)).most_common(3))
    count = len(view.rows)
    return f"No design has a value at {view.result.notes[row]} ({count} design{'s' * (count != 1)}).\n{reasons}"


def ranked(weights: Floats) -> list[int]:
    """Inputs that a panel shows, those that matter most first."""
    order = np.argsort(-np.nan_to_num(weights, nan=-1.0), kind="stable")
    return [int(i) for i in order[:MOST_INPUTS]]


def drawn(shown: Shown) -> tuple[Shown, str]:
    """The same with designs drawn at random in place of very many, in memory; and words for it, empty if they are few.

    What is said of all designs is asked of the whole.
    """
    some = shown.view.some(MOST_DRAWN)
    part = len(some.rows) < len(shown.view.rows)
    words = f"{len(some.rows)} of {len(shown.view.rows)} designs, drawn at random" if part else ""
    return replace(shown, view=some), words


def left_out(shown: int, there: int) -> str:
    """What a picture says of inputs that it does not show."""
    return f"the {shown} of {there} inputs that matter most" if shown < there else ""


def left_away(shown: Shown, *more: str) -> str:
    """What a picture says of quantities that it has no room for, after what else it says of what is left out."""
    there, whole = len(shown.quantities), len(shown.quantities) + len(shown.more)
    told = f"{there} of {whole} quantities; others by name (--quantity)" if shown.more else ""
    return "; ".join(text for text in (*more, told) if text)


def room(names: Sequence[str]) -> float:
    """Inches that the longest of these names takes, before there is a page."""
    scratch = Figure()
    FigureCanvasAgg(scratch)
    return breadth(scratch, names)


def capital(text: str) -> str:
    """A text with its first letter capital and the others as they are."""
    return text[:1].upper() + text[1:]


def title(axes: Axes, text: str, small: str = "") -> None:
    """A panel's title with lines of small print under it."""
    pad = 10 + 10 * (small.count("\n") + 1) if small else 8
    axes.set_title(text, loc="left", size=SMALL + 1.5, weight="bold", pad=pad)
    if small:
        up = 1 + 0.06 * axes.figure.dpi / axes.get_window_extent().height
        axes.text(0.0, up, small, transform=axes.transAxes, va="bottom", size=SMALL - 0.5, color=FAINT, gid="small")


def name_right(axes: Axes, marks: Sequence[tuple[Mark, Pen]]) -> None:
    """Name values of the vertical axis right of the panel, each name behind the marker of its pen; call it last."""
    mark_right(axes, [mark for mark, _ in marks])
    looks = {mark.text: look for mark, look in marks}
    inch = axes.figure.dpi / axes.get_window_extent().width
    for text in axes.texts:
        if text.get_gid() == "mark":
            x, y = text.get_position()
            dot(axes, (x + 0.04 * inch, y), looks[text.get_text()], axes.transAxes)
            text.set_x(x + 0.14 * inch)


def dot(axes: Axes, at: tuple[float, float], look: Pen, transform: Transform | None = None) -> None:
    """A pen's marker at a place, of the panel's data or of another transform."""
    axes.plot(
        [at[0]],
        [at[1]],
        look.marker,
        color=look.color,
        markeredgecolor=INK,
        markeredgewidth=0.6,
        markersize=6.0,
        zorder=3,
        clip_on=False,
        scalex=False,
        scaley=False,
        transform=transform or axes.transData,
    )


def letter(axes: Axes, text: str, at: tuple[float, float], shift: tuple[float, float], **look: Any) -> None:
    """Lettering at a place of the panel, shifted by points; `look` as for Matplotlib's text."""
    settings: dict[str, Any] = {"size": SMALL - 0.5, "color": INK} | look
    axes.annotate(text, at, shift, textcoords="offset points", **settings)


def key(figure: Figure, handles: Sequence[Artist], more: str = "", columns: int = 4) -> None:
    """A legend under the page's title, for all its panels, and a line more below it."""
    width, height = figure.get_size_inches()
    rows = max(math.ceil(len(handles) / columns), 1)
    figure.legend(
        handles=handles,
        loc="upper left",
        bbox_to_anchor=(0.2 / width, 1 - 0.73 / height),
        ncols=columns,
        borderaxespad=0.0,
        borderpad=0.0,
    )
    figure.text(0.2 / width, 1 - (0.78 + 0.17 * rows) / height, more, size=SMALL, color=FAINT, va="top")


def sheet(
    shown: Shown,
    heading: str,
    columns: int,
    width: float,
    height: float,
    margins: Margins,
    between: tuple[float, float],
) -> tuple[Figure, list[Axes]]:
    """A page with a panel for each quantity.

    Parameters
    ----------
    shown : Shown
    heading : str
    columns : int
        Panels side by side at most; fewer where the page would be too wide.
    width, height : float
        Of one panel, inches; it gets narrower before there are fewer side by side.
    margins : Margins
        Beside all panels.
    between : (across, down)
        Inches between panels.
    """
    count = len(shown.quantities)
    down = math.ceil(count / columns)
    across = math.ceil(count / down)
    beside = margins.left + margins.right + (across - 1) * between[0]
    if across > 1 and beside + across * _SQUEEZE * width > WIDEST:
        return sheet(shown, heading, across - 1, width, height, margins, between)
    width = max(min(width, (WIDEST - beside) / across), _SQUEEZE * width)
    wide = beside + across * width
    high = HEAD + FOOT + margins.top + margins.bottom + down * height + (down - 1) * between[1]
    figure = page(shown.view.result, shown.heading(heading), max(wide, _NARROWEST), high)
    grid = panels(figure, down, across, margins, wspace=between[0] / width, hspace=between[1] / height)
    return figure, [figure.add_subplot(grid[i // across, i % across]) for i in range(count)]
