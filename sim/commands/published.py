"""keyaction check --published: published observations, and what the program makes of them."""

from __future__ import annotations

from itertools import groupby
from pathlib import Path

from rich.console import Console
from rich.markup import escape
from rich.table import Table
from rich.text import Text

from keyaction.sim.commands.common import DONE, FAILED, WIDTH
from keyaction.sim.commands.console import err, out
from keyaction.sim.commands.progress import progress
from keyaction.sim.commands.sheet_tables import paragraph
from keyaction.sim.files.text import refuse_unwritable, write_text
from keyaction.sim.published.table import (
    COLUMNS,
    NOT_REACHED,
    observations,
    outcomes,
    source_sheets,
    summary,
    whole_sheet,
)
from keyaction.sim.tables.sheet import Sheet

WIDTHS = (30, 17, 10, 10, 9)
"""Letters of each column; with a blank between them the 80 of a terminal."""


def show(file: Path | None) -> int:
    """Compute every figure now and set it beside the published one; returns the exit status.

    Parameters
    ----------
    file : Path, optional
        Where to write the table as CSV as well.
    """
    if file:
        refuse_unwritable(file, "--csv")
    rows = observations()
    with progress("computing", len(rows)) as bar:
        found = outcomes(rows, lambda one: bar.step(one.subject))
    console = out()
    for subject, sheets in groupby(source_sheets(found), key=lambda sheet: sheet.name):
        console.print(Text(f"\n{subject}", style="bold"))
        for i, sheet in enumerate(sheets):
            paragraph(console, sheet.title)
            console.print(_table(sheet, heading=i == 0))
    _ending(console, summary(found))
    if file:
        write_text(file, whole_sheet(found).csv())
        console.print(f"table: {file}", markup=False, soft_wrap=True)
    for one in found:
        if not one.holds:
            why = f": {one.reason}" if one.reason else ""
            err().print(f"not met: {one.of.subject}, {one.of.quantity}{why}", markup=False)
    return DONE if all(one.holds for one in found) else FAILED


def _table(sheet: Sheet, heading: bool) -> Table:
    """A source's rows; the columns of all sources stand one below the other."""
    table = Table(box=None, show_header=heading, show_edge=False, pad_edge=False, padding=(0, 1, 0, 0), width=WIDTH)
    for i, (column, width) in enumerate(zip(COLUMNS, WIDTHS, strict=True)):
        table.add_column(column.heading, width=width, justify="right" if i else "left", header_style="italic")
    for row in sheet.shown():
        table.add_row(*map(escape, row))
    return table


def _ending(console: Console, told: list[str]) -> None:
    console.print()
    for line in told:
        paragraph(console, line)
    paragraph(
        console,
        "Differences with % are shares of the published figure, others are in its unit. 'Allowed' is how far ours may "
        "be off before it counts as not met ('!', exit status 1).",
    )
    console.print(Text("\nNot reached", style="bold"))
    for line in NOT_REACHED:
        paragraph(console, f"- {line}")
