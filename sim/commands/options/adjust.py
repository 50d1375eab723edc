"""The options of keyaction adjust."""

from __future__ import annotations

import argparse

from keyaction.sim.commands.options.declare import add_case, add_climate, add_units, declare


def add(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Declare the command."""
    parser = declare(
        commands,
        "adjust",
        "a note sounds in a dry spell: which joint to turn first",
        "What to do about a note that sounds by itself, or soon will: whether the fault is common or its own, the "
        "common places before single nuts, every joint by what a turn of its nut does, and what the cure does at the "
        "other end of the year.",
        "adjust demo-wood --note C2",
        "adjust demo-instrument --note behind/C2 --climate wave --day '12 Feb'",
    )
    add_case(parser)
    add_climate(parser)
    parser.add_argument("--note", required=True, help="the note, e.g. C4; of an instrument DIVISION/C4 too")
    parser.add_argument(
        "--day",
        metavar="DAY",
        help="'12 Feb', 2025-02-12, or a number from 1 on (default: the day of its least margin)",
    )
    parser.add_argument(
        "--pitch", metavar="LENGTH", default="0.4 mm", help="of the nut's thread (default: 0.4 mm, M2 coarse)"
    )
    parser.add_argument("--jobs", type=int, default=0, help="threads (default: one per core)")
    add_units(parser)
