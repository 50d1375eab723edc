"""A large sheet cut into pages that a small printer prints: overlapping, with register marks, numbered."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from keyaction.plots.drawings.boxes import Box, box_of
from keyaction.plots.drawings.drawing import Item, Stroke, Text
from keyaction.plots.drawings.foot import BAR, CHECK
from keyaction.plots.drawings.lettering import PLAIN, SMALL
from keyaction.plots.drawings.paper import Paper, Scale, lying, standing
from keyaction.plots.drawings.placing import oblong, placed
from keyaction.plots.drawings.sheet import FRAMED, Page

OVERLAP = 10.0
"""mm by which neighbouring tiles show the same."""
_EDGE, _STRIP, _CROSS = 8.0, 14.0, 4.0
"""mm of paper that printers leave white; of the strip below that says which tile it is; half a register mark."""
_MAP = "Map of the tiles (not to scale)"


@dataclass(frozen=True)
class Grid:
    """How a sheet is cut.

    Parameters
    ----------
    paper : Paper
        Of one tile.
    columns, rows : int
    wide, high : float
        Of the part of the sheet that a tile shows, mm.
    """

    paper: Paper
    columns: int
    rows: int
    wide: float
    high: float

    def window(self, row: int, column: int) -> Box:
        """What a tile shows, in mm of the sheet; rows count from the top."""
        left = column * (self.wide - OVERLAP)
        foot = (self.rows - 1 - row) * (self.high - OVERLAP)
        return Box(left, foot, left + self.wide, foot + self.high)

    @property
    def marks(self) -> Iterator[tuple[float, float]]:
        """Where register marks stand on the sheet: midway in the overlaps."""
        for i in range(self.columns + 1):
            for j in range(self.rows + 1):
                yield i * (self.wide - OVERLAP) + OVERLAP / 2, j * (self.high - OVERLAP) + OVERLAP / 2


def tile_name(row: int, column: int) -> str:
    """A tile's name: a letter for its row from above, and a number for its column (A1, A2 ... B1)."""
    letters = ""
    row += 1
    while row:
        row, rest = divmod(row - 1, 26)
        letters = chr(65 + rest) + letters
    return f"{letters}{column + 1}"


def grid(page: Page, name: str) -> Grid:
    """The cut into fewest tiles, the paper lying or standing."""
    found = []
    for paper in (lying(name), standing(name)):
        wide, high = paper.width - 2 * _EDGE, paper.height - 2 * _EDGE - _STRIP
        columns = max(1, math.ceil((page.paper.width - OVERLAP) / (wide - OVERLAP) - 1e-9))
        rows = max(1, math.ceil((page.paper.height - OVERLAP) / (high - OVERLAP) - 1e-9))
        found.append(Grid(paper, columns, rows, wide, high))
    return min(found, key=lambda one: one.columns * one.rows)


def tiles(page: Page, name: str = "A4") -> list[Page]:
    """A map of the tiles, then the tiles row by row; those on which nothing is drawn are left out."""
    cut = grid(page, name)
    boxed = [(box_of(item, 1.0), item) for item in page.items]
    shown = [
        (row, column, items)
        for row in range(cut.rows)
        for column in range(cut.columns)
        if (items := [item for box, item in boxed if box.meets(cut.window(row, column)) and item.of != FRAMED])
    ]
    names = {tile_name(row, column) for row, column, _ in shown}
    pages = [_map(page, cut, names)]
    for number, (row, column, items) in enumerate(shown, start=1):
        window = cut.window(row, column)
        shift = (_EDGE - window.left, _EDGE + _STRIP - window.foot)
        loose = [*_marks(cut, window, shift), *_strip(page, cut, row, column, f"{number} of {len(shown)}")]
        seen = Box(_EDGE, _EDGE + _STRIP, _EDGE + cut.wide, _EDGE + _STRIP + cut.high)
        title = f"{page.title}, tile {tile_name(row, column)}"
        pages.append(Page(cut.paper, page.scale, title, placed(items, 1.0, shift), seen, tuple(loose)))
    return pages


def _marks(cut: Grid, window: Box, shift: tuple[float, float]) -> Iterator[Item]:
    """Register marks that fall on a tile, and its edges to cut along."""
    for x, y in cut.marks:
        if window.left <= x <= window.right and window.foot <= y <= window.top:
            u, v = x + shift[0], y + shift[1]
            yield Stroke("FRAME", ((u - _CROSS, v), (u + _CROSS, v)), of="register mark")
            yield Stroke("FRAME", ((u, v - _CROSS), (u, v + _CROSS)), of="register mark")
    yield oblong(
        "FRAME", window.left + shift[0], window.foot + shift[1], window.right + shift[0], window.top + shift[1]
    )


def _strip(page: Page, cut: Grid, row: int, column: int, count: str) -> Iterator[Item]:
    """Below a tile: its name and neighbours, the scale, and a bar to check the printer by."""
    wide, low = cut.paper.width, _EDGE
    yield Text((_EDGE, low + 6.0), f"Tile {tile_name(row, column)}", PLAIN)
    near = [
        f"{words} {tile_name(row + dr, column + dc)}"
        for words, dr, dc in (("left", 0, -1), ("right", 0, 1), ("above", -1, 0), ("below", 1, 0))
        if 0 <= row + dr < cut.rows and 0 <= column + dc < cut.columns
    ]
    yield Text((_EDGE + 22.0, low + 6.5), f"{count}; scale {page.scale}; {', '.join(near)}", SMALL)
    yield Text((_EDGE, low + 1.0), f"{CHECK} Overlap {OVERLAP:g} mm: lay cross on cross.", SMALL)
    left = wide - _EDGE - BAR
    half = BAR / 2
    yield oblong("FRAME", left + half, low + 6.0, left + BAR, low + 8.0, of="scale bar")
    for i in (0, 2, 4):
        yield oblong("BAR", left + half + i * 10, low + 6.0, left + half + (i + 1) * 10, low + 8.0)
    yield Text((left + BAR, low + 1.0), f"the bar is {half:g} mm long", SMALL, across="right")


def _map(page: Page, cut: Grid, names: set[str]) -> Page:
    """The whole sheet, made small, with the tiles on it."""
    paper, scale = cut.paper, page.scale
    room = (paper.width - 2 * _EDGE, paper.height - 2 * _EDGE - _STRIP)
    whole = cut.window(0, cut.columns - 1)
    factor = min(room[0] / whole.right, room[1] / whole.top)
    shift = (_EDGE, _EDGE + _STRIP)
    lines = [item for item in page.items if not isinstance(item, Text)]
    items: list[Item] = list(placed(lines, factor, shift))
    for row in range(cut.rows):
        for column in range(cut.columns):
            box = cut.window(row, column)
            if (name := tile_name(row, column)) in names:
                items += _tile_on_map(box, name, factor, shift)
    items.append(Text((_EDGE, _EDGE + 6.0), f"{_MAP}: {len(names)} tiles, {page.title}", SMALL))
    items.append(Text((_EDGE, _EDGE + 1.0), f"Print at 100 %, without fitting to the page. {CHECK}", SMALL))
    return Page(paper, Scale(1, max(10, scale.real)), f"{page.title}, map of the tiles", tuple(items))


def _tile_on_map(box: Box, name: str, factor: float, shift: tuple[float, float]) -> Iterator[Item]:
    left, foot = box.left * factor + shift[0], box.foot * factor + shift[1]
    right, top = box.right * factor + shift[0], box.top * factor + shift[1]
    yield oblong("WARNINGS", left, foot, right, top)
    yield Text((left + 3.0, top - 3.0), name, PLAIN, along="top", layer="WARNINGS")
