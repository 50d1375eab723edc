"""keyaction compare: rods, rollers, pallets or pressures of one case side by side."""

from __future__ import annotations

import argparse
import json

from rich.console import Console

from keyaction.cases.action.case import Case
from keyaction.cases.action.trains import select
from keyaction.cases.instrument.reader import is_instrument
from keyaction.models.notes import note_name
from keyaction.models.units.quantity import System
from keyaction.plots.compare.save import save_comparison
from keyaction.sim.commands.chosen import choose, choose_one
from keyaction.sim.commands.common import BAD_INPUT, DONE, FAILED, WIDTH
from keyaction.sim.commands.console import err, out, tell
from keyaction.sim.commands.on_rail import tell_rail
from keyaction.sim.commands.sheet_tables import paragraph, sheet_table
from keyaction.sim.commands.stages import Stages
from keyaction.sim.compare import sheets
from keyaction.sim.compare.compare import compare
from keyaction.sim.compare.prices import Price, read_prices, unused
from keyaction.sim.compare.rod_facts import Seasons, parse_climate
from keyaction.sim.compare.store import FIGURES
from keyaction.sim.compare.usual import SUMMER, WINTER
from keyaction.sim.compare.variants import ComparisonProblem, Variant, read_variants
from keyaction.sim.files.division_notes import choose_notes
from keyaction.sim.files.folders import refuse_unusable
from keyaction.sim.files.labelled import Result
from keyaction.sim.files.taken import RESULT, refuse_taken
from keyaction.sim.tables.sheet import Sheet

_GAP = 2
"""Columns of the terminal between two columns of a table."""
_NUMBER = 6
"""Columns of the terminal that a figure of the table of notes takes."""


def act(options: argparse.Namespace) -> int:
    """Carry the command out."""
    choice, (source, options) = choose(options, options.notes), _source(options)
    try:
        variants, prices, seasons = _asked(options, source)
    except ComparisonProblem as problem:
        err().print(str(problem), markup=False)
        return BAD_INPUT
    refuse_unusable(options.out)
    refuse_taken(options.out / FIGURES, RESULT)
    tell_rail(choice, options.units, options.jobs)
    with Stages() as told:
        result = compare(variants, options.notes, options.note, seasons, options.jobs, told, prices)
    made = save_comparison(result, options.out, options.units)
    show(out(), result, options.units)
    out().print(f"\n{len(made)} files in {options.out}: {', '.join(made)}", markup=False, soft_wrap=True)
    return _status(result)


def _source(options: argparse.Namespace) -> tuple[Case | str, argparse.Namespace]:
    """What is compared; of an instrument one division, with the options' notes as its case has them."""
    if not is_instrument(options.case):
        if options.division:
            choose_one(options, "compare")
        return options.case, options
    one = choose_one(options, "compare", options.notes)
    told = {"notes": options.notes and ",".join(note_name(note, one.case.naming) for note in one.notes)}
    if options.note:
        found = choose_notes(options.note, {one.division: one.case.compass}, one.case.naming)[one.division]
        told["note"] = ",".join(note_name(note, one.case.naming) for note in found)
    return one.case, argparse.Namespace(**{**vars(options), **told})


def _asked(options: argparse.Namespace, source: Case | str) -> tuple[list[Variant], list[Price], Seasons]:
    """What is to be compared; every slip in the options is told at once."""
    wrong: list[str] = []
    if options.jobs < 0:
        wrong.append(f"--jobs {options.jobs}: must be 0 (one per core) or more")
    seasons, variants, prices = _seasons(options, wrong), list[Variant](), list[Price]()
    try:
        variants = read_variants(
            source,
            _words(options.rod),
            options.settings,
            rollers=_words(options.roller),
            bundles=options.bundles,
            file=options.file,
            ends=options.ends,
        )
    except ComparisonProblem as problem:
        wrong += problem.defects
    if variants and options.price:
        prices = read_prices(variants[0].case, options.price, wrong)
        wrong += unused(prices, [variant.case for variant in variants])
    if variants and options.note:
        wrong += _beside(variants[0].case, options.notes, options.note)
    if wrong:
        raise ComparisonProblem(wrong)
    return variants, prices, seasons


def _beside(case: Case, notes: str | None, note: str) -> list[str]:
    """Why a note cannot be shown: its tables are of the notes that are compared."""
    chosen, shown = select(case, notes), select(case, note)
    if len(shown) != 1:
        return [f"--note {note}: names {len(shown)} notes; one is needed"]
    if shown[0] in chosen:
        return []
    names = [note_name(number, case.naming) for number in chosen]
    near = note_name(min(chosen, key=lambda number: abs(number - shown[0])), case.naming)
    return [f"--note {note}: is not among --notes {notes} ({len(names)} notes); nearest: {near}"]


def _words(text: str | None) -> list[str]:
    return [word.strip() for word in text.split(",") if word.strip()] if text else []


def _seasons(options: argparse.Namespace, wrong: list[str]) -> Seasons:
    found = []
    for option, usual in (("winter", WINTER), ("summer", SUMMER)):
        text = getattr(options, option)
        try:
            found.append(parse_climate(text, f"--{option}") if text else usual)
        except ValueError as problem:
            wrong.append(str(problem))
    return Seasons() if wrong else Seasons(*found)


def show(console: Console, result: Result, units: System) -> None:
    """Print the tables of a comparison."""
    console.print(f"{result.title}: compared", style="bold", markup=False)
    for line in sheets.legend(result, units):
        paragraph(console, line)
    note = str(result["curve_note"][0])
    if note in result.notes:
        _print(console, sheets.note_sheet(result, note, units), 2)
        _print(console, sheets.budget_sheet(result, note, units), 2)
    _print(console, sheets.ranges_sheet(result, units), 2)
    _print(console, sheets.brief_sheet(result, units, (WIDTH - 5) // _NUMBER), 1)
    if "rod" in result and note in result.notes:
        for rod in result["rod"]:
            _print(console, sheets.rod_sheet(result, str(rod), note, units), 2)
            for line in sheets.advice(result, str(rod), note, units):
                paragraph(console, line)
        console.print("")
        paragraph(console, sheets.rods_note(result))
    for line in sheets.fates(result):
        paragraph(console, line)
    if len(result["variant"]) > 1:
        console.print("\nWhat a finger can tell", style="italic")
        for one in sheets.felt(result):
            paragraph(console, sheets.verdict(result, one))
        paragraph(console, sheets.MARK)
    console.print("\nHow sure the figures are", style="italic")
    for line in json.loads(result.about["checks"]):
        paragraph(console, line)


def _print(console: Console, sheet: Sheet, kept: int) -> None:
    for piece in sheet.pieces(kept, WIDTH, _GAP):
        console.print(sheet_table(piece, note=False))


def _status(result: Result) -> int:
    """Complain about notes that failed, and about figures that the sample did not confirm."""
    status, complained = result["status"], not json.loads(result.about["checks_passed"])
    if complained:
        tell("the designs played again as a check do not confirm the figures; see the last lines")
    for note, why in json.loads(result.about.get("left_out", "{}")).items():
        tell(f"{note} is left out: {why}")
        complained = True
    for v, letter in enumerate(result["letter"]):
        for i, note in enumerate(result.notes):
            if status[v, i] != "ok":
                tell(f"{letter}, {note}: {status[v, i]}")
                complained = True
    for letter, text in zip(result["letter"], json.loads(result.about["curve_status"]), strict=True):
        if text != "ok":
            tell(f"{letter}, feel curve of {result['curve_note'][0]}: {text}")
            complained = True
    return FAILED if complained else DONE
