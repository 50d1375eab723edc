"""keyaction layout: where keys and pallets stand, what the way between costs, orders side by side, drawings."""

from __future__ import annotations

import argparse
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path

from keyaction.cases.action.layout_warnings import CONTRADICTS
from keyaction.cases.text.near import hint
from keyaction.models.instrument.layout import Layout
from keyaction.models.instrument.orders import ORDERS
from keyaction.models.notes import note_name
from keyaction.models.units.quantity import System, format_value
from keyaction.sim.commands.chosen import Choice, Subject, choose
from keyaction.sim.commands.common import BAD_INPUT, DONE
from keyaction.sim.commands.console import out, tell
from keyaction.sim.commands.on_rail import tell_rail
from keyaction.sim.commands.progress import progress
from keyaction.sim.commands.sheet_tables import paragraph, sheet_table
from keyaction.sim.files.folders import refuse_unusable
from keyaction.sim.files.problem import FileProblem
from keyaction.sim.files.taken import table
from keyaction.sim.files.text import refuse_unwritable, write_text
from keyaction.sim.layout.figures import Laid, lay, layout_of
from keyaction.sim.layout.orders import Compared, compare_orders
from keyaction.sim.layout.sheet import boards_sheet, notes_sheet, path_sheet, touch_sheet
from keyaction.sim.tables.sheet import Sheet, joined


def act(options: argparse.Namespace) -> int:
    """Carry the command out."""
    choice = choose(options, options.notes)
    if wrong := _wrong(choice, options):
        tell("\n".join(wrong))
        return BAD_INPUT
    if options.csv:
        refuse_unwritable(options.csv, "--csv", table(_csv(choice, {}, options.units)))
    sides = choice.notes(options.side) if options.side else None
    laid = dict(zip((one.division for one in choice), choice.each(lambda one: _laid(one, options)), strict=True))
    tell_rail(choice, options.units, options.jobs)
    for one in choice:
        _show(one, laid[one.division], options)
        if options.orders:
            _compare(one, options)
        if options.drawings:
            _draw(one, options, sides)
    if options.csv:
        write_text(options.csv, _csv(choice, laid, options.units))
        out().print(f"table: {options.csv}", markup=False, soft_wrap=True)
    return DONE


def _wrong(choice: Choice, options: argparse.Namespace) -> list[str]:
    """What cannot be done as it is asked for."""
    found = [] if options.jobs >= 0 else [f"--jobs {options.jobs}: must be 0 (one per core) or more"]
    for one in choice:
        try:
            layout_of(one.case)
        except ValueError as problem:
            found.append(str(problem))
    unknown = [word for word in _words(options.orders) if word not in ORDERS and word != "all"]
    allowed = ", ".join((*ORDERS, "all"))
    found += [f"--orders: unknown order '{word}'{hint(word, ORDERS)}; allowed: {allowed}" for word in unknown]
    found += _no_folder(options)
    return found + list(_no_sheet(options))


def _no_folder(options: argparse.Namespace) -> Iterator[str]:
    """A folder for drawings that is none, or none for what says how they are made."""
    if options.side is not None and not options.drawings:
        yield f"--side {options.side}: says what is drawn; give --drawings FOLDER as well"
    if options.drawings == Path():
        yield "--drawings: name a folder"
    elif options.drawings:
        try:
            refuse_unusable(options.drawings, "--drawings")
        except FileProblem as problem:
            yield str(problem)


def _no_sheet(options: argparse.Namespace) -> Iterator[str]:
    """Paper or scale that there is not; both without drawings."""
    from keyaction.plots.drawings.paper import BadSheet, read_paper, read_scale  # here, because no other command draws

    for option, text, read in (("--paper", options.paper, read_paper), ("--scale", options.scale, read_scale)):
        if text is None:
            continue
        if not options.drawings:
            yield f"{option} {text}: says how drawings are made; give --drawings FOLDER as well"
            continue
        try:
            read(text)
        except BadSheet as problem:
            yield f"{option}: {problem}"


def _words(text: str | None) -> list[str]:
    return [] if text is None else [one.strip() for one in text.split(",")]


