"""keyaction springs: pallet springs from the wire in stock."""

from __future__ import annotations

import argparse
import math
import re
from collections.abc import Mapping

from keyaction.cases.action.case import Case
from keyaction.cases.action.trains import check_trains
from keyaction.cases.fields.compass import Compass
from keyaction.models.materials.library import UnknownMaterial
from keyaction.models.train.train import Train
from keyaction.models.units.quantity import UnitProblem, parse_quantity
from keyaction.sim.commands.caution import CAUTION
from keyaction.sim.commands.chosen import Subject, choose
from keyaction.sim.commands.common import BAD_INPUT, DONE, FAILED
from keyaction.sim.commands.console import err, out
from keyaction.sim.commands.historic_told import tell_historic
from keyaction.sim.commands.options.springs import WIRES
from keyaction.sim.commands.sheet_tables import paragraph, sheet_table
from keyaction.sim.files.taken import table
from keyaction.sim.files.text import refuse_unwritable, write_text
from keyaction.sim.springs.design import FEWEST, Candidate, SpringProblem, Stock, why_none
from keyaction.sim.springs.sheet import schedule, spring_sheet, wanted_of
from keyaction.sim.tables.sheet import joined

_BARE = re.compile(r"\s*[0-9.]+\s*")


def act(options: argparse.Namespace) -> int:
    """Carry the command out."""
    choice = choose(options, options.notes)
    trains = choice.each(lambda one: check_trains(one.case, sorted(one.notes)))
    if options.csv:
        empty = [(one.division, spring_sheet({}, one.case.naming, options.units)) for one in choice]
        refuse_unwritable(options.csv, "--csv", table(joined(empty).csv()))
    if wrong := [line for one, of in zip(choice, trains, strict=True) for line in _unsprung(one.case, of)]:
        err().print("\n".join(wrong), markup=False)
        return BAD_INPUT
    try:
        found = [schedule(of, _stock(one.case, options)) for one, of in zip(choice, trains, strict=True)]
    except (SpringProblem, UnitProblem, UnknownMaterial) as problem:
        err().print(str(problem), markup=False)
        return BAD_INPUT
    without = [_show(one, of, options) for one, of in zip(choice, found, strict=True)]
    if options.csv:
        pairs = zip(choice, found, strict=True)
        sheets = [(one.division, spring_sheet(of, one.case.naming, options.units)) for one, of in pairs]
        write_text(options.csv, joined(sheets).csv())
        out().print(f"table: {options.csv}", markup=False, soft_wrap=True)
    paragraph(out(), CAUTION)
    return FAILED if any(without) else DONE


def _show(one: Subject, found: Mapping[int, list[Candidate]], options: argparse.Namespace) -> bool:
    """Show the schedule; whether notes have no spring."""
    console = out()
    console.print(one.title, style="bold", markup=False)
    console.print(sheet_table(spring_sheet(found, one.case.naming, options.units, brief=True)))
    without = [note for note, candidates in found.items() if candidates[0].reason]
    for note in without:
        paragraph(console, f"{one.name(note)}: no spring from this stock: {why_none(found[note])}")
    if words := _unjudged(found):
        paragraph(console, words)
    tell_historic(one.case, "swap-spring", "spring")
    return bool(without)


def _unsprung(case: Case, trains: Mapping[int, Train]) -> list[str]:
    """Notes that want no spring, by what they lack: without force or rate nothing can be wound."""
    notes: dict[tuple[str, str, str], list[int]] = {}
    for note, train in trains.items():
        wanted = wanted_of(train)
        for what, unit, value in (("force", "N", wanted.force), ("rate", "N/m", wanted.rate)):
            if not value > 0:
                notes.setdefault((train.role("spring").name, what, f"{value:g} {unit}"), []).append(note)
    compass = Compass(case.compass, case.naming)
    return [
        f"{case.path.name}: [[train]] {name}, field '{what}' = {value} at {compass.ranges(found)}: a spring is "
        f"designed for a {what} above 0; set it, or leave these notes out with --notes"
        for (name, what, value), found in notes.items()
    ]


def _stock(case: Case, options: argparse.Namespace) -> Stock:
    if options.turns < FEWEST or options.safety <= 0:
        raise SpringProblem(f"--turns must be {FEWEST:g} or more and --safety above 0")
    wires = _wires(case) if options.wire is None else options.wire
    names = [name.strip() for name in wires.split(",") if name.strip()]
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


def _wires(case: Case) -> str:
    """The wire that the case's springs are of, where it says so."""
    named = {
        str(given.value)
        for part in case.parts
        if part.part.role == "spring"
        for given in part.fields.get("wire.material", {}).values()
    }
    return ",".join(sorted(named)) or WIRES


def _unjudged(found: Mapping[int, list[Candidate]]) -> str:
    """What to do about wire whose strength is not known; empty where all is."""
    without = {one.spring.material.name for tried in found.values() for one in tried if math.isnan(one.strength)}
    if not without:
        return ""
    return (
        f"No tensile strength is known of {', '.join(sorted(without))}, or not of each diameter, so its stress cannot "
        "be judged and it is left out. A case may bring it along: a table [materials.NAME] of kind metal with "
        'wire_strength = [{ from = "1 mm", to = "2 mm", A = "600 MPa", m = 0, source = "the maker of the wire" }], '
        "with the figure of your wire."
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
