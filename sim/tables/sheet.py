"""Sheets: tables that a shop prints, files as CSV, or reads on the screen; all made from one source."""

from __future__ import annotations

import csv
import io
import math
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from keyaction.cases.text.signs import without_unseen
from keyaction.models.units.quantity import System, convert, format_value

Cell = float | str

_DIGITS = 5
_NUMBER = re.compile(r"[+-]?[0-9][0-9.,]*(e[+-]?[0-9]+)?( ?[%\w/*²³^µ°]+)?!?")
NONE = "-"
"""What stands where a note does not have the figure."""


@dataclass(frozen=True)
class Column:
    """One column of a sheet.

    Attributes
    ----------
    heading : str
        Short words; a line break where the heading may wrap.
    unit : str
        As people write it; empty for plain numbers and text.
    places : int, optional
        Decimal places shown; by default three significant digits. A column of text has no use for it.
    text : bool
        Whether it holds words: set at the left, never rounded.
    limit : float, optional
        Numbers beyond it, in either sense, are shown with an exclamation mark.
    full : str
        The heading where the column stands by itself, as in a CSV file; by default the same.
    head_only : bool
        Whether people read only what stands before the first ': ' of its texts; a CSV file has the whole.
    """

    heading: str
    unit: str = ""
    places: int | None = None
    text: bool = False
    limit: float | None = None
    full: str = ""
    head_only: bool = False

    @property
    def title(self) -> str:
        """Heading and unit in one line, as a CSV file has it."""
        words = " ".join((self.full or self.heading).replace("-\n", "-").split())
        return f"{words} ({self.unit})" if self.unit else words

    def shown(self, cell: Cell) -> str:
        """The cell as people read it."""
        if isinstance(cell, str):
            return cell.partition(": ")[0] if self.head_only else cell
        if not math.isfinite(cell):
            return NONE
        text = format_value(cell, "1") if self.places is None else f"{cell:z.{self.places}f}"
        return f"{text}!" if self.limit is not None and abs(cell) > self.limit else text

    def plain(self, cell: Cell) -> str:
        """The cell as a CSV file has it: one place more than people read, or five digits; empty where there is none."""
        if isinstance(cell, str):
            return _plain(cell)
        if not math.isfinite(cell):
            return ""
        return f"{format_value(cell, '1', digits=_DIGITS)}" if self.places is None else f"{cell:z.{self.places + 1}f}"


@dataclass(frozen=True)
class Sheet:
    """A table whose values are in the reader's units already.

    Attributes
    ----------
    name : str
        The CSV file's name, without its ending.
    title : str
        What it holds.
    columns : sequence of Column
    rows : sequence of sequences
        A number or a text for each column; NaN where there is none.
    note : str
        What a reader must know to use it.
    lines : sequence of str
        What is to be said of single rows, a line each under the table; not in the CSV file.
    """

    name: str
    title: str
    columns: Sequence[Column]
    rows: Sequence[Sequence[Cell]]
    note: str = ""
    lines: Sequence[str] = ()

    def shown(self) -> Iterator[list[str]]:
        """The rows as people read them."""
        for row in self.rows:
            yield [column.shown(cell) for column, cell in zip(self.columns, row, strict=True)]

    def csv(self) -> str:
        """The sheet as CSV: heading with unit, numbers a little finer than read, empty where there is none."""
        out = io.StringIO()
        writer = csv.writer(out, lineterminator="\n")
        writer.writerow([_plain(column.title) for column in self.columns])
        for row in self.rows:
            writer.writerow([column.plain(cell) for column, cell in zip(self.columns, row, strict=True)])
        return out.getvalue()

    def pieces(self, kept: int, room: int, gap: int = 1) -> Iterator[Sheet]:
        """The sheet in pieces that are narrow enough.

        Parameters
        ----------
        kept : int
            Columns at the left with which every piece begins.
        room : int
            Letters that fit into a line.
        gap : int
            Letters that stand for the space between two columns.
        """
        shown = list(self.shown())
        widths = [
            max(len(line) for line in (*column.heading.split("\n"), column.unit, *(row[i] for row in shown))) + gap
            for i, column in enumerate(self.columns)
        ]
        start = kept
        while start < len(widths):
            end, left = start + 1, room - sum(widths[:kept]) - widths[start]
            while end < len(widths) and widths[end] <= left:
                left -= widths[end]
                end += 1
            chosen = [*range(kept), *range(start, end)]
            columns, rows = [self.columns[i] for i in chosen], [[row[i] for i in chosen] for row in self.rows]
            yield replace(self, columns=columns, rows=rows)
            start = end


def joined(sheets: Sequence[tuple[str, Sheet]]) -> Sheet:
    """Sheets of several divisions, alike in their columns, as one whose first column names the division.

    Parameters
    ----------
    sheets : sequence of (str, Sheet)
        One alone whose name is empty, as of an action case, is left as it is.
    """
    first = sheets[0][1]
    if [name for name, _ in sheets] == [""]:
        return first
    rows = [[name, *row] for name, sheet in sheets for row in sheet.rows]
    return replace(first, columns=[Column("division", text=True), *first.columns], rows=rows)


_FORMULA = ("=", "+", "-", "@", "\t")
"""How a cell begins that a spreadsheet computes, with whatever it may call (common practice against it: a quote)."""


def _plain(text: str) -> str:
    """A text for a CSV file: what a spreadsheet would run gets a quote before it, a number stays one."""
    text = without_unseen(text)
    return f"'{text}" if text.startswith(_FORMULA) and text != NONE and not _NUMBER.fullmatch(text) else text


def in_units(heading: str, si_unit: str, units: System, places: int | None = None) -> Column:
    """A column of a quantity with the reader's unit; the places hold for the trade's units."""
    _, label = convert(1.0, si_unit or "1", units)
    return Column(heading, label, places if units == "trade" else None)


def value(si: float, si_unit: str, units: System) -> float:
    """An SI value in the reader's unit."""
    return float(convert(float(si), si_unit or "1", units)[0])
