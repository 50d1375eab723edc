"""The options of keyaction rail."""

from __future__ import annotations

import argparse
from pathlib import Path

from keyaction.sim.commands.options.declare import add_case, add_climate, add_units, declare


def add(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Declare the command."""
    parser = declare(
        commands,
        "rail",
        "does a floating rail cure it, and what load does it need",
        "Let a year pass with the rail made fast and with it floating: what it takes up, what is left of every note, "
        "when it reaches a stop, in which band friction holds it; how far played notes shift it, the smallest load "
        "with which a chord gives no other note play, and the largest that the touch and the year bear. With --struck "
        "the notes are played in the motion, and quiet notes that sound are named.",
        "rail demo-instrument --division behind",
        'rail demo-instrument --division behind --chord "C2 E2 G2 C3" --plots rail',
    )
    add_case(parser)
    add_climate(parser)
    parser.add_argument(
        "--notes", metavar="NOTES", help="notes of which it is told what is left; all hold the rail (default: all)"
    )
    parser.add_argument("--chord", metavar="NOTES", help="what is played against it (default: the ten that pull most)")
    parser.add_argument("--struck", action="store_true", help="strike the chord in the motion as well")
    parser.add_argument("--plots", type=Path, metavar="FOLDER", help="draw the rail into this folder")
    parser.add_argument("--csv", type=Path, metavar="FILE", help="write what is left of every note as CSV")
    parser.add_argument(
        "--out",
        type=Path,
        metavar="FILE",
        help="write the case with the nuts as the rail's load leaves them on the day of regulation: all other commands "
        "then take its notes as they stand",
    )
    parser.add_argument("--force", action="store_true", help="write over a case that is there")
    parser.add_argument("--jobs", type=int, default=0, help="threads (default: one per core)")
    add_units(parser)
