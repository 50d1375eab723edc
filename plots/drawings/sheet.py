"""A drawing on a sheet of paper: within a frame, at its scale, over its title block."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import cache

from keyaction.plots.drawings.boxes import Box, extent
from keyaction.plots.drawings.dimensions import plain_items
from keyaction.plots.drawings.drawing import Drawing, Item
from keyaction.plots.drawings.foot import BLOCK, Titles, foot
from keyaction.plots.drawings.paper import FULL, PAPERS, SCALES, Paper, Scale, lying, standing
from keyaction.plots.drawings.placing import oblong, placed

MARGIN, _AIR = 10.0, 6.0
"""From the edge of the paper to the frame, and from the frame to the drawing, mm (common practice)."""
FRAMED = "frame"
"""What the frame of a sheet is called: it makes no tile worth printing."""
Build = Callable[[Scale], Sequence[Drawing]]
"""Makes a drawing for a scale, in one or several arrangements of which the best is taken."""


@dataclass(frozen=True)
class Page:
    """A sheet with all that is on it.

    Parameters
    ----------
    paper : Paper
    scale : Scale
        Of what is drawn.
    title : str
        For the file's own description.
    items : tuple
        In mm of paper, from its left lower corner; no dimensions as such.
    window : Box, optional
        Within which the items show.
    beside : tuple
        Items that show outside the window as well.
    tiled : bool
        Whether it is larger than the paper that is printed on.
    """

    paper: Paper
    scale: Scale
    title: str
    items: tuple[Item, ...]
    window: Box | None = None
    beside: tuple[Item, ...] = ()
    tiled: bool = False


def page(drawing: Drawing, titles: Titles, paper: Paper | None) -> Page | None:
    """A drawing on a sheet; None where it does not fit.

    Parameters
    ----------
    drawing : Drawing
    titles : Titles
    paper : Paper, optional
        By default one as large as the drawing needs, of no standard size.
    """
    factor, remarks = drawing.scale.factor, drawing.remarks
    items = plain_items(drawing)
    box = extent(items, factor)
    wide, high = box.width * factor, box.height * factor
    name = paper.name if paper else "Tiled"
    inner = paper.width - 2 * MARGIN if paper else max(wide + 2 * _AIR, BLOCK[0])
    below = foot(inner, drawing.what, drawing.scale, name, titles, remarks)
    room = paper.height - 2 * MARGIN - below.height if paper else high + 2 * _AIR
    if wide + 2 * _AIR > inner + 1e-9 or high + 2 * _AIR > room + 1e-9:
        return None
    size = paper or Paper(name, inner + 2 * MARGIN, room + below.height + 2 * MARGIN)
    left = MARGIN + (inner - wide) / 2 - box.left * factor
    base = MARGIN + below.height + (room - high) / 2 - box.foot * factor
    frame = oblong("FRAME", MARGIN, MARGIN, size.width - MARGIN, size.height - MARGIN, of=FRAMED)
    on_paper = (frame, *placed(below.items, 1.0, (MARGIN, MARGIN)), *placed(items, factor, (left, base)))
    title = f"{drawing.what}, {drawing.scale}"
    return Page(size, drawing.scale, f"{titles.title}: {title}", on_paper, tiled=paper is None)


def best_page(build: Build, titles: Titles, paper: str | None = None, scale: Scale | None = None) -> tuple[Drawing, Page]:
    """The sheet and the scale that suit a drawing.

    The scale is the largest of ISO 5455 that fits, up to full size; the paper the smallest of A4 to A0 on which
    lettering then has room. What is asked for overrules; a drawing that is larger than its paper at the scale asked
    for is one large sheet, to be printed in tiles.
    """
    build = cache(build)
    second: tuple[Drawing, Page] | None = None
    for name in [paper] if paper else list(PAPERS):
        found = _largest(build, titles, name, [scale] if scale else [one for one in SCALES if one.factor <= FULL.factor])
        if found and not found[0].crowded:
            return found
        if found and (second is None or found[0].scale.factor > second[0].scale.factor):
            second = found
    if second:
        return second
    drawing = build(scale or SCALES[-1])[0]
    whole = page(drawing, titles, None)
    if whole is None:
        raise AssertionError("a sheet made for its drawing is large enough")
    return drawing, whole


def _largest(build: Build, titles: Titles, name: str, scales: Iterable[Scale]) -> tuple[Drawing, Page] | None:
    for scale in scales:
        fits = list(_fitting(build(scale), titles, name))
        if fits:
            return min(fits, key=lambda found: found[0].crowded)
    return None


def _fitting(drawings: Sequence[Drawing], titles: Titles, name: str) -> Iterator[tuple[Drawing, Page]]:
    for drawing in drawings:
        for paper in (lying(name), standing(name)):
            found = page(drawing, titles, paper)
            if found:
                yield drawing, found
