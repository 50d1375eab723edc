"""Layers of a drawing and the lines on them.

Widths are of the series of ISO 128 (0.18, 0.25, 0.35, 0.5, 0.7 mm), a thick line twice as wide as a thin one; dashes
and dots are multiples of the width, after ISO 128-2 (from memory).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from keyaction.plots.style.pens import BLACK, BLUE, FAINT, HAIR, VERMILLION, WASH

Kind = Literal["visible", "hidden", "centre"]

DASHES: dict[Kind, tuple[float, ...]] = {"visible": (), "hidden": (12, 3), "centre": (24, 3, 0.5, 3)}
"""Strokes and gaps in line widths, beginning with a stroke."""
GROUPS = ((0.35, 0.18), (0.5, 0.25), (0.7, 0.35))
"""Widths of thick and thin lines, mm: of sheets at 1:10 and smaller, of those between, of those at full size."""


@dataclass(frozen=True)
class Layer:
    """A layer.

    Parameters
    ----------
    name : str
    what : str
        For people.
    kind : {"visible", "hidden", "centre"}
        Of its lines, unless a line says otherwise.
    thick : bool
    colour : str
        As ``#rrggbb``, on paper.
    number : int
        Colour number of the layer in DXF.
    wash : str
        With what closed outlines are filled on paper; empty for nothing.
    """

    name: str
    what: str
    kind: Kind = "visible"
    thick: bool = False
    colour: str = BLACK
    number: int = 7
    wash: str = ""


_ALL = (
    Layer("OUTLINE", "edges of the board and of the room that there is", thick=True),
    Layer("GROOVES", "grooves of the chest", kind="hidden", number=8, colour=FAINT),
    Layer("NATURALS", "keys of the naturals"),
    Layer("SHARPS", "keys of the sharps", wash=HAIR),
    Layer("KEYS", "levers of the keys, from front to rod", thick=True),
    Layer("PALLETS", "pallets", wash=WASH),
    Layer("AXES", "axes and middle lines", kind="centre", number=8, colour=FAINT),
    Layer("ROLLERS", "shafts of the rollers", wash=WASH),
    Layer("LEVERS", "levers of one note", thick=True),
    Layer("BEARINGS", "bearings", wash=HAIR, number=4),
    Layer("RODS", "rods", colour=BLUE, number=5),
    Layer("SPREADING", "from the line of the key to that of the pallet, as seen from above", colour=BLUE, number=5),
    Layer("ARMS", "arms of the rollers", thick=True, number=3),
    Layer("DIMENSIONS", "dimensions", number=6),
    Layer("TEXT", "names and tables"),
    Layer("WARNINGS", "what does not fit", colour=VERMILLION, number=1, thick=True),
    Layer("FRAME", "frame, title block and scale bar"),
    Layer("BAR", "dark fields of the scale bar", wash=BLACK),
)
LAYERS: dict[str, Layer] = {layer.name: layer for layer in _ALL}
"""In the order in which they are drawn, one over the other."""


def width_of(layer: Layer, factor: float) -> float:
    """Width of a layer's lines on paper, mm; `factor` is paper over real."""
    thick, thin = GROUPS[0 if factor <= 0.1 else 2 if factor >= 1 else 1]
    return thick if layer.thick else thin
