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


@dataclass(frozen=True)
class Motif:
    """What is to be drawn.

    Parameters
    ----------
    build : callable
        Makes the drawing for a scale, in one or several arrangements of which the best is taken.
    size : (float, float)
        What the bare thing takes up without lettering, mm: width and height.
    """

    build: Callable[[Scale], Sequence[Drawing]]
    size: tuple[float, float]


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


@dataclass(frozen=True)
class _Measured:
    """A drawing with its items taken apart and the box about them, mm of the real thing."""

    drawing: Drawing
    items: tuple[Item, ...]
    box: Box


def _measured(drawing: Drawing) -> _Measured:
    items = plain_items(drawing)
    return _Measured(drawing, items, extent(items, drawing.scale.factor))


def page(drawing: Drawing, titles: Titles, paper: Paper | None) -> Page | None:
    """A drawing on a sheet; None where it does not fit.

    Parameters
    ----------
    drawing : Drawing
    titles : Titles
    paper : Paper, optional
        By default one as large as the drawing needs, of no standard size.
    """
    return _page(_measured(drawing), titles, paper)


def _page(measured: _Measured, titles: Titles, paper: Paper | None) -> Page | None:
    drawing, items, box = measured.drawing, measured.items, measured.box
    factor, remarks = drawing.scale.factor, drawing.remarks
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


def best_page(
    motif: Motif, titles: Titles, paper: str | None = None, scale: Scale | None = None
) -> tuple[Drawing, Page]:
    """The sheet and the scale that suit a drawing.

    The scale is the largest of ISO 5455 that fits, up to full size; the paper the smallest of A4 to A0 on which
    lettering then has room. What is asked for overrules; a drawing that is larger than its paper at the scale asked
    for is one large sheet, to be printed in tiles.
    """

    return best_pages([motif], titles, paper, scale)[0]


def best_pages(
    motifs: Sequence[Motif], titles: Titles, paper: str | None = None, scale: Scale | None = None
) -> list[tuple[Drawing, Page]]:
    """The sheets of drawings that lie side by side: one scale and one paper, the least that suits them all.

    As `best_page` of each; where no paper holds all of them at one scale, each is laid out by itself.
    """
    builds = [_builder(motif) for motif in motifs]
    second: list[tuple[Drawing, Page]] = []
    scales = [scale] if scale else [one for one in SCALES if one.factor <= FULL.factor]
    for name in [paper] if paper else list(PAPERS):
        may = [one for one in scales if all(_may_fit(motif.size, one, name) for motif in motifs)]
        found = _largest(builds, titles, name, may)
        if found and not _crowded(found):
            return found
        if found and (not second or _worth(found) > _worth(second)):
            second = found
    if second:
        return second
    if len(motifs) > 1:
        return [best_page(motif, titles, paper, scale) for motif in motifs]
    return [_tiled(build(scale or SCALES[-1])[0], titles) for build in builds]


_Build = Callable[[Scale], list[_Measured]]


def _builder(motif: Motif) -> _Build:
    """Makes its drawings, each scale's once."""
    return cache(lambda scale: [_measured(drawing) for drawing in motif.build(scale)])


def _crowded(found: Sequence[tuple[Drawing, Page]]) -> int:
    return sum(drawing.crowded for drawing, _ in found)


def _worth(found: Sequence[tuple[Drawing, Page]]) -> tuple[int, float]:
    """Of sheets of which some are crowded, the fewest such are best, then the largest scale."""
    return -_crowded(found), found[0][0].scale.factor


def _tiled(measured: _Measured, titles: Titles) -> tuple[Drawing, Page]:
    whole = _page(measured, titles, None)
    if whole is None:
        raise AssertionError("a sheet made for its drawing is large enough")
    return measured.drawing, whole


def _may_fit(size: tuple[float, float], scale: Scale, name: str) -> bool:
    """Whether the bare thing fits within the frame, before it is drawn."""
    short, long = sorted(one * scale.factor for one in size)
    room = sorted(one - 2 * (MARGIN + _AIR) for one in PAPERS[name])
    return short <= room[0] and long <= room[1]


def _largest(
    builds: Sequence[_Build], titles: Titles, name: str, scales: Iterable[Scale]
) -> list[tuple[Drawing, Page]] | None:
    """All of them on a paper at the largest scale at which each fits; None where there is no such scale."""
    for scale in scales:
        fits = [list(_fitting(build(scale), titles, name)) for build in builds]
        if all(fits):
            return [min(one, key=lambda found: found[0].crowded) for one in fits]
    return None


def _fitting(drawings: Sequence[_Measured], titles: Titles, name: str) -> Iterator[tuple[Drawing, Page]]:
    for measured in drawings:
        for paper in (lying(name), standing(name)):
            found = _page(measured, titles, paper)
            if found:
                yield measured.drawing, found
