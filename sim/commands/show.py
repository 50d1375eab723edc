"""keyaction show: read a result file."""

from __future__ import annotations

import argparse
import json
from pathlib import Path

from keyaction.sim.commands.common import BAD_INPUT, DONE, add_units, declare, err, out
from keyaction.sim.commands.pictures import draw
from keyaction.sim.commands.tables import note_tables, notes_tables
from keyaction.sim.files.hdf5 import load


def add(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Declare the command."""
    parser = declare(
        commands,
        "show",
        "show a result file: all notes, or everything about one",
        "Show a result file as a table of notes, or one note with the definition of every figure, its "
        "budgets, natural frequencies and energy audit; or draw its pictures.",
        "show wood.h5",
        "show wood.h5 --note C4 --units si",
    )
    parser.add_argument("file", metavar="FILE", type=Path, help="a result file written by keyaction run")
    parser.add_argument("--note", help="everything about this note")
    parser.add_argument("--plots", type=Path, metavar="DIR", help="draw the pictures into this folder")
    parser.add_argument(
        "--about", action="store_true", help="what the file rests on: versions, tolerances, assumptions"
    )
    add_units(parser)
    parser.set_defaults(act=act)


def act(options: argparse.Namespace) -> int:
    """Carry the command out."""
    result = load(options.file)
    console = out()
    if options.note:
        try:
            tables = note_tables(result, options.note, options.units)
        except (KeyError, ValueError) as problem:
            err().print(str(problem.args[0]), markup=False)
            return BAD_INPUT
    else:
        tables = notes_tables(result, options.units, console.width)
    for table in tables:
        console.print(table)
    if options.about:
        for name in ("made", "case_name", "fingerprint", "methods", "tolerances", "versions"):
            console.print(f"{name}: {result.about.get(name, '')}", markup=False)
        for line in (*result.assumptions(), *json.loads(result.about.get("warnings", "[]"))):
            console.print(f"- {line}", markup=False)
    if options.plots:
        return draw(result, options.plots, options.units, [options.note] if options.note else None)
    return DONE
