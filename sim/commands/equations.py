"""keyaction equations: print the equations of a note's train."""

from __future__ import annotations

import argparse

from rich.box import SIMPLE_HEAD
from rich.table import Table

from keyaction.cases.action.reader import read_case
from keyaction.cases.action.trains import check_trains, select
from keyaction.models.notes import note_name
from keyaction.models.train.printing import as_latex, as_text, symbol_rows
from keyaction.models.units.quantity import format_value
from keyaction.sim.commands.common import DONE
from keyaction.sim.commands.console import out


def act(options: argparse.Namespace) -> int:
    """Carry the command out."""
    case = read_case(options.case)
    note = select(case, options.note)[0] if options.note else case.compass[len(case.compass) // 2]
    train = check_trains(case, [note])[note]
    system = train.system(options.laid_mass)
    console = out()
    if options.form in ("text", "both"):
        console.print(f"{case.title}: note {note_name(note, case.naming)}", style="bold", markup=False)
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
    return DONE
