"""keyaction springs: pallet springs from the wire in stock."""

from __future__ import annotations

import argparse
import math
import re
from collections.abc import Iterator

from keyaction.cases.action.case import Case
from keyaction.cases.action.reader import read_case
from keyaction.cases.action.trains import check_trains, select
from keyaction.models.materials.library import UnknownMaterial
from keyaction.models.notes import note_name
from keyaction.models.units.quantity import UnitProblem, parse_quantity
from keyaction.sim.commands.caution import CAUTION
from keyaction.sim.commands.common import BAD_INPUT, DONE, FAILED
from keyaction.sim.commands.console import err, out
from keyaction.sim.commands.sheet_tables import paragraph, sheet_table
from keyaction.sim.files.text import refuse_unwritable, write_text
from keyaction.sim.springs.design import SpringProblem, Stock, why_none
from keyaction.sim.springs.sheet import schedule, spring_sheet

_BARE = re.compile(r"\s*[0-9.]+\s*")


def act(options: argparse.Namespace) -> int:
    """Carry the command out."""
    case = read_case(options.case)
    notes = sorted(select(case, options.notes))
    trains = check_trains(case, notes)
    if options.csv:
        refuse_unwritable(options.csv, "--csv")
    try:
        found = schedule(trains, _stock(case, options))
    except (SpringProblem, UnitProblem, UnknownMaterial) as problem:
        err().print(str(problem), markup=False)
        return BAD_INPUT
    console, sheet = out(), spring_sheet(found, case.naming, options.units)
    console.print(case.title, style="bold", markup=False)
    console.print(sheet_table(sheet))
    without = [note for note, candidates in found.items() if candidates[0].reason]
    for note in without:
        paragraph(console, f"{note_name(note, case.naming)}: no spring from this stock: {why_none(found[note])}")
    for line in _without_strength(case, options):
        paragraph(console, line)
    if options.csv:
        write_text(options.csv, sheet.csv())
        console.print(f"table: {options.csv}", markup=False, soft_wrap=True)
    paragraph(console, CAUTION)
    return FAILED if without else DONE


def _stock(case: Case, options: argparse.Namespace) -> Stock:
    if options.turns < 0.5 or options.safety <= 0:
        raise SpringProblem("--turns must be 0.5 or more and --safety above 0")
    names = _names(options)
    diameters = _lengths(options.diameter, "--diameter")
    return Stock(
        [(case.library.get(name, "metal"), diameters) for name in names],
        _lengths(options.coil, "--coil"),
        _lengths(options.leg, "--leg"),
        options.turns,
        _length(options.gape, "--gape"),
        _length(options.held, "--held") if options.held else None,
        options.safety,
        width=_length(options.width, "--width") if options.width else math.inf,
    )


def _names(options: argparse.Namespace) -> list[str]:
    return [name.strip() for name in options.wire.split(",") if name.strip()]


def _without_strength(case: Case, options: argparse.Namespace) -> Iterator[str]:
    """A line for every wire in stock whose strength the library does not have: no spring is made of it."""
    for material in (case.library.get(name) for name in _names(options)):
        if not material.wire:
            yield (
                f"{material.name} has no known strength, so no spring is designed of it. Where its maker states one, "
                "bring a material of your own with wire_strength = [{ from, to, A, m, source }]: S = A / d^m, d in mm."
            )


def _lengths(text: str, option: str) -> list[float]:
    """``"1.0,1.2 mm"``: lengths in m, the last one's unit for those that have none."""
    pieces = [piece for piece in text.split(",") if piece.strip()]
    unit = pieces[-1].strip().lstrip("0123456789.") if pieces else ""
    return [_length(f"{piece}{unit}" if _BARE.fullmatch(piece) else piece, option) for piece in pieces]


def _length(text: str, option: str) -> float:
    try:
        found = parse_quantity(text, "m")
    except UnitProblem as problem:
        raise UnitProblem(f"{option}: {problem}") from None
    if found <= 0:
        raise UnitProblem(f"{option}: '{text.strip()}' must be above 0")
    return found
