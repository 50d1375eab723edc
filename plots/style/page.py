"""The house style: the page that all pictures share, its title, footer and panels."""

from __future__ import annotations

import json
import textwrap
from collections.abc import Callable
from dataclasses import dataclass
from functools import wraps
from typing import Any, ParamSpec, TypeVar, cast

import matplotlib as mpl
import numpy as np
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.gridspec import GridSpec
from numpy.typing import NDArray

from keyaction._version import __version__
from keyaction.models.units.quantity import System, convert
from keyaction.plots.style.pens import FAINT, HAIR, INK, LARGE, PLAIN, SMALL, VERMILLION
from keyaction.sim.files.labelled import Result

Floats = NDArray[np.float64]
P = ParamSpec("P")
R = TypeVar("R")

DPI = 150
"""Dots per inch of a saved picture."""
HEAD, FOOT = 0.78, 0.34
"""Inches kept for title and footer."""

_LETTERS = 13
"""Letters of plain size in an inch."""

RC: dict[str, Any] = {
    "font.family": "DejaVu Sans",
    "font.size": PLAIN,
    "text.color": INK,
    "text.parse_math": False,
    "axes.edgecolor": INK,
    "axes.labelcolor": INK,
    "axes.labelsize": PLAIN,
    "axes.linewidth": 0.8,
    "axes.spines.top": False,
    "axes.spines.right": False,
    "axes.grid": True,
    "axes.axisbelow": True,
    "axes.unicode_minus": True,
    "grid.color": HAIR,
    "grid.linewidth": 0.5,
    "xtick.color": INK,
    "ytick.color": INK,
    "xtick.labelsize": SMALL,
    "ytick.labelsize": SMALL,
    "legend.fontsize": SMALL,
    "legend.frameon": False,
    "legend.handlelength": 3.2,
    "lines.linewidth": 1.5,
    "lines.solid_capstyle": "round",
    "hatch.linewidth": 0.5,
    "figure.facecolor": "white",
    "savefig.dpi": DPI,
}


def in_style(draw: Callable[P, R]) -> Callable[P, R]:
    """Draw in the house style and leave Matplotlib's settings as they were."""

    @wraps(draw)
    def drawn(*args: P.args, **kwargs: P.kwargs) -> R:
        with mpl.rc_context(cast(Any, RC)):
            return draw(*args, **kwargs)

    return drawn


@dataclass(frozen=True)
class Margins:
    """Inches left free beside the panels, within title and footer."""

    left: float = 0.75
    right: float = 0.3
    top: float = 0.0
    bottom: float = 0.5


def page(result: Result, heading: str, width: float, height: float) -> Figure:
    """An empty page with its title, the case's title and the footer.

    Parameters
    ----------
    result : Result
    heading : str
        What is drawn, and of which note.
    width, height : float
        Inches.
    """
    figure = Figure(figsize=(width, height))
    FigureCanvasAgg(figure)
    left = 0.2 / width
    figure.text(left, 1 - 0.34 / height, heading, size=LARGE, weight="bold", va="baseline", gid="heading")
    case = textwrap.shorten(" ".join(result.title.split()), int(_LETTERS * width), placeholder=" ...")
    figure.text(left, 1 - 0.58 / height, case, size=PLAIN, color=FAINT, va="baseline", gid="case")
    figure.text(left, 0.13 / height, footer(result), size=SMALL - 1, color=FAINT, va="baseline", gid="footer")
    return figure


def tell_verdict(figure: Figure, text: str) -> None:
    """A line under the titles that says what is wrong with the note; none where nothing is."""
    width, height = (float(size) for size in figure.get_size_inches())
    if text:
        line = textwrap.shorten(text, int(_LETTERS * width * PLAIN / SMALL), placeholder=" ...")
        y = 1 - 0.74 / height
        figure.text(0.2 / width, y, line, size=SMALL, weight="bold", color=VERMILLION, va="baseline", gid="verdict")


def footer(result: Result) -> str:
    """The program's version that made the result, the case's file, and the day."""
    version = json.loads(result.about.get("versions", "{}")).get("keyaction", __version__)
    parts = (f"keyaction {version}", result.about.get("case_name", ""), result.about.get("made", "")[:10])
    return "  |  ".join(part for part in parts if part)


def panels(figure: Figure, rows: int, columns: int, margins: Margins, **spacing: Any) -> GridSpec:
    """A grid of panels between title and footer; `spacing` as for Matplotlib's grid."""
    width, height = (float(size) for size in figure.get_size_inches())
    return figure.add_gridspec(
        rows,
        columns,
        left=margins.left / width,
        right=1 - margins.right / width,
        top=1 - (HEAD + margins.top) / height,
        bottom=(FOOT + margins.bottom) / height,
        **spacing,
    )


def axis_title(words: str, unit: str) -> str:
    """Words of an axis with its unit."""
    return f"{words} ({unit})" if unit else words


def shown(values: Any, si_unit: str, units: System, kind: str | None = None) -> tuple[Floats, str]:
    """Values in the reader's unit, and that unit's name."""
    return convert(np.asarray(values, dtype=np.float64), si_unit, units, kind)


def explain(axes: Axes, text: str) -> None:
    """In place of a drawing: why there is none."""
    axes.set_axis_off()
    width = int(axes.get_window_extent().width / axes.figure.dpi * _LETTERS)
    lines = "\n".join(textwrap.fill(line, max(width, 20)) for line in text.splitlines())
    axes.text(0.5, 0.55, lines, transform=axes.transAxes, ha="center", va="center", color=FAINT, gid="why")


def nothing_to_draw(result: Result, heading: str, text: str) -> Figure:
    """A page that says why it is empty."""
    figure = page(result, heading, 9.0, 3.2)
    explain(figure.add_subplot(panels(figure, 1, 1, Margins(bottom=0.1))[0]), text)
    return figure
