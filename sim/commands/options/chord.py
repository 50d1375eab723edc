"""The options of keyaction chord."""

from __future__ import annotations

import argparse
from pathlib import Path

from keyaction.sim.commands.options.declare import add_case, add_units, declare


def add(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Declare the command."""
    parser = declare(
        commands,
        "chord",
        "many notes at once: what the wind loses, and what would carry it",
        "Play notes at once, joined through the wind of their box: how far the box falls, what that does to the pluck, "
        "speech and release of every note, whether each groove still gets its wind, how stops rob each other, and the "
        "smallest trunk and pallets that carry the chord.",
        'chord demo-wood "C3 E3 G3 C4"',
        'chord demo-instrument "C3 E3 G3" --division behind --stops all --repeat 6',
    )
    add_case(parser)
    parser.add_argument(
        "notes", metavar="NOTES", help="the chord, spaces or commas between; of an instrument HIGH/C3 too"
    )
    parser.add_argument(
        "--stops",
        metavar="NAMES",
        help="stops drawn, in this order, commas between; 'all' or 'none' (default: as the case has them)",
    )
    parser.add_argument("--repeat", metavar="HZ", help="repeat the chord at this rate as well, e.g. 6")
    parser.add_argument("--plot", type=Path, metavar="FILE", help="draw the pressures over time into this PNG file")
    parser.add_argument("--csv", type=Path, metavar="FILE", help="write the table of the notes as CSV")
    add_units(parser)
