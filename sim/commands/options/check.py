"""The options of keyaction check."""

from __future__ import annotations

import argparse

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
    )
    add_case(parser)
    parser.add_argument("--note", help="note to show (default: the middle of the compass)")
    add_units(parser)
