"""What couplers do to keyboards, as tables of an 80-column terminal."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from rich.box import SIMPLE_HEAD
from rich.console import Console
from rich.markup import escape
from rich.table import Table

from keyaction.models.units.quantity import System, format_value
from keyaction.sim.commands.common import WIDTH
from keyaction.sim.commands.sheet_tables import paragraph, sheet_table
from keyaction.sim.commands.tables import captions, notes_tables
from keyaction.sim.figures.coupled_sheets import (
    DASHES,
    KEYS_NOTE,
    PALLETS_NOTE,
    keys_sheet,
    pallets_sheet,
    weight_sheet,
)
from keyaction.sim.figures.coupled_words import coupled_lines, verdict_lines
from keyaction.sim.figures.heavy import heavy_lines
from keyaction.sim.figures.pallets import couplers, figure, has_pallets, is_coupled, pallets_of, verdict_text
from keyaction.sim.figures.sounding import OF_PALLETS
from keyaction.sim.files.labelled import Result


def show_weight(console: Console, results: Mapping[str, Result], units: System) -> None:
    """Print how heavy each keyboard is with its couplers, and what must be said of heavy ones; nothing of others."""
    sheet = weight_sheet(results, units)
    if not sheet.rows:
        return
    console.print()
    paragraph(console, sheet.title)
    console.print(sheet_table(replace(sheet, title=""), note=False))
    paragraph(console, sheet.note)
    told = {name: heavy_lines(one, units) for name, one in results.items()}
    for name, lines in told.items():
        for line in lines[:-1]:
            paragraph(console, f"{name}: {line}" if name else line)
    for line in dict.fromkeys(lines[-1] for lines in told.values() if lines):
        paragraph(console, line)


def show_notes(console: Console, results: Mapping[str, Result], units: System) -> None:
    """Print the notes of every division: what all are asked first, table by table, then what the words mean."""
    show_weight(console, results, units)
    for one in results.values():
        show_one(console, one, units)
    explain(console, results)


def show_one(console: Console, result: Result, units: System) -> None:
    """Print the notes of one division, coupled or not."""
    sheets = [(pallets_sheet(result, units), 2)] if has_pallets(result) else []
    if is_coupled(result):
        sheets.insert(0, (keys_sheet(result, units), 1))
    else:
        for table in notes_tables(result, units, console.width):
            console.print(table)
    for sheet, kept in sheets:
        for i, piece in enumerate(sheet.pieces(kept, WIDTH, 2)):
            title = f"{result.title}\n{sheet.title}" if i == 0 else ""
            if i:
                console.print()
            console.print(sheet_table(replace(piece, title=title), note=False))
    lines = [*coupled_lines(result), *captions(result, units)] if is_coupled(result) else []
    for line in [*lines, *(verdict_lines(result) if sheets else [])]:
        paragraph(console, line)


def explain(console: Console, results: Mapping[str, Result]) -> None:
    """Print what the words over the columns of coupled keys and of their pallets mean; nothing where there are none."""
    told = [
        (is_coupled, KEYS_NOTE),
        (has_pallets, PALLETS_NOTE),
        (has_pallets, DASHES),
    ]
    for shown, note in told:
        if any(shown(one) for one in results.values()):
            paragraph(console, note)


def pallets_table(result: Result, note: str, units: System) -> Table | str:
    """Of one note every pallet with its figures, and what becomes of it; empty where the result tells of none."""
    if not has_pallets(result):
        return ""
    row = result.index(note)
    names = couplers(result, row)
    drawn = f", coupled by {', '.join(names)}" if names else ""
    table = Table(
        title=f"\nPallets of {escape(note)}{escape(drawn)}",
        title_justify="left",
        box=SIMPLE_HEAD,
        show_edge=False,
        pad_edge=False,
        width=WIDTH,
    )
    table.add_column("", no_wrap=True)
    found = pallets_of(result, row)
    for one in found:
        table.add_column(escape(one.label), justify="right")
    for name, of in OF_PALLETS.items():
        values = (float(figure(result, name)[row, one.place]) for one in found)
        table.add_row(of.label, *(_told(si, of.unit, units, of.percent) for si in values))
    table.add_row("verdict", *(escape(verdict_text(result, row, one)) for one in found))
    return table


def _told(si: float, unit: str, units: System, percent: bool) -> str:
    if si != si:
        return "-"
    return f"{100 * si:.0f} %" if percent else format_value(si, unit or "1", units)
