"""Tables on a drawing, in lettering of one height."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from keyaction.plots.drawings.drawing import Item, Stroke, Text, Xy
from keyaction.plots.drawings.lettering import SMALL, width

_LINE, _GAP = 4.6, 4.0
"""mm on paper from line to line and between columns."""


@dataclass(frozen=True)
class Table:
    """A table of words; the first column stands at the left, the others at the right.

    Parameters
    ----------
    title : str
    headings : sequence of str
    rows : sequence of sequences of str
    """

    title: str
    headings: Sequence[str]
    rows: Sequence[Sequence[str]]


def table_items(table: Table, at: Xy, factor: float) -> tuple[tuple[Item, ...], float, float]:
    """A table whose left upper corner is at a point.

    Returns
    -------
    items : tuple
    width, height : float
        mm of the real thing.
    """
    lines = [table.headings, *table.rows]
    widths = [max(width(line[i], SMALL) for line in lines) for i in range(len(table.headings))]
    wide = max(sum(widths) + _GAP * (len(widths) - 1), width(table.title, SMALL))
    items: list[Item] = [Text(at, table.title, SMALL, along="top", of="table")]
    for i, line in enumerate(lines, start=1):
        y, x = at[1] - i * _LINE / factor, 0.0
        for j, (words, room) in enumerate(zip(line, widths, strict=True)):
            place = at[0] + (x + (room if j else 0.0)) / factor
            items.append(Text((place, y), words, SMALL, 0.0, "right" if j else "left", "top", of="table"))
            x += room + _GAP
    for i in (1, 2, len(lines) + 1):
        y = at[1] - (i * _LINE - 1.0) / factor
        items.append(Stroke("FRAME", ((at[0], y), (at[0] + wide / factor, y))))
    return tuple(items), wide / factor, (len(lines) + 1) * _LINE / factor
