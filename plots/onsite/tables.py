"""Tables as a page has them: how wide each column is, and whether the table lies upright or across the paper."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass, replace

from keyaction.plots.report.printed import rows_a_page
from keyaction.sim.tables.sheet import Column, Sheet

_UPRIGHT, _ACROSS = 104, 156
"""Letters in a line of a table on A4, upright and across."""
_READABLE, _LEAST = 20, 12
"""Letters to which words in a table are broken rather than lie across, and at all."""
_GAP = 2
_BOX, _LAST_BOX = 8, 18
"""Letters that a box to write in has room for, and the last of a row."""
_NAME = 12
"""Letters of a first column beyond which it holds sentences and no names."""
_FORM_ROWS = 30
"""Rows to write in that a page of A4 holds."""
_WORDY = 3
"""Columns of words from which on a telephone shows each row as a card."""


@dataclass(frozen=True)
class Form:
    """A table to be filled in by hand.

    Attributes
    ----------
    sheet : Sheet
        What is expected in every cell; an empty text where nothing is.
    boxes : collection of int
        Columns to write in; what is expected there stands small and grey beside the box.
    """

    sheet: Sheet
    boxes: Collection[int]


@dataclass(frozen=True)
class Laid:
    """A table as it is printed.

    Attributes
    ----------
    sheet : Sheet
    across : bool
        Whether it is too wide for upright paper.
    widths : sequence of int
        Letters of each column.
    boxes : frozenset of int
        Columns to write in.
    per : int
        Rows of a form on a page; 0 of others.
    first : bool
        Whether it is a whole table, or the first piece of one.
    """

    sheet: Sheet
    across: bool
    widths: Sequence[int]
    boxes: frozenset[int] = frozenset()
    per: int = 0
    first: bool = True

    @property
    def kind(self) -> str:
        """Its classes: of what may break there are words, of many words a telephone makes cards."""
        if self.per:
            return "notes form"
        words = sum(_wordy(column) for column in list(self.sheet.columns)[1:])
        long = " long" if self.widths[0] > _NAME else ""
        return f"notes{' wrapped' if words else ''}{' words' if words >= _WORDY else ''}{long}"

    @property
    def heads(self) -> Sheet:
        """Its headings, each set as its cells are."""
        return replace(self.sheet, columns=[replace(one, text=_wordy(one)) for one in self.sheet.columns])

    @property
    def rows(self) -> Iterator[list[tuple[str, Column, str]]]:
        """Cells with their columns and classes."""
        for row in self.sheet.shown():
            yield [
                (cell, column, self._class(i, cell, column))
                for i, (cell, column) in enumerate(zip(row, self.sheet.columns, strict=True))
            ]

    def _class(self, i: int, cell: str, column: Column) -> str:
        found = ["text" if _wordy(column) else "number"]
        found += ["box"] if i in self.boxes else []
        found += ["beyond"] if cell.endswith("!") else []
        return " ".join(found)


def form_laid(form: Form) -> Laid:
    """A form as it is printed."""
    widths = [_letters(form.sheet, i) for i in range(len(form.sheet.columns))]
    across = sum(widths) + _GAP * len(widths) > _UPRIGHT
    return Laid(form.sheet, across, widths, frozenset(form.boxes), rows_a_page(len(form.sheet.rows), _FORM_ROWS))


def laid(sheet: Sheet) -> Iterator[Laid]:
    """A table upright, across the paper, or in pieces of which each fits across."""
    for room, least in ((_UPRIGHT, _READABLE), (_ACROSS, _LEAST)):
        widths = _widths(sheet, room, least)
        if widths:
            yield Laid(sheet, room == _ACROSS, widths, _blank(sheet))
            return
    for i, piece in enumerate(sheet.pieces(1, _ACROSS, _GAP)):
        widths = [_wide(piece, k) for k in range(len(piece.columns))]
        yield Laid(piece, across=True, widths=widths, boxes=_blank(piece), first=i == 0)


def _widths(sheet: Sheet, room: int, least: int) -> list[int]:
    """Letters of every column where words are broken no more than they must be; nothing where it does not fit."""
    columns = range(len(sheet.columns))
    wanted, blank = [_wide(sheet, i) for i in columns], _blank(sheet)
    held = [_held(sheet, i) if _wordy(sheet.columns[i]) and i not in blank else wanted[i] for i in columns]
    room -= _GAP * len(wanted)
    for most in range(max([*wanted, least]), least - 1, -1):
        widths = [max(min(wide, most), kept) for wide, kept in zip(wanted, held, strict=True)]
        if sum(widths) <= room:
            return widths
    return []


def _wide(sheet: Sheet, i: int) -> int:
    """Letters of a column, nothing broken; of one that is blank as many as somebody may write."""
    box = _LAST_BOX if i == len(sheet.columns) - 1 else _BOX
    return max(_letters(sheet, i), box if i in _blank(sheet) else 0)


def _letters(sheet: Sheet, i: int) -> int:
    """Letters of the widest line of a column."""
    column = sheet.columns[i]
    cells = [column.shown(row[i]) for row in sheet.rows]
    return max(map(len, [*column.heading.split("\n"), column.unit, *cells]), default=0)


def _held(sheet: Sheet, i: int) -> int:
    """Letters of the longest word of a column, which is never broken."""
    column = sheet.columns[i]
    cells = [column.shown(row[i]) for row in sheet.rows]
    return max((len(word) for text in (column.heading, *cells) for word in text.split()), default=0)


def _wordy(column: Column) -> bool:
    """Whether a column holds words that may break; a text with a unit is a number with something to it."""
    return column.text and not column.unit


def _blank(sheet: Sheet) -> frozenset[int]:
    """Columns of words in which nothing stands: somebody is to write there."""
    rows = list(sheet.rows)
    return frozenset(
        i for i, column in enumerate(sheet.columns) if column.text and rows and all(row[i] == "" for row in rows)
    )
