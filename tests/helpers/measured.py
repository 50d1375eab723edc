"""Figures measured back from files of drawings."""

from __future__ import annotations

import io
import math
import re
import zlib
from dataclasses import dataclass
from xml.etree import ElementTree

SVG = "{http://www.w3.org/2000/svg}"
_NUMBER = r"-?[0-9.]+"


@dataclass(frozen=True)
class Line:
    """A line through points, mm of the real thing, with its layer and what it is."""

    layer: str
    of: str
    points: tuple[tuple[float, float], ...]

    @property
    def length(self) -> float:
        """From its first to its last point."""
        return math.dist(self.points[0], self.points[-1])

    @property
    def width(self) -> float:
        """How far it reaches in x."""
        return max(x for x, _ in self.points) - min(x for x, _ in self.points)

    @property
    def middle(self) -> float:
        """Midway of its reach in x."""
        return (max(x for x, _ in self.points) + min(x for x, _ in self.points)) / 2


def svg_lines(text: str, factor: float) -> list[Line]:
    """Lines of an SVG sheet, in mm of the real thing by its scale."""
    found = []
    for group in ElementTree.fromstring(text).iter(f"{SVG}g"):
        for path in group.iter(f"{SVG}path"):
            if "A" not in path.attrib["d"]:
                numbers = [float(one) / factor for one in re.findall(_NUMBER, path.attrib["d"])]
                points = tuple(zip(numbers[::2], numbers[1::2], strict=True))
                found.append(Line(group.attrib["id"], path.attrib.get("data-of", ""), points))
    return found


def svg_words(text: str) -> list[str]:
    """Lettering of an SVG sheet."""
    return [one.text or "" for one in ElementTree.fromstring(text).iter(f"{SVG}text")]


def dxf_lines(text: str) -> list[Line]:
    """Lines of a DXF file, read by a library of DXF."""
    import ezdxf

    found = []
    for entity in ezdxf.read(io.StringIO(text)).modelspace():
        points = None
        if entity.dxftype() == "LINE":
            points = ((entity.dxf.start.x, entity.dxf.start.y), (entity.dxf.end.x, entity.dxf.end.y))
        elif entity.dxftype() == "LWPOLYLINE":
            points = tuple((x, y) for x, y, *_ in entity.get_points())
        if points:
            found.append(Line(entity.dxf.layer, _of(entity), points))
    return found


def _of(entity) -> str:
    return entity.get_xdata("KEYACTION")[0].value if entity.has_xdata("KEYACTION") else ""


def pdf_pages(content: bytes) -> list[tuple[float, float]]:
    """Width and height of the pages of a PDF, points."""
    found = re.findall(rb"/MediaBox \[ 0 0 ([0-9.]+) ([0-9.]+) \]", content)
    return [(float(wide), float(high)) for wide, high in found]


def pdf_boxes(content: bytes) -> list[tuple[float, float]]:
    """Width and height of every closed outline of four corners in a PDF, points."""
    found = []
    for stream in re.findall(rb"stream\r?\n(.*?)\r?\nendstream", content, re.DOTALL):
        try:
            plain = zlib.decompress(stream).decode("latin-1")
        except zlib.error:
            continue
        number = r"(-?[0-9.]+)"
        corner = rf"{number} {number} l\s+"
        for corners in re.findall(rf"{number} {number} m\s+{corner * 3}(?:{corner})?h", plain):
            xs = [float(one) for one in corners[0:8:2]]
            ys = [float(one) for one in corners[1:8:2]]
            found.append((max(xs) - min(xs), max(ys) - min(ys)))
    return found
