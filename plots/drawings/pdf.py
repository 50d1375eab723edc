"""Sheets as PDF, true to scale: one page, or tiles that are glued together."""

from __future__ import annotations

import io
import math
from collections.abc import Iterable
from typing import Any

import matplotlib as mpl
from matplotlib.artist import Artist
from matplotlib.backends.backend_pdf import FigureCanvasPdf, PdfPages
from matplotlib.figure import Figure
from matplotlib.font_manager import FontProperties
from matplotlib.path import Path
from matplotlib.transforms import Affine2D, Bbox, IdentityTransform

from keyaction.plots.drawings.boxes import Box
from keyaction.plots.drawings.drawing import Arc, Circle, Item, Stroke, Text, layer_of
from keyaction.plots.drawings.layers import DASHES, LAYERS, Layer, width_of
from keyaction.plots.drawings.lettering import CAPITALS, FAMILY, foot_of
from keyaction.plots.drawings.sheet import Page
from keyaction.plots.drawings.tiles import tiles
from keyaction.sim.files.taken import DRAWN

POINT = 72 / 25.4
"""Points in a mm."""
_RC: Any = {"pdf.fonttype": 3, "text.parse_math": False, "pdf.compression": 6, "path.simplify": False}


def pdf(page: Page, tile_paper: str = "A4") -> bytes:
    """A sheet as PDF, the same bytes for the same sheet.

    A sheet that is larger than the paper is printed on pages of `tile_paper` with overlap and register marks.
    """
    pages = tiles(page, tile_paper) if page.tiled else [page]
    out = io.BytesIO()
    about = {"Title": page.title, "Creator": DRAWN, "CreationDate": None}
    with mpl.rc_context(_RC), PdfPages(out, metadata=about) as file:
        for one in pages:
            figure = Figure(figsize=(one.paper.width / 25.4, one.paper.height / 25.4))
            FigureCanvasPdf(figure)
            figure.add_artist(_Ink(one))
            file.savefig(figure)
    return out.getvalue()


class _Ink(Artist):
    """All items of a sheet, drawn layer by layer."""

    def __init__(self, page: Page) -> None:
        super().__init__()
        self._page = page
        self.set_clip_on(False)

    def draw(self, renderer: Any) -> None:
        """Draw every layer."""
        for items, window in ((self._page.items, self._page.window), (self._page.beside, None)):
            for name, layer in LAYERS.items():
                _draw(renderer, layer, [item for item in items if layer_of(item) == name], self._page, window)


def _draw(renderer: Any, layer: Layer, items: Iterable[Item], page: Page, window: Box | None) -> None:
    gc = renderer.new_gc()
    if window:
        low, high = ((x * POINT, y * POINT) for x, y in ((window.left, window.foot), (window.right, window.top)))
        gc.set_clip_rectangle(Bbox((low, high)))
    thick = width_of(layer, page.scale.factor) * POINT
    gc.set_linewidth(thick)
    gc.set_foreground(layer.colour)
    gc.set_joinstyle("round")
    gc.set_capstyle("butt")
    for item in items:
        if isinstance(item, Text):
            _letter(renderer, gc, item)
            continue
        kind = (item.kind if isinstance(item, Stroke) else None) or layer.kind
        gc.set_dashes(0, [one * thick for one in DASHES[kind]] or None)
        filled = layer.wash and isinstance(item, Stroke) and item.closed
        renderer.draw_path(gc, _path(item), IdentityTransform(), mpl.colors.to_rgba(layer.wash) if filled else None)
    gc.restore()


def _path(item: Item) -> Path:
    if isinstance(item, Stroke):
        points = [(x * POINT, y * POINT) for x, y in item.points]
        return Path([*points, points[0]], closed=True) if item.closed else Path(points)
    if isinstance(item, Circle):
        return Path.circle((item.centre[0] * POINT, item.centre[1] * POINT), item.radius * POINT)
    if isinstance(item, Arc):
        to_page = Affine2D().scale(item.radius * POINT).translate(item.centre[0] * POINT, item.centre[1] * POINT)
        return Path.arc(math.degrees(item.start), math.degrees(item.end)).transformed(to_page)
    raise TypeError("dimensions are taken apart first")


def _letter(renderer: Any, gc: Any, text: Text) -> None:
    x, y = foot_of(text, 1.0)
    font = FontProperties(family=FAMILY, size=text.height / CAPITALS * POINT)
    renderer.draw_text(gc, x * POINT, y * POINT, text.words, font, math.degrees(text.angle))
