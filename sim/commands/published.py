"""keyaction check --published: published observations, and what the program makes of them."""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from itertools import groupby
from pathlib import Path

from rich.console import Console
from rich.markup import escape
from rich.table import Table
from rich.text import Text

from keyaction.sim.commands.common import BAD_INPUT, DONE, FAILED, WIDTH
from keyaction.sim.commands.console import err, out
from keyaction.sim.commands.progress import progress
from keyaction.sim.commands.sheet_tables import paragraph
from keyaction.sim.files import taken
from keyaction.sim.files.text import refuse_unwritable, write_text
from keyaction.sim.tables.sheet import Sheet

WIDTHS = (30, 17, 10, 10, 9)
"""Letters of each column; with a blank between them the 80 of a terminal."""


def act(options: argparse.Namespace) -> int:
    """Carry `check` out where it is not a case that is checked."""
    wrong = {
        "a case is needed, or --published": not options.published and options.case is None,
        "--csv goes with --published": not options.published and options.csv is not None,
        f"--published takes no case; leave out {options.case}": options.published and options.case is not None,
        "--published takes no --note": options.published and options.note is not None,
    }
    told = [text for text, is_so in wrong.items() if is_so]
    for text in told:
        err().print(text, markup=False)
    return BAD_INPUT if told else _show(options.csv)


def _show(file: Path | None) -> int:
    """Compute every figure now and set it beside the published one; the table also as CSV."""
    from keyaction.sim.published import table  # here, because it loads what derives and integrates

    if file:
        refuse_unwritable(file, "--csv", taken.table(table.whole_sheet([]).csv()))
    rows = table.observations()
    with progress("computing", len(rows)) as bar:
        found = table.outcomes(rows, lambda one: bar.step(one.subject))
    console = out()
    for subject, sheets in groupby(table.source_sheets(found), key=lambda sheet: sheet.name):
        console.print(Text(f"\n{subject}", style="bold"))
        for i, sheet in enumerate(sheets):
            paragraph(console, sheet.title)
            console.print(_table(sheet, heading=i == 0))
    _ending(console, table.summary(found), table.NOT_REACHED)
    if file:
        write_text(file, table.whole_sheet(found).csv())
        console.print(f"table: {file}", markup=False, soft_wrap=True)
    missed = [one for one in found if not one.holds]
    for one in missed:
        why = f": {one.reason}" if one.reason else ""
        err().print(f"not met: {one.of.subject}, {one.of.quantity}{why}", markup=False)
    return FAILED if missed else DONE


def _table(sheet: Sheet, heading: bool) -> Table:
    """A source's rows; the columns of all sources stand one below the other."""
    table = Table(box=None, show_header=heading, show_edge=False, pad_edge=False, padding=(0, 1, 0, 0), width=WIDTH)
    for i, (column, width) in enumerate(zip(sheet.columns, WIDTHS, strict=True)):
        table.add_column(column.heading, width=width, justify="right" if i else "left", header_style="italic")
    for row in sheet.shown():
        table.add_row(*map(escape, row))
    return table


def _ending(console: Console, told: Sequence[str], not_reached: Sequence[str]) -> None:
    console.print()
    for line in told:
        paragraph(console, line)
    paragraph(
        console,
        "Differences with % are shares of the published figure, others are in its unit. 'Allowed' is how far ours may "
        "be off before it counts as not met ('!', exit status 1).",
    )
    console.print(Text("\nNot reached", style="bold"))
    for line in not_reached:
        paragraph(console, f"- {line}")
