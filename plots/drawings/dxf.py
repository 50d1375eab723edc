"""Drawings as DXF: in mm of the real thing, 1:1, every layer by its name, for the saw and the CNC."""

from __future__ import annotations

import io
import math
from collections.abc import Iterator
from contextlib import contextmanager
from importlib import import_module
from typing import Any

from keyaction.plots.drawings.boxes import extent
from keyaction.plots.drawings.dimensions import plain_items
from keyaction.plots.drawings.drawing import Arc, Circle, Drawing, Item, Stroke, Text, layer_of
from keyaction.plots.drawings.foot import CHECK, Titles
from keyaction.plots.drawings.layers import LAYERS, width_of
from keyaction.plots.drawings.lettering import PLAIN, foot_of
from keyaction.plots.drawings.placing import oblong
from keyaction.sim.files.problem import FileProblem
from keyaction.sim.files.taken import DRAWN

MISSING = 'DXF needs ezdxf: pip install "keyaction[drawings]"'
APP = "KEYACTION"
"""Under which the file holds, of every item, what it is (extended data)."""
_MILLIMETRES = 4
_VERSION = "R2010"
_TYPES = {"hidden": "DASHED", "centre": "CENTER"}
_STYLE = "Standard"


class NoDxf(FileProblem):
    """The library that writes DXF is not installed."""


def library() -> Any:
    """The library that writes DXF.

    Raises
    ------
    NoDxf
        If it is not installed; the message names the extra.
    """
    try:
        return import_module("ezdxf")
    except ImportError:
        raise NoDxf(MISSING) from None


def dxf(drawing: Drawing, titles: Titles) -> str:
    """A drawing as DXF, the same text for the same drawing.

    Units are mm (``$INSUNITS`` 4). Lettering is as high as it is on paper at the drawing's scale.

    Raises
    ------
    NoDxf
        If ezdxf is not installed.
    """
    ezdxf = library()
    out = io.StringIO()
    with _without_the_hour(ezdxf):
        _document(ezdxf, drawing, titles).write(out)
    return out.getvalue()


def _document(ezdxf: Any, drawing: Drawing, titles: Titles) -> Any:
    doc = ezdxf.new(_VERSION, units=_MILLIMETRES)
    doc.appids.add(APP)
    doc.header.custom_vars.append("Program", DRAWN)
    factor = drawing.scale.factor
    items = (*plain_items(drawing), *_words(drawing, titles))
    _line_types(doc, drawing)
    for layer in LAYERS.values():
        if any(layer_of(item) == layer.name for item in items):
            made = doc.layers.add(layer.name, color=layer.number, linetype=_TYPES.get(layer.kind, "CONTINUOUS"))
            made.dxf.lineweight = round(100 * width_of(layer, factor))
            made.description = layer.what
    space = doc.modelspace()
    for item in items:
        _add(space, item, factor)
    box = extent(items, factor)
    space.reset_extents((box.left, box.foot, 0), (box.right, box.top, 0))
    return doc


def _line_types(doc: Any, drawing: Drawing) -> None:
    """Dashes as long in the model as they look on paper at the drawing's scale."""
    for name, what, pattern in (
        ("DASHED", "hidden edges", (3.0, -0.75)),
        ("CENTER", "axes and middle lines", (6.0, -0.75, 0.0, -0.75)),
    ):
        lengths = [one / drawing.scale.factor for one in pattern]
        doc.linetypes.add(name, [sum(map(abs, lengths)), *lengths], description=what)


def _words(drawing: Drawing, titles: Titles) -> list[Item]:
    """Below the drawing: what it is, and a bar to check by."""
    factor = drawing.scale.factor
    box = extent(plain_items(drawing), factor)
    title = titles.line
    lines = (title, drawing.what, f"1:1 in mm. {CHECK} {titles.source}", *drawing.remarks)
    low, step, size = box.foot - 10 / factor, 6 / factor, 100.0
    lettering: list[Item] = [
        Text((box.left, low - (i + 1) * step), line, PLAIN, layer="FRAME") for i, line in enumerate(lines)
    ]
    foot = low - (len(lines) + 2) * step
    bar = oblong("FRAME", box.left, foot, box.left + size, foot + size / 20, of="scale bar")
    return [*lettering, bar, Text((box.left + size + step, foot), f"this bar is {size:g} mm long", layer="FRAME")]


def _add(space: Any, item: Item, factor: float) -> None:
    how: dict[str, Any] = {"layer": layer_of(item)}
    if isinstance(item, Stroke):
        if item.kind:
            how["linetype"] = _TYPES.get(item.kind, "CONTINUOUS")
        if len(item.points) == 2:
            made = space.add_line(*item.points, dxfattribs=how)
        else:
            made = space.add_lwpolyline(item.points, close=item.closed, dxfattribs=how)
    elif isinstance(item, Circle):
        made = space.add_circle(item.centre, item.radius, dxfattribs=how)
    elif isinstance(item, Arc):
        ends = math.degrees(item.start), math.degrees(item.end)
        made = space.add_arc(item.centre, item.radius, *ends, dxfattribs=how)
    elif isinstance(item, Text):
        how |= {"rotation": math.degrees(item.angle), "style": _STYLE}
        made = space.add_text(item.words, height=item.height / factor, dxfattribs=how)
        made.dxf.insert = foot_of(item, factor)
    else:
        raise TypeError("dimensions are taken apart first")
    if item.of:
        made.set_xdata(APP, [(1000, item.of)])


@contextmanager
def _without_the_hour(ezdxf: Any) -> Iterator[None]:
    """Let the library write neither the hour nor numbers drawn by lot, which make every file another."""
    before = ezdxf.options.write_fixed_meta_data_for_testing
    ezdxf.options.write_fixed_meta_data_for_testing = True
    try:
        yield
    finally:
        ezdxf.options.write_fixed_meta_data_for_testing = before
