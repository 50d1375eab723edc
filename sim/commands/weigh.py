"""keyaction weigh: weigh the keys of a case as the shop does."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence
from pathlib import Path

from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn

from keyaction.cases.action.case import Case
from keyaction.cases.action.reader import read_case
from keyaction.cases.action.trains import check_trains, select
from keyaction.models.notes import note_name
from keyaction.models.units.quantity import UnitProblem, parse_quantity
from keyaction.sim.commands.common import BAD_INPUT, DONE, FAILED, add_case, add_units, declare, err, out
from keyaction.sim.commands.sheet_tables import paragraph, sheet_table
from keyaction.sim.files.text import refuse_unwritable, write_text
from keyaction.sim.statics.continuation import NoEquilibrium
from keyaction.sim.statics.sheet import laid_sheet, weigh_sheet
from keyaction.sim.statics.weighoff import WeighOff, weigh


def add(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Declare the command."""
    parser = declare(
        commands,
        "weigh",
        "weigh the keys: down-weight, hold weight, up-weight, friction",
        "Weigh every key at its front, wind on and wind off: by the equilibria of its train, and on some notes by "
        "laying simulated masses on the key as well. Shows what friction, spring and wind contribute, and with what "
        "margin the pallet closes without wind.",
        "weigh demo-wood",
        "weigh demo-wood --notes C2:G6:12 --laid all --csv weights.csv",
    )
    add_case(parser)
    parser.add_argument("--notes", help="C4, C2:G4, C2:G6:12 or a comma list (default: all)")
    parser.add_argument(
        "--laid",
        metavar="NOTES",
        help="notes on which masses are laid as well: notes, 'all' or 'none' (default: lowest, middle and highest)",
    )
    parser.add_argument(
        "--sharp-front",
        metavar="LENGTH",
        help="where sharps are weighed, from the pivot, e.g. '190 mm' (default: at the case's front as all others)",
    )
    parser.add_argument("--csv", type=Path, metavar="FILE", help="write the table as CSV")
    add_units(parser)
    parser.set_defaults(act=act)


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
        refuse_unwritable(options.csv, "--csv")
    try:
        found = _weighed(case, notes, laid, front)
    except NoEquilibrium as problem:
        err().print(f"{case.path.name}: {problem}", markup=False)
        return FAILED
    _show(case, found, options)
    return DONE


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
    columns = (TextColumn("{task.description}"), BarColumn(), MofNCompleteColumn())
    with Progress(*columns, console=err(), disable=not sys.stderr.isatty(), transient=True) as bar:
        task = bar.add_task("weighing", total=len(notes))

        def told(note: int) -> None:
            bar.update(task, advance=1, description=f"weighed {note_name(note, case.naming):4}")

        return weigh(case, notes, laid, front, told)


def _show(case: Case, found: Sequence[WeighOff], options: argparse.Namespace) -> None:
    console = out()
    console.print(case.title, style="bold", markup=False)
    console.print(sheet_table(weigh_sheet(found, case.naming, options.units, brief=True)))
    masses = laid_sheet(found, case.naming, options.units)
    if masses.rows:
        console.print(sheet_table(masses))
        for one in found:
            for reason in one.reasons:
                paragraph(console, f"{note_name(one.note, case.naming)}: {reason}")
        if not any(one.reasons for one in found):
            console.print("Statics and masses agree to the gram.")
    if options.csv:
        write_text(options.csv, weigh_sheet(found, case.naming, options.units).csv())
        console.print(f"table: {options.csv}", markup=False, soft_wrap=True)
