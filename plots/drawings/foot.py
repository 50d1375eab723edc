"""The foot of a sheet: title block, scale bar, remarks and the caution."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Literal

from keyaction.plots.drawings.drawing import Item, Stroke, Text
from keyaction.plots.drawings.lettering import LARGE, PLAIN, SMALL, fits, shortened, wrapped
from keyaction.plots.drawings.paper import Scale
from keyaction.plots.drawings.placing import oblong

BLOCK = (170.0, 38.0)
"""Width and height of the title block, mm."""
BAR = 100.0
"""Length of the scale bar on paper, mm."""
CHECK = "Check the scale bar before cutting."
CAUTION = "Figures come from a model: make one note as a trial before you cut the rest."
_LINE, _BAR_ROOM, _GAP = 4.2, 16.0, 3.0


@dataclass(frozen=True)
class Titles:
    """What the title block says of where a drawing comes from.

    Parameters
    ----------
    title : str
        Of the case.
    division : str
        Empty of a case alone.
    source : str
        The case's file and the version of the program.
    instrument : str
        Title of the instrument; empty of a case alone.
    """

    title: str
    division: str
    source: str
    instrument: str = ""

    @property
    def line(self) -> str:
        """The first line of a title block, from the whole to the part."""
        return " - ".join(one for one in (self.instrument, self.division, self.title) if one)


@dataclass(frozen=True)
class Foot:
    """A foot, its left lower corner at 0, 0; mm of paper."""

    height: float
    items: tuple[Item, ...]


def foot(width: float, what: str, scale: Scale, paper: str, titles: Titles, remarks: Sequence[str]) -> Foot:
    """The foot of a sheet that is so wide within its frame.

    Scale bar and remarks stand beside the title block where they have room, else above it.
    """
    beside = width >= BLOCK[0] + BAR + 2 * _GAP
    room = width - BLOCK[0] - 2 * _GAP if beside else width - 2 * _GAP
    lines = [line for remark in remarks for line in wrapped(remark, SMALL, room)]
    told = len(lines) * _LINE + (2.0 if lines else 0.0)
    raised = 0.0 if beside else BLOCK[1]
    height = max(BLOCK[1], told + _BAR_ROOM) if beside else BLOCK[1] + told + _BAR_ROOM
    block = BLOCK[0] if beside else width
    items: list[Item] = [*_block(width - block, block, what, scale, paper, titles), *_bar(_GAP, raised, scale)]
    for i, line in enumerate(lines):
        items.append(Text((_GAP, raised + _BAR_ROOM + told - 2.0 - (i + 0.7) * _LINE), line))
    if not beside:
        items.append(Stroke("FRAME", ((0.0, BLOCK[1]), (width, BLOCK[1]))))
    items.append(Stroke("FRAME", ((0.0, height), (width, height))))
    return Foot(height, tuple(items))


def _block(left: float, wide: float, what: str, scale: Scale, paper: str, titles: Titles) -> Iterator[Item]:
    """The title block with its left lower corner at `left`."""
    high = BLOCK[1]
    yield oblong("FRAME", left, 0.0, left + wide, high)
    for level in (13.0, 20.0, 28.0):
        yield Stroke("FRAME", ((left, level), (left + wide, level)))
    edge, room = left + 3.0, wide - 6.0
    yield from _title(edge, room, titles)
    yield Text((edge, 22.2), shortened(what, PLAIN, room), PLAIN)
    for at, words, size in ((0.0, f"Scale {scale}", PLAIN), (37.0, paper, PLAIN), (69.0, "Sizes in mm", SMALL)):
        yield Text((edge + at, 14.8), words, size)
    for at in (36.0, 68.0, 94.0):
        yield Stroke("FRAME", ((left + at, 13.0), (left + at, 20.0)))
    yield Text((edge + 94.0, 14.8), shortened(titles.source, SMALL, room - 94.0), SMALL)
    yield Text((edge, 7.6), CHECK, PLAIN)
    yield Text((edge, 2.2), shortened(CAUTION, SMALL, room), SMALL)


def _title(edge: float, room: float, titles: Titles) -> Iterator[Item]:
    """The first row: one line, or where that is too long the case's own title below the rest."""
    whole = titles.line
    if fits(whole, PLAIN, room) or whole == titles.title:
        size = LARGE if fits(whole, LARGE, room) else PLAIN
        yield Text((edge, 30.5), shortened(whole, size, room), size)
        return
    first = " - ".join(one for one in (titles.instrument, titles.division) if one)
    yield Text((edge, 33.4), shortened(first, PLAIN, room), PLAIN)
    yield Text((edge, 29.3), shortened(titles.title, SMALL, room), SMALL)


def _bar(left: float, foot_at: float, scale: Scale) -> Iterator[Item]:
    """The scale bar, 100 mm on paper, in ten fields of which every other is dark."""
    low, high = foot_at + 7.0, foot_at + 9.0
    yield oblong("FRAME", left, low, left + BAR, high, of="scale bar")
    for i in range(0, 10, 2):
        yield oblong("BAR", left + i * BAR / 10, low, left + (i + 1) * BAR / 10, high)
    real = BAR / scale.factor
    for share in (0.0, 0.5, 1.0):
        words = f"{real * share:g}" + (" mm" if share == 1.0 else "")
        side: Literal["left", "middle", "right"] = "left" if share == 0.0 else "right" if share == 1.0 else "middle"
        yield Text((left + share * BAR, high + 1.2), words, across=side)
    yield Text((left, foot_at + 2.6), f"The bar is {BAR:g} mm long on paper and stands for {real:g} mm.")
