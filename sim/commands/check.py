"""keyaction check: read a case and show what follows from it before anything is played."""

from __future__ import annotations

import argparse

from rich.box import SIMPLE_HEAD
from rich.markup import escape
from rich.table import Table

from keyaction.cases.action.case import Case
from keyaction.cases.action.reader import read_case
from keyaction.cases.action.trains import check_trains, select
from keyaction.cases.text.assumed import grouped
from keyaction.models.notes import note_name
from keyaction.models.train.train import Train
from keyaction.models.units.quantity import System, format_value
from keyaction.sim.commands.common import DONE
from keyaction.sim.commands.console import out
from keyaction.sim.figures.sketch import sketch, static_pluck
from keyaction.sim.run.checking import warnings


def act(options: argparse.Namespace) -> int:
    """Carry the command out."""
    case = read_case(options.case)
    trains = check_trains(case, case.compass)
    note = select(case, options.note)[0] if options.note else case.compass[len(case.compass) // 2]
    console = out()
    first, last = (note_name(n, case.naming) for n in (case.compass[0], case.compass[-1]))
    console.print(f"{case.path.name}: {case.title}", style="bold", markup=False)
    console.print(
        f"{len(case.compass)} notes, {first} to {last}; note {note_name(note, case.naming)} is shown", markup=False
    )
    console.print()
    print(sketch(trains[note], options.units))
    console.print()
    console.print(_promise(trains[note], options.units), markup=False, soft_wrap=False)
    console.print()
    console.print(_figures(trains[note], options.units))
    console.print(_assumptions(case))
    found = warnings(case, trains)
    console.print(f"Warnings: {len(found)}", style="bold")
    for line in found:
        console.print(f"- {line}", markup=False)
    return DONE


def _promise(train: Train, units: System) -> str:
    pallet = train.role("pallet").values.derived
    return (
        f"By levers alone, without friction: pluck {format_value(static_pluck(train), 'N', units)} at the key; "
        f"at the eye wind {format_value(pallet['wind_at_eye'].value, 'N', units)}, spring less weight "
        f"{format_value(pallet['closing_no_wind'].value, 'N', units)}"
    )


_QUIET = ("cos_turn", "sin_turn", "give_near", "give_far")
"""Figures that follow from another one that is shown."""


def _table(title: str, *columns: tuple[str, int, bool]) -> Table:
    table = Table(title=title, title_justify="left", width=80, box=SIMPLE_HEAD, show_edge=False, pad_edge=False)
    for heading, width, right in columns:
        table.add_column(heading, width=width, justify="right" if right else "left")
    return table


def _figures(train: Train, units: System) -> Table:
    table = _table("Derived figures", ("part, figure", 36, False), ("value", 15, True), ("from", 25, False))
    for part in train.parts:
        table.add_row(f"[bold]{part.name}[/bold] ({part.kind})", "", "")
        for item in part.values.derived.values():
            if item.name in _QUIET or (item.value == 0 and item.origin.startswith("default")):
                continue
            table.add_row(f"  {item.doc}", _value(item.value, item.unit, units), escape(item.origin))
    return table


def _value(value: float, unit: str, units: System) -> str:
    if not unit:
        return f"{value:.4g}"
    if units == "trade" and unit == "N" and abs(value) >= 500:
        return f"{value / 1000:.4g} kN"
    if units == "trade" and unit == "m^3" and abs(value) < 5e-4:
        return f"{value * 1e6:.4g} cm³"
    return format_value(value, unit, units)


def _assumptions(case: Case) -> Table:
    """Equal assumptions of several parts share a line."""
    table = _table(
        "\nAssumptions: what the case left to the program",
        ("field", 20, False),
        ("value: source", 34, False),
        ("of", 22, False),
    )
    for field, told, owners in grouped(case.assumptions):
        table.add_row(field, escape(told), escape(owners))
    return table
