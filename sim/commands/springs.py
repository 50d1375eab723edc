"""keyaction springs: pallet springs from the wire in stock."""

from __future__ import annotations

import argparse
import math
import re
from pathlib import Path

from keyaction.cases.action.case import Case
from keyaction.cases.action.reader import read_case
from keyaction.cases.action.trains import check_trains, select
from keyaction.models.materials.library import UnknownMaterial
from keyaction.models.notes import note_name
from keyaction.models.units.quantity import UnitProblem, parse_quantity
from keyaction.sim.commands.common import BAD_INPUT, DONE, FAILED, add_case, add_units, declare, err, out
from keyaction.sim.commands.sheet_tables import paragraph, sheet_table
from keyaction.sim.commands.tune import CAUTION
from keyaction.sim.files.text import refuse_unwritable, write_text
from keyaction.sim.springs.design import YIELD, SpringProblem, Stock, why_none
from keyaction.sim.springs.sheet import schedule, spring_sheet

_BARE = re.compile(r"\s*[0-9.]+\s*")
_WIRES = "phosphor-bronze,stainless"
_DIAMETERS = "0.8,0.9,1.0,1.1,1.2,1.3,1.4,1.5,1.6,1.8,2.0 mm"


def add(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Declare the command."""
    parser = declare(
        commands,
        "springs",
        "pallet springs from the wire in stock: coils, legs, set, stress",
        "Design a V-spring or coil spring for every note of a case from the wire in stock: number of coils, set angle, "
        "force shut and open, stress against strength, stored energy. Notes that the stock has no spring for are "
        "named, with what stops them.",
        "springs demo-wood --notes C2:G6:6",
        "springs tuned.toml --wire stainless --diameter '1.2,1.5 mm' --leg '120 mm' --csv springs.csv",
    )
    add_case(parser)
    parser.add_argument("--wire", default=_WIRES, metavar="NAMES", help=f"materials in stock (default: {_WIRES})")
    for option, default, words in (
        ("--diameter", _DIAMETERS, "wire diameters in stock"),
        ("--coil", "20,25,30 mm", "mean coil diameters"),
        ("--leg", "110,120,130 mm", "lengths of the working leg"),
    ):
        parser.add_argument(option, default=default, metavar="LENGTHS", help=f"{words} (default, assumed: {default})")
    parser.add_argument("--turns", type=float, default=8.0, help="most coils, in halves (default: 8)")
    parser.add_argument("--width", metavar="LENGTH", help="widest that the coils may be side by side (default: any)")
    parser.add_argument("--gape", default="75 mm", metavar="LENGTH", help="opening of a V shut in (default: 75 mm)")
    parser.add_argument("--held", metavar="LENGTH", help="a coil spring with a held leg of this length, not a V")
    parser.add_argument(
        "--safety", type=float, default=1.0, help=f"yield ({YIELD:g} of the strength) over stress (default: 1)"
    )
    parser.add_argument("--notes", help="C4, C2:G4, C2:G6:12 or a comma list (default: all)")
    parser.add_argument("--csv", type=Path, metavar="FILE", help="write the table as CSV")
    add_units(parser)
    parser.set_defaults(act=act)


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
    if options.csv:
        write_text(options.csv, sheet.csv())
        console.print(f"table: {options.csv}", markup=False, soft_wrap=True)
    paragraph(console, CAUTION)
    return FAILED if without else DONE


def _stock(case: Case, options: argparse.Namespace) -> Stock:
    if options.turns < 0.5 or options.safety <= 0:
        raise SpringProblem("--turns must be 0.5 or more and --safety above 0")
    names = [name.strip() for name in options.wire.split(",") if name.strip()]
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
