"""keyaction materials: what can be chosen, and what is known of it."""

from __future__ import annotations

import argparse
from collections.abc import Sequence

from keyaction.cases.text.near import hint
from keyaction.models.materials.library import Library, UnknownMaterial, default_library
from keyaction.models.materials.reading import KINDS
from keyaction.models.materials.types import Material
from keyaction.sim.commands.chosen import choose_one
from keyaction.sim.commands.common import BAD_INPUT, DONE
from keyaction.sim.commands.console import err, out
from keyaction.sim.commands.divisions import NotChosen
from keyaction.sim.commands.material_tables import csv_sheet, list_sheets, property_table, remarks
from keyaction.sim.commands.sheet_tables import paragraph, sheet_table
from keyaction.sim.files.taken import table
from keyaction.sim.files.text import refuse_unwritable, write_text


def act(options: argparse.Namespace) -> int:
    """Carry the command out."""
    if options.division and not options.case:
        raise NotChosen(f"--division {','.join(options.division)}: goes with --case and an instrument")
    library = choose_one(options, "materials").case.library if options.case else default_library()
    if options.kind not in (None, *KINDS):
        err().print(f"--kind '{options.kind}': unknown{hint(options.kind, KINDS)}", markup=False)
        return BAD_INPUT
    names, wrong = _found(library, options.names, options.kind)
    if wrong:
        err().print("\n".join(wrong), markup=False)
        return BAD_INPUT
    if options.csv:
        refuse_unwritable(options.csv, "--csv", table(csv_sheet([]).csv()))
    chosen = [library.get(name) for name in names or library.names(options.kind)]
    if options.names:
        _tell(library, options.names, chosen)
    else:
        _list(chosen)
    if options.csv:
        write_text(options.csv, csv_sheet(chosen).csv())
        out().print(f"table: {options.csv}", markup=False, soft_wrap=True)
    return DONE


def _found(library: Library, names: Sequence[str], kind: str | None) -> tuple[list[str], list[str]]:
    """Proper names, and what is said about those that are not known."""
    found, wrong = [], []
    for name in names:
        try:
            found.append(library.get(name, kind).name)
        except UnknownMaterial as problem:
            wrong.append(str(problem))
    return found, wrong


def _list(chosen: Sequence[Material]) -> None:
    console = out()
    for sheet in list_sheets(chosen):
        console.print(sheet_table(sheet, note=False))
        paragraph(console, sheet.note)
    paragraph(console, "keyaction materials NAME tells sources, spreads and what is missing.")


def _tell(library: Library, names: Sequence[str], chosen: Sequence[Material]) -> None:
    console = out()
    for written, material in zip(names, chosen, strict=True):
        console.print(property_table(material))
        for line in remarks(library, written, material):
            paragraph(console, line)
