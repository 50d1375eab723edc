"""The options of keyaction assist."""

from __future__ import annotations

import argparse
from pathlib import Path

from keyaction.sim.commands.options.declare import add_case, add_units, declare


def add(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Declare the command."""
    parser = declare(
        commands,
        "assist",
        "relief for a heavy bass: two pallets, relief pallet, beam, pneumatic lever",
        "Try each way to relieve a heavy bass on the notes as they are: two pallets of half the width, a relief "
        "pallet, a two-stage beam, a pneumatic lever. Shows what each saves at the finger, and what it costs in "
        "delay, release and repetition. Sizes that the case does not have are the program's, and are shown.",
        "assist demo-wood --notes C2,E2",
        "assist demo-wood --notes C2 --only two-pallets,beam --plot relief.png",
    )
    add_case(parser)
    parser.add_argument(
        "--notes", help="C2, C2:B2 or a comma list; of an instrument DIVISION/C2 too (default: the lowest octave)"
    )
    parser.add_argument(
        "--only",
        metavar="NAMES",
        help="two-pallets, relief-pallet, beam or pneumatic-lever, commas between (default: all)",
    )
    parser.add_argument("--csv", type=Path, metavar="FILE", help="write all figures as CSV")
    parser.add_argument(
        "--plot", type=Path, metavar="FILE", help="draw the feel curves of the first note on one another, as PNG"
    )
    parser.add_argument("--jobs", type=int, default=0, help="processes (default: one per core)")
    add_units(parser)
