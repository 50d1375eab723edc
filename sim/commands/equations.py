"""keyaction equations: print the equations of a note's train."""

from __future__ import annotations

import argparse

from rich.box import SIMPLE_HEAD
from rich.table import Table

from keyaction.cases.action.trains import check_trains
from keyaction.models.notes import note_name
from keyaction.models.train.printing import as_latex, as_text, symbol_rows
from keyaction.models.train.train import Train
from keyaction.models.units.quantity import format_value
from keyaction.sim.commands.chosen import Subject, choose
from keyaction.sim.commands.common import DONE
from keyaction.sim.commands.console import out


def act(options: argparse.Namespace) -> int:
    """Carry the command out."""
    choice = choose(options).one_note(options.note)
    notes = [one.notes[0] if options.note else one.case.compass[len(one.case.compass) // 2] for one in choice]
    wanted = dict(zip((one.division for one in choice), notes, strict=True))
    trains = choice.each(lambda one: check_trains(one.case, [wanted[one.division]])[wanted[one.division]])
    for one, note, train in zip(choice, notes, trains, strict=True):
        _print(one, note, train, options)
    return DONE


def _print(one: Subject, note: int, train: Train, options: argparse.Namespace) -> None:
    system = train.system(options.laid_mass)
    console = out()
    if one.division:
        print(f"% {one.name(note)}" if options.form == "latex" else f"Division {one.division}")
    if options.form in ("text", "both"):
        console.print(f"{one.case.title}: note {note_name(note, one.case.naming)}", style="bold", markup=False)
        print()
        print(as_text(system))
        table = Table(title="Symbols", title_justify="left", width=80, box=SIMPLE_HEAD, show_edge=False, pad_edge=False)
        table.add_column("symbol", width=24)
        table.add_column("value", justify="right", width=16)
        table.add_column("meaning", width=36)
        for name, value, unit, doc in symbol_rows(system, train.parameters):
            shown = f"({unit})" if value is None else format_value(value, unit, options.units)
            table.add_row(name, shown, doc)
        console.print(table)
    if options.form in ("latex", "both"):
        print(as_latex(system))
