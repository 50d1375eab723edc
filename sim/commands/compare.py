"""keyaction compare: rods, sections, pallets or pressures of one case side by side."""

from __future__ import annotations

import argparse
import json

from rich.console import Console

from keyaction.cases.action.trains import select
from keyaction.models.units.quantity import System
from keyaction.plots.compare.save import save_comparison
from keyaction.sim.commands.common import BAD_INPUT, DONE, FAILED, WIDTH
from keyaction.sim.commands.console import err, out
from keyaction.sim.commands.sheet_tables import paragraph, sheet_table
from keyaction.sim.commands.stages import Stages
from keyaction.sim.compare import sheets
from keyaction.sim.compare.compare import compare
from keyaction.sim.compare.rod_facts import Seasons, parse_climate
from keyaction.sim.compare.usual import SUMMER, WINTER
from keyaction.sim.compare.variants import ComparisonProblem, read_variants
from keyaction.sim.files.folders import refuse_unusable
from keyaction.sim.files.labelled import Result
from keyaction.sim.tables.sheet import Sheet

_GAP = 2
"""Columns of the terminal between two columns of a table."""
_NUMBER = 6
"""Columns of the terminal that a figure of the table of notes takes."""


def act(options: argparse.Namespace) -> int:
    """Carry the command out."""
    try:
        if options.jobs < 0:
            raise ComparisonProblem([f"--jobs {options.jobs}: must be 0 (one per core) or more"])
        seasons = _seasons(options)
        variants = read_variants(options.case, _words(options.rod), options.settings)
        if options.note:
            select(variants[0].case, options.note)
    except ComparisonProblem as problem:
        err().print(str(problem), markup=False)
        return BAD_INPUT
    refuse_unusable(options.out)
    with Stages() as told:
        result = compare(variants, options.notes, options.note, seasons, options.jobs, told)
    made = save_comparison(result, options.out, options.units)
    show(out(), result, options.units)
    out().print(f"\n{len(made)} files in {options.out}: {', '.join(made)}", markup=False, soft_wrap=True)
    return _status(result)


def _words(text: str | None) -> list[str]:
    return [word.strip() for word in text.split(",") if word.strip()] if text else []


def _seasons(options: argparse.Namespace) -> Seasons:
    wrong: list[str] = []
    found = []
    for option, usual in (("winter", WINTER), ("summer", SUMMER)):
        text = getattr(options, option)
        try:
            found.append(parse_climate(text, f"--{option}") if text else usual)
        except ValueError as problem:
            wrong.append(str(problem))
    if wrong:
        raise ComparisonProblem(wrong)
    return Seasons(*found)


def show(console: Console, result: Result, units: System) -> None:
    """Print the tables of a comparison."""
    console.print(f"{result.title}: compared", style="bold", markup=False)
    for line in sheets.legend(result):
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
        paragraph(console, sheets.rods_note(result))
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
        err().print("the sample played by SciPy does not confirm the figures; see the last lines", markup=False)
    for note, why in json.loads(result.about.get("left_out", "{}")).items():
        err().print(f"{note} is left out: {why}", markup=False)
        complained = True
    for v, letter in enumerate(result["letter"]):
        for i, note in enumerate(result.notes):
            if status[v, i] != "ok":
                err().print(f"{letter}, {note}: {status[v, i]}", markup=False)
                complained = True
    for letter, text in zip(result["letter"], json.loads(result.about["curve_status"]), strict=True):
        if text != "ok":
            err().print(f"{letter}, feel curve of {result['curve_note'][0]}: {text}", markup=False)
            complained = True
    return FAILED if complained else DONE
