"""The options of keyaction seasons."""

from __future__ import annotations

import argparse
from pathlib import Path

from keyaction.sim.commands.options.declare import NOTES, add_case, add_climate, add_units, declare


def add(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Declare the command."""
    parser = declare(
        commands,
        "seasons",
        "a year of air and wood: levels, play, dip, margins, first ciphers",
        "Let a year pass over an action: wood follows the air, members and rods change length, and every note rests "
        "and plays differently. Shows month by month what follows at the key, which notes sound unplayed and from when "
        "on, how soon play or level drifts, what the floating rail takes up, and where the climate leaves published "
        "guidance.",
        "seasons demo-wood",
        "seasons demo-instrument --division behind --climate wave --plots year",
        "seasons demo-instrument --note behind/C2 --climate heated-dry-winter",
        "seasons demo-wood --notes C2:G6:12 --drift '0.3 mm' --csv notes.csv",
    )
    add_case(parser)
    add_climate(parser)
    parser.add_argument("--notes", help=NOTES)
    parser.add_argument("--note", help="show and draw this note alone, e.g. C4; of an instrument DIVISION/C4 too")
    parser.add_argument(
        "--drift", metavar="LENGTH", default="0.5 mm", help="drift of play or level to wait for (default: 0.5 mm)"
    )
    parser.add_argument(
        "--compare",
        action="store_true",
        help="the same year with the rail fixed or floating, rods of carbon or wood, and members that cancel",
    )
    parser.add_argument("--plots", type=Path, metavar="FOLDER", help="draw the year into this folder")
    parser.add_argument("--csv", type=Path, metavar="FILE", help="write every figure of every note as CSV")
    parser.add_argument("--months", type=Path, metavar="FILE", help="write the tables by the month as CSV")
    parser.add_argument("--jobs", type=int, default=0, help="threads (default: one per core)")
    add_units(parser)
