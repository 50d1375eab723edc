"""keyaction weigh: weigh the keys of a case as the shop does."""

from __future__ import annotations

import argparse
from collections.abc import Sequence

from keyaction.cases.action.case import Case
from keyaction.cases.action.reader import read_case
from keyaction.cases.action.trains import check_trains, select
from keyaction.models.notes import note_name
from keyaction.models.units.quantity import UnitProblem, parse_quantity
from keyaction.sim.commands.common import BAD_INPUT, DONE, FAILED
from keyaction.sim.commands.console import err, out, tell
from keyaction.sim.commands.progress import progress
from keyaction.sim.commands.sheet_tables import paragraph, sheet_table
from keyaction.sim.files.taken import table
from keyaction.sim.files.text import refuse_unwritable, write_text
from keyaction.sim.weighing.sheet import laid_sheet, weigh_sheet
from keyaction.sim.weighing.weighoff import WeighOff, weigh


def act(options: argparse.Namespace) -> int:
    """Carry the command out."""
    case = read_case(options.case)
    notes = select(case, options.notes)
    laid = _laid(case, notes, options.laid)
    try:
        front = _front(options.sharp_front)
    except ValueError as problem:
        err().print(f"--sharp-front: {problem}", markup=False)
        return BAD_INPUT
    check_trains(case, notes)
    if options.csv:
        refuse_unwritable(options.csv, "--csv", table(weigh_sheet([], case.naming, options.units).csv()))
    found = _weighed(case, notes, laid, front)
    _show(case, found, options)
    failed = [one for one in found if one.failed]
    for one in failed:
        tell(f"{note_name(one.note, case.naming)}: failed: {one.failed}")
    return FAILED if failed else DONE


def _laid(case: Case, notes: Sequence[int], wanted: str | None) -> list[int]:
    if wanted is None:
        return sorted({notes[0], notes[len(notes) // 2], notes[-1]})
    if wanted == "none":
        return []
    chosen = notes if wanted == "all" else select(case, wanted)
    return [note for note in chosen if note in notes]


def _front(text: str | None) -> float | None:
    if text is None:
        return None
    length = parse_quantity(text, "m")
    if not 0.02 <= length <= 2.0:
        raise UnitProblem(f"'{text}' is out of range; 20 mm to 2000 mm is allowed")
    return length


def _weighed(case: Case, notes: Sequence[int], laid: Sequence[int], front: float | None) -> list[WeighOff]:
    with progress("weighing", len(notes)) as bar:
        return weigh(case, notes, laid, front, lambda note: bar.step(f"weighed {note_name(note, case.naming):4}"))


def _show(case: Case, found: Sequence[WeighOff], options: argparse.Namespace) -> None:
    console = out()
    console.print(case.title, style="bold", markup=False)
    sheet = weigh_sheet(found, case.naming, options.units, brief=True)
    console.print(sheet_table(sheet))
    for line in sheet.lines:
        paragraph(console, line)
    masses = laid_sheet(found, case.naming, options.units)
    if masses.rows:
        console.print(sheet_table(masses))
    for one in found:
        for reason in one.reasons:
            paragraph(console, f"{note_name(one.note, case.naming)}: {reason}")
    if masses.rows and not any(one.reasons for one in found if one.laid_on):
        console.print("Statics and masses agree to the gram.")
    if options.csv:
        write_text(options.csv, weigh_sheet(found, case.naming, options.units).csv())
        console.print(f"table: {options.csv}", markup=False, soft_wrap=True)
