"""What the pictures of a comparison share: names of the variants, and a legend for the whole page."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence

from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Patch

from keyaction.plots.style.page import FOOT
from keyaction.sim.files.labelled import Result

_LONGEST = 46


def names(result: Result) -> list[str]:
    """Letter and name of every variant, shortened."""
    found = []
    for letter, name in zip(result["letter"], result["variant"], strict=True):
        found.append(f"{letter}  {textwrap.shorten(str(name), _LONGEST, placeholder=' ...')}")
    return found


def below_all(figure: Figure, axes: Axes, handles: Sequence[Line2D | Patch], left: float) -> None:
    """A legend of two columns above the footer, `left` inches from the edge, owned by one of the panels."""
    width, height = (float(size) for size in figure.get_size_inches())
    axes.legend(
        handles=list(handles),
        loc="lower left",
        bbox_to_anchor=(left / width, FOOT / height),
        bbox_transform=figure.transFigure,
        ncols=2,
        borderaxespad=0.0,
    )
