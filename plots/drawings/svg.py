"""Sheets as SVG: width and height in mm and a viewBox in mm, so that one unit is one mm on paper."""

from __future__ import annotations

import math
from collections.abc import Iterator
from xml.sax.saxutils import escape, quoteattr

from keyaction.plots.drawings.drawing import Arc, Circle, Item, Stroke, Text, Xy, layer_of
from keyaction.plots.drawings.layers import DASHES, LAYERS, Layer, width_of
from keyaction.plots.drawings.lettering import CAPITALS, FAMILY, foot_of, width
from keyaction.plots.drawings.sheet import Page
from keyaction.sim.files.taken import DRAWN

_FONTS = f"'{FAMILY}', Verdana, sans-serif"


def svg(page: Page) -> str:
    """A sheet as SVG, the same text for the same sheet.

    Every layer is a group with the layer's name; what an item is stands in its attribute ``data-of``.
    """
    size = f'width="{_n(page.paper.width)}mm" height="{_n(page.paper.height)}mm"'
    box = f'viewBox="0 0 {_n(page.paper.width)} {_n(page.paper.height)}"'
    lines = [
        '<?xml version="1.0" encoding="UTF-8"?>',
        f"<!-- {DRAWN} -->",
        f'<svg xmlns="http://www.w3.org/2000/svg" {size} {box} font-family={quoteattr(_FONTS)}>',
        f"<title>{escape(page.title)}</title>",
        f"<desc>One unit is 1 mm on paper; drawn at {page.scale}.</desc>",
        f'<rect width="{_n(page.paper.width)}" height="{_n(page.paper.height)}" fill="white"/>',
    ]
    for name, layer in LAYERS.items():
        items = [item for item in page.items if layer_of(item) == name]
        if items:
            lines += _group(layer, items, page)
    return "\n".join([*lines, "</svg>", ""])


def _group(layer: Layer, items: list[Item], page: Page) -> Iterator[str]:
    """The lines of a layer's group."""
    thick = width_of(layer, page.scale.factor)
    dashes = _dashes(DASHES[layer.kind], thick) if DASHES[layer.kind] else ""
    look = f'fill="none" stroke="{layer.colour}" stroke-width="{_n(thick)}"{dashes}'
    yield f'<g id="{layer.name}" {look} stroke-linejoin="round">'
    for item in items:
        yield _element(item, layer, thick, page.paper.height)
    yield "</g>"


def _dashes(pattern: tuple[float, ...], thick: float) -> str:
    told = " ".join(_n(one * thick) for one in pattern)
    return f' stroke-dasharray="{told or "none"}"'


def _element(item: Item, layer: Layer, thick: float, height: float) -> str:
    def at(point: Xy) -> str:
        return f"{_n(point[0])} {_n(height - point[1])}"

    of = f" data-of={quoteattr(item.of)}" if item.of else ""
    if isinstance(item, Stroke):
        path = "M" + " L".join(at(point) for point in item.points) + (" Z" if item.closed else "")
        wash = f' fill="{layer.wash}"' if item.closed and layer.wash else ""
        dashes = _dashes(DASHES[item.kind], thick) if item.kind else ""
        return f'<path d="{path}"{wash}{dashes}{of}/>'
    if isinstance(item, Circle):
        x, y = _n(item.centre[0]), _n(height - item.centre[1])
        return f'<circle cx="{x}" cy="{y}" r="{_n(item.radius)}"{of}/>'
    if isinstance(item, Arc):
        return f'<path d="{_arc(item, height)}"{of}/>'
    if isinstance(item, Text):
        return _text(item, layer, height, of)
    raise TypeError("dimensions are taken apart first")


def _arc(arc: Arc, height: float) -> str:
    (x, y), r = arc.centre, arc.radius
    ends = [(x + r * math.cos(a), height - y - r * math.sin(a)) for a in (arc.start, arc.end)]
    large = int((arc.end - arc.start) % (2 * math.pi) > math.pi)
    (ax, ay), (bx, by) = ends
    return f"M{_n(ax)} {_n(ay)} A{_n(r)} {_n(r)} 0 {large} 0 {_n(bx)} {_n(by)}"


def _text(text: Text, layer: Layer, height: float, of: str) -> str:
    """Lettering from its left foot, held to its length whatever font there is."""
    x, y = foot_of(text, 1.0)
    turn = f' transform="rotate({_n(-math.degrees(text.angle))} {_n(x)} {_n(height - y)})"' if text.angle else ""
    size, long = _n(text.height / CAPITALS), _n(width(text.words, text.height))
    held = f'textLength="{long}" lengthAdjust="spacingAndGlyphs" fill="{layer.colour}" stroke="none"'
    return f'<text x="{_n(x)}" y="{_n(height - y)}" font-size="{size}" {held}{turn}{of}>{escape(text.words)}</text>'


def _n(number: float) -> str:
    """A number to a ten-thousandth of a mm."""
    return f"{number:z.4f}".rstrip("0").rstrip(".")
