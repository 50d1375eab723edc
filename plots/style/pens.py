"""The house style: colours, pens and sizes of lettering that all pictures share.

Colours are those of M. Okabe and K. Ito, "Color universal design: how to make figures and presentations that are
friendly to colorblind people" (2008). Colour never stands alone: lines differ in their dashes as well, areas in
their hatching, so that a picture survives a black-and-white printer.
"""

from __future__ import annotations

from dataclasses import dataclass

Dash = str | tuple[float, tuple[float, ...]]

BLACK, ORANGE, SKY, GREEN = "#000000", "#E69F00", "#56B4E9", "#009E73"
YELLOW, BLUE, VERMILLION, PURPLE = "#F0E442", "#0072B2", "#D55E00", "#CC79A7"
INK, FAINT, HAIR, WASH = "#1c1c1c", "#5f5f5f", "#d4d4d4", "#eeeeee"

SMALL, PLAIN, LARGE = 8.0, 9.0, 13.0
"""Sizes of lettering, points."""


@dataclass(frozen=True)
class Pen:
    """How a line is drawn: colour, dashes, and a marker where single values are shown."""

    color: str
    dash: Dash = "-"
    marker: str = "o"


PENS = (
    Pen(BLACK),
    Pen(BLUE, (0, (7, 2)), "s"),
    Pen(VERMILLION, (0, (4, 1.5, 1, 1.5)), "^"),
    Pen(GREEN, (0, (1.5, 1.2)), "D"),
    Pen(PURPLE, (0, (8, 1.5, 1.5, 1.5, 1.5, 1.5)), "v"),
    Pen(ORANGE, (0, (3, 3)), "P"),
    Pen(SKY, "-", "X"),
)
"""Pens in the order in which a panel takes them."""


def pen(i: int) -> Pen:
    """The pen of the i-th line of a panel: no two of the first 21 are alike."""
    n = len(PENS)
    other = PENS[(i + 2 * (i // n)) % n]
    return Pen(PENS[i % n].color, other.dash, other.marker)


def mark(i: int) -> Pen:
    """Colour and marker of the i-th input of a study: no two of the first 49 are alike."""
    n = len(PENS)
    return Pen(PENS[i % n].color, "-", PENS[(i + i // n) % n].marker)
