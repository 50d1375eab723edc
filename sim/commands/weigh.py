"""keyaction weigh: weigh the keys of a case as the shop does."""

from __future__ import annotations

import argparse
from collections.abc import Sequence

from keyaction.cases.action.trains import check_trains
from keyaction.models.notes import note_name
from keyaction.models.units.quantity import UnitProblem, parse_quantity
from keyaction.sim.commands.chosen import Choice, Subject, choose
from keyaction.sim.commands.common import BAD_INPUT, DONE, FAILED
from keyaction.sim.commands.console import err, out, tell
from keyaction.sim.commands.on_rail import tell_pulled, tell_rail
from keyaction.sim.commands.progress import progress
from keyaction.sim.commands.sheet_tables import paragraph, sheet_table
from keyaction.sim.files.taken import table
from keyaction.sim.files.text import refuse_unwritable, write_text
from keyaction.sim.tables.sheet import joined
from keyaction.sim.weighing.sheet import laid_sheet, weigh_sheet
from keyaction.sim.weighing.weighoff import WeighOff, weigh


def act(options: argparse.Namespace) -> int:
    """Carry the command out."""
    choice = choose(options, options.notes)
    laid = _laid(choice, options.laid)
    try:
        front = _front(options.sharp_front)
    except ValueError as problem:
        err().print(f"--sharp-front: {problem}", markup=False)
        return BAD_INPUT
    choice.each(lambda one: check_trains(one.case, one.notes))
    if options.csv:
        empty = [(one.division, weigh_sheet([], one.case.naming, options.units)) for one in choice]
        refuse_unwritable(options.csv, "--csv", table(joined(empty).csv()))
    tell_rail(choice, options.units)
    tell_pulled(choice)
    weighed = []
    for one in choice:
        weighed.append(_weighed(one, laid.get(one.division, []), front))
        _show(one, weighed[-1], options)
    if options.csv:
        pairs = zip(choice, weighed, strict=True)
        sheets = [(one.division, weigh_sheet(found, one.case.naming, options.units)) for one, found in pairs]
        write_text(options.csv, joined(sheets).csv())
        out().print(f"table: {options.csv}", markup=False, soft_wrap=True)
    failed = [(one, note) for one, found in zip(choice, weighed, strict=True) for note in found if note.failed]
    for one, note in failed:
        tell(f"{one.name(note.note)}: failed: {note.failed}")
    return FAILED if failed else DONE


def _laid(choice: Choice, wanted: str | None) -> dict[str, list[int]]:
    """Notes of each division on which masses are laid."""
    if wanted == "none":
        return {}
    if wanted is None:
        ends = [(one.division, one.notes) for one in choice]
        return {name: sorted({notes[0], notes[len(notes) // 2], notes[-1]}) for name, notes in ends}
    chosen = choice.notes(wanted)
    return {one.division: [note for note in chosen.get(one.division, []) if note in one.notes] for one in choice}


def _front(text: str | None) -> float | None:
    if text is None:
        return None
    length = parse_quantity(text, "m")
    if not 0.02 <= length <= 2.0:
        raise UnitProblem(f"'{text}' is out of range; 20 mm to 2000 mm is allowed")
    return length


def _weighed(one: Subject, laid: Sequence[int], front: float | None) -> list[WeighOff]:
    with progress("weighing", len(one.notes)) as bar:
        return weigh(one.case, one.notes, laid, front, lambda note: bar.step(f"weighed {one.name(note):4}"))


def _show(chosen: Subject, found: Sequence[WeighOff], options: argparse.Namespace) -> None:
    console, case = out(), chosen.case
    console.print(chosen.title, style="bold", markup=False)
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
