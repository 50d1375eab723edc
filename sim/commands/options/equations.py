"""The options of keyaction equations."""

from __future__ import annotations

import argparse

from keyaction.sim.commands.options.declare import add_case, add_units, declare


def add(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Declare the command."""
    parser = declare(
        commands,
        "equations",
        "print the equations of a note, with every symbol's value and unit",
        "Print Lagrange's equations of a note's train as derived by SymPy, the force laws, the energies, and "
        "a table of symbols with values and units.",
        "equations demo-wood --note C4 --form latex > c4.tex",
    )
    add_case(parser)
    parser.add_argument("--note", help="note whose values are shown (default: the middle of the compass)")
    parser.add_argument(
        "--form", choices=("text", "latex", "both"), default="text", help="how to print (default: text)"
    )
    parser.add_argument("--laid-mass", action="store_true", help="with a mass laid on the key in place of the finger")
    add_units(parser)