def _laid(one: Subject, options: argparse.Namespace) -> list[Laid]:
    return lay(one.case, one.notes, options.jobs)


def _sheet(one: Subject, laid: Sequence[Laid], units: System) -> Sheet:
    return notes_sheet(laid, one.case.naming, units)


def _csv(choice: Choice, laid: Mapping[str, Sequence[Laid]], units: System) -> str:
    return joined([(one.division, _sheet(one, laid.get(one.division, ()), units)) for one in choice]).csv()


def _show(one: Subject, laid: Sequence[Laid], options: argparse.Namespace) -> None:
    console, layout = out(), layout_of(one.case)
    console.print(one.title, style="bold", markup=False)
    for line in head(layout, options.units):
        paragraph(console, line)
    console.print(sheet_table(_sheet(one, laid, options.units)))
    if layout.paths:
        middle = one.notes[len(one.notes) // 2]
        console.print(sheet_table(path_sheet(layout.paths[middle], one.case.naming, options.units)))
    for line in layout.remarks:
        paragraph(console, f"- {line}")
    for line in one.case.warnings:
        if CONTRADICTS in line:
            paragraph(console, f"- {line}")
    for each in laid:
        if not each.standing.verdict.sound:
            paragraph(console, f"- {note_name(each.note, one.case.naming)}: {each.standing.verdict}")


def head(layout: Layout, units: System) -> list[str]:
    """What the whole is, in a few lines.

    Parameters
    ----------
    layout : Layout
    units : {"trade", "si"}
    """
    keys = [place.key for place in layout.places.values()]
    pallets = [place.pallet for place in layout.places.values()]
    told = [
        f"{len(layout.places)} notes, order of the chest: {layout.order}. From the first key's line to the last's "
        f"{_span(keys, units)}, of the pallets {_span(pallets, units)}."
    ]
    if board := layout.board:
        least = max(board.density, board.chain)
        proof = "the fewest that are possible" if board.best else f"no board has fewer than {least}"
        lengths = [one.length for one in board.rollers.values()]
        given = "" if board.sizes.height is None else f", {format_value(board.sizes.height, 'm', units)} given"
        rollers, rows = _count(len(lengths), "roller"), _count(board.rows, "row")
        told.append(
            f"Roller board: {rollers} on {rows} ({proof}); {format_value(board.height, 'm', units)} for the "
            f"rows{given}; longest roller {format_value(max(lengths), 'm', units)}, all together {sum(lengths):.1f} m."
        )
    if layout.splayed:
        told.append(f"No rollers: {layout.splayed} goes slantwise.")
    return told


def _count(number: int, what: str) -> str:
    return f"{number} {what}{'' if number == 1 else 's'}"


def _span(places: Sequence[float], units: System) -> str:
    return format_value(max(places) - min(places), "m", units)


def _compare(one: Subject, options: argparse.Namespace) -> None:
    own, words = layout_of(one.case).order, _words(options.orders)
    orders = list(dict.fromkeys([own, *(ORDERS if "all" in words else words)]))
    with progress("laying out", len(orders)) as bar:
        found: list[Compared] = compare_orders(one.case, orders, one.notes, options.jobs, lambda order: bar.step(order))
    console, touch = out(), touch_sheet(found, options.units, own)
    for sheet in (boards_sheet(found, options.units, own), touch):
        console.print(sheet_table(sheet))
    for line in touch.lines:
        paragraph(console, line)


def _draw(one: Subject, options: argparse.Namespace, sides: Mapping[str, Sequence[int]] | None) -> None:
    """Draw a division; `sides` are the notes of each that are drawn in side view, None for the usual ones."""
    from keyaction.plots.drawings.save import save_drawings  # here, because it loads Matplotlib

    folder = options.drawings / one.division if one.division else options.drawings
    notes = None if sides is None else sides.get(one.division, [])
    saved = save_drawings(one.case, folder, notes=notes, scale=options.scale, paper=options.paper)
    console = out()
    console.print(f"drawings and cutting lists: {len(saved.files)} files in {folder}", markup=False, soft_wrap=True)
    for line in saved.remarks:
        paragraph(console, f"- {line}")
