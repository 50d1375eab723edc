"""keyaction layout: where keys and pallets stand, what the way between costs, orders side by side, drawings."""

from __future__ import annotations

import argparse
from collections.abc import Sequence

from keyaction.cases.action.case import Case
from keyaction.cases.action.reader import read_case
from keyaction.cases.action.trains import select
from keyaction.cases.text.near import hint
from keyaction.models.instrument.layout import Layout
from keyaction.models.instrument.orders import ORDERS
from keyaction.models.units.quantity import System, format_value
from keyaction.sim.commands.common import BAD_INPUT, DONE
from keyaction.sim.commands.console import out, tell
from keyaction.sim.commands.progress import progress
from keyaction.sim.commands.sheet_tables import paragraph, sheet_table
from keyaction.sim.files.taken import table
from keyaction.sim.files.text import refuse_unwritable, write_text
from keyaction.sim.layout.figures import lay, layout_of
from keyaction.sim.layout.orders import compare_orders
from keyaction.sim.layout.sheet import notes_sheet, orders_sheet, path_sheet


def act(options: argparse.Namespace) -> int:
    """Carry the command out."""
    case = read_case(options.case)
    try:
        layout = layout_of(case)
        orders = _orders(options.orders, layout)
    except ValueError as problem:
        tell(str(problem))
        return BAD_INPUT
    notes = select(case, options.notes)
    if options.csv:
        refuse_unwritable(options.csv, "--csv", table(notes_sheet([], case.naming, options.units).csv()))
    _show(case, layout, notes, options)
    if orders:
        _compare(case, orders, notes, options)
    if options.drawings:
        _draw(case, options)
    return DONE


def _orders(text: str | None, layout: Layout) -> list[str]:
    """Names of orders, the case's own first."""
    if text is None:
        return []
    wanted = ORDERS if text.strip() == "all" else [one.strip() for one in text.split(",") if one.strip()]
    for one in wanted:
        if one not in ORDERS:
            raise ValueError(f"--orders: unknown order '{one}'{hint(one, ORDERS)}; allowed: {', '.join(ORDERS)}, all")
    return list(dict.fromkeys([layout.order, *wanted]))


def _show(case: Case, layout: Layout, notes: Sequence[int], options: argparse.Namespace) -> None:
    console = out()
    console.print(f"{case.path.name}: {case.title}", style="bold", markup=False)
    for line in _head(layout, options.units):
        paragraph(console, line)
    laid = lay(case, notes, options.jobs)
    console.print(sheet_table(notes_sheet(laid, case.naming, options.units)))
    if layout.paths:
        middle = notes[len(notes) // 2]
        console.print(sheet_table(path_sheet(layout.paths[middle], case.naming, options.units)))
    for line in layout.remarks:
        paragraph(console, f"- {line}")
    if options.csv:
        write_text(options.csv, notes_sheet(laid, case.naming, options.units).csv())
        console.print(f"table: {options.csv}", markup=False, soft_wrap=True)


def _head(layout: Layout, units: System) -> list[str]:
    """What the whole is, in a few lines."""
    keys = [place.key for place in layout.places.values()]
    pallets = [place.pallet for place in layout.places.values()]
    told = [
        f"{len(layout.places)} notes, order of the chest: {layout.order}. Over the keys' lines "
        f"{_span(keys, units)}, over the pallets' {_span(pallets, units)}."
    ]
    if board := layout.board:
        least = max(board.density, board.chain)
        proof = "the fewest" if board.best else f"at least {least} are needed"
        lengths = [one.length for one in board.rollers.values()]
        room = f", {format_value(board.sizes.height, 'm', units)} given" if board.sizes.height else ""
        rows = format_value(board.height, "m", units)
        told.append(
            f"Roller board: {len(lengths)} rollers on {board.rows} rows ({proof}); {rows} for the rows{room}; longest "
            f"roller {format_value(max(lengths), 'm', units)}, all together {sum(lengths):.1f} m."
        )
    if layout.splayed:
        told.append(f"No rollers: {layout.splayed} goes slantwise.")
    return told


def _span(places: Sequence[float], units: System) -> str:
    return format_value(max(places) - min(places), "m", units)


def _compare(case: Case, orders: Sequence[str], notes: Sequence[int], options: argparse.Namespace) -> None:
    with progress("laying out", len(orders)) as bar:
        found = compare_orders(case, orders, notes, options.jobs, lambda order: bar.step(order))
    console = out()
    sheet = orders_sheet(found, options.units, layout_of(case).order)
    console.print(sheet_table(sheet))
    for line in sheet.lines:
        paragraph(console, line)


def _draw(case: Case, options: argparse.Namespace) -> None:
    from keyaction.plots.drawings.save import save_drawings  # here, because it loads Matplotlib

    side = select(case, options.side) if options.side else None
    saved = save_drawings(case, options.drawings, notes=side, scale=options.scale, paper=options.paper)
    console = out()
    console.print(f"drawings and cutting lists: {len(saved.files)} files in {options.drawings}", markup=False)
    for line in saved.remarks:
        paragraph(console, f"- {line}")
