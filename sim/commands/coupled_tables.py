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
from keyaction.sim.figures.coupled_sheets import keys_sheet, pallets_sheet, weight_sheet
from keyaction.sim.figures.heavy import heavy_lines
from keyaction.sim.figures.pallets import couplers, has_pallets, is_coupled, pallets_of
from keyaction.sim.figures.sounding import OF_PALLETS
from keyaction.sim.files.labelled import Result
from keyaction.sim.tables.sheet import Sheet


def show_weight(console: Console, results: Mapping[str, Result], units: System) -> None:
    """Print how heavy each keyboard is with its couplers, and what must be said of heavy ones; nothing of others."""
    sheet = weight_sheet(results, units)
    if not sheet.rows:
        return
    console.print(sheet_table(replace(sheet, note="")))
    paragraph(console, sheet.note)
    told = {name: heavy_lines(one, units) for name, one in results.items()}
    for name, lines in told.items():
        for line in lines[:-1]:
            paragraph(console, f"{name}: {line}" if name else line)
    for line in dict.fromkeys(lines[-1] for lines in told.values() if lines):
        paragraph(console, line)


def show_notes(console: Console, results: Mapping[str, Result], units: System) -> None:
    """Print the notes of every division: what all are asked first, then table by table."""
    show_weight(console, results, units)
    for one in results.values():
        show_one(console, one, units)


def show_one(console: Console, result: Result, units: System) -> None:
    """Print the notes of one division, coupled or not."""
    if not is_coupled(result):
        for table in notes_tables(result, units, console.width):
            console.print(table)
    if has_pallets(result):
        _show_coupled(console, result, units)


def _show_coupled(console: Console, result: Result, units: System) -> None:
    """Print the tables of a result whose keys open several pallets."""
    if is_coupled(result):
        _show(console, keys_sheet(result, units), 1, result.title)
        for line in captions(result, units):
            paragraph(console, line)
    _show(console, pallets_sheet(result, units), 2, result.title)


def _show(console: Console, sheet: Sheet, kept: int, title: str) -> None:
    for i, piece in enumerate(sheet.pieces(kept, WIDTH, 2)):
        words = f"{title}\n{sheet.title}" if i == 0 else ""
        console.print(sheet_table(replace(piece, title=words), note=False))
    paragraph(console, sheet.note)
    for line in sheet.lines:
        paragraph(console, line)


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
    table.add_column("")
    found = pallets_of(result, row)
    for one in found:
        table.add_column(escape(one.label), justify="right")
    for name, figure in OF_PALLETS.items():
        values = (float(result[name][row, one.place]) for one in found)
        table.add_row(figure.label, *(_told(si, figure.unit, units, figure.percent) for si in values))
    table.add_row("verdict", *(escape(str(result["pallet_verdict"][row, one.place])) for one in found))
    return table


def _told(si: float, unit: str, units: System, percent: bool) -> str:
    if si != si:
        return "-"
    return f"{100 * si:.0f} %" if percent else format_value(si, unit or "1", units)
