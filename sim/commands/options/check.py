"""The options of keyaction check."""

from __future__ import annotations

import argparse
from pathlib import Path

from keyaction.sim.commands.options.declare import add_case, add_units, declare


def add(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Declare the command."""
    parser = declare(
        commands,
        "check",
        "read a case and show the train, the derived figures and the assumptions",
        "Read a case, check every note, and show one note's train as a drawing, every derived mass, stiffness "
        "and ratio with its origin, what was chosen for every material, every assumption that a figure comes of with "
        "its source, and warnings.",
        "check demo-wood --note C4",
        "check demo-wood --spreads",
        "check --published --csv published.csv",
    )
    add_case(parser, needed=False)
    parser.add_argument("--note", help="note to show (default: the middle of the compass)")
    parser.add_argument(
        "--published",
        action="store_true",
        help="without a case: published observations, each with its source and trust, beside the program's own "
        "figures, computed now, in the units of the sources",
    )
    parser.add_argument(
        "--spreads",
        action="store_true",
        help="show instead how uncertain every figure of a case is: what all notes share, what each has of its own",
    )
    parser.add_argument("--csv", type=Path, metavar="FILE", help="with --published: write the table as CSV too")
    add_units(parser)
