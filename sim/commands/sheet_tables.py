"""Sheets as tables of an 80-column terminal."""

from __future__ import annotations

import textwrap
from dataclasses import replace

from rich.box import SIMPLE_HEAD
from rich.console import Console
from rich.markup import escape
from rich.table import Table
from rich.text import Text

from keyaction.sim.commands.common import WIDTH
from keyaction.sim.tables.sheet import Sheet


def sheet_table(sheet: Sheet, note: bool = True) -> Table:
    """A sheet as a table; words at the left may wrap, numbers do not."""
    table = Table(
        title=Text(f"\n{sheet.title}", style="italic") if sheet.title else None,
        title_justify="left",
        box=SIMPLE_HEAD,
        show_edge=False,
        pad_edge=False,
        padding=(0, 1, 0, 0),
        caption=escape(sheet.note) if note and sheet.note else None,
        caption_justify="left",
    )
    for i, column in enumerate(sheet.columns):
        heading = escape(f"{column.heading}\n{column.unit}" if column.unit else column.heading)
        side = "left" if column.text else "right"
        table.add_column(heading, justify=side, no_wrap=not column.text or i > 0)  # type: ignore[arg-type]
    for row in sheet.shown():
        table.add_row(*(escape(cell) for cell in row))
    return table


def show_sheet(console: Console, sheet: Sheet) -> None:
    """A sheet with its note, in pieces where it is wider than a terminal's usual 80 columns."""
    pieces = list(sheet.pieces(1, WIDTH, 2))
    if len(pieces) == 1:
        console.print(sheet_table(sheet))
        return
    for i, piece in enumerate(pieces):
        console.print(sheet_table(replace(piece, title=sheet.title if i == 0 else ""), note=False))
    if sheet.note:
        paragraph(console, sheet.note)


def paragraph(console: Console, text: str, indent: str = "") -> None:
    """Text filled to the width of a terminal's usual 80 columns, later lines further in."""
    filled = textwrap.fill(text, WIDTH, initial_indent=indent, subsequent_indent=f"{indent}  ")
    console.print(filled, markup=False, soft_wrap=True)
