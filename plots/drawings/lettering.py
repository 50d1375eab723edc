"""How wide and high lettering is, on any machine the same: by the font that Matplotlib brings along."""

from __future__ import annotations

import math
from functools import cache
from pathlib import Path

import matplotlib as mpl
from matplotlib.ft2font import FT2Font

from keyaction.plots.drawings.drawing import Text, Xy

SMALL, PLAIN, LARGE = 2.5, 3.5, 5.0
"""Heights of capitals of ISO 3098, mm."""
CAPITALS = 1493 / 2048
"""Height of the font's capitals over its size."""
FAMILY = "DejaVu Sans"
BELOW = 0.32
"""How far letters reach below their foot, in heights of capitals."""


@cache
def _font() -> FT2Font:
    font = FT2Font(str(Path(mpl.get_data_path()) / "fonts" / "ttf" / "DejaVuSans.ttf"))
    font.set_size(100, 72)
    return font


@cache
def _advance(letter: str) -> float:
    """Width of a letter over the height of capitals."""
    glyph = _font().load_char(ord(letter))
    return float(glyph.linearHoriAdvance) / 65536 / 100 / CAPITALS


def width(words: str, height: float) -> float:
    """Width of a line of lettering, mm, at a height of capitals in mm."""
    return height * sum(_advance(letter) for letter in words)


def fits(words: str, height: float, room: float) -> bool:
    """Whether a line of lettering is no wider than the room (mm)."""
    return width(words, height) <= room


def shortened(words: str, height: float, room: float) -> str:
    """The words, cut off with dots where they are wider than the room (mm)."""
    if fits(words, height, room):
        return words
    kept = words
    while kept and width(f"{kept.rstrip()} ...", height) > room:
        kept = kept[:-1]
    return f"{kept.rstrip()} ..."


def wrapped(words: str, height: float, room: float) -> list[str]:
    """The words in lines that are not wider than the room (mm)."""
    lines: list[str] = []
    for word in words.split():
        longer = f"{lines[-1]} {word}" if lines else word
        if lines and width(longer, height) <= room:
            lines[-1] = longer
        else:
            lines.append(shortened(word, height, room))
    return lines


def foot_of(text: Text, factor: float) -> Xy:
    """Where the line's left foot stands, in mm of what `factor` (paper over real) makes paper of."""
    size, wide = text.height / factor, width(text.words, text.height) / factor
    dx = {"left": 0.0, "middle": -wide / 2, "right": -wide}[text.across]
    dy = {"foot": 0.0, "middle": -size / 2, "top": -size}[text.along]
    c, s = math.cos(text.angle), math.sin(text.angle)
    return text.at[0] + c * dx - s * dy, text.at[1] + s * dx + c * dy


def corners(text: Text, factor: float, below: float = BELOW) -> tuple[Xy, Xy, Xy, Xy]:
    """Corners of the box about the line, anticlockwise from its left foot, in mm of the real thing."""
    size, wide = text.height / factor, width(text.words, text.height) / factor
    x, y = foot_of(text, factor)
    c, s = math.cos(text.angle), math.sin(text.angle)
    box = ((0.0, -below * size), (wide, -below * size), (wide, size), (0.0, size))
    a, b, d, e = ((x + c * u - s * v, y + s * u + c * v) for u, v in box)
    return a, b, d, e
