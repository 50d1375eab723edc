"""The options of keyaction show."""

from __future__ import annotations

import argparse
from pathlib import Path

from keyaction.sim.commands.options.declare import add_division, add_units, declare


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
        "show organ.h5 --note great/C4",
    )
    parser.add_argument("file", metavar="FILE", type=Path, help="a result file written by keyaction run")
    parser.add_argument("--note", help="everything about this note; of an instrument DIVISION/NOTE")
    add_division(parser)
    parser.add_argument("--plots", type=Path, metavar="DIR", help="draw the pictures into this folder")
    parser.add_argument(
        "--about", action="store_true", help="what the file rests on: versions, tolerances, assumptions"
    )
    add_units(parser)
