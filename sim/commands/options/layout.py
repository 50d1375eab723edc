"""The options of keyaction layout."""

from __future__ import annotations

import argparse
from pathlib import Path

from keyaction.sim.commands.options.declare import NOTES, add_case, add_units, declare


def add(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Declare the command."""
    parser = declare(
        commands,
        "layout",
        "where keys and pallets stand, what the way between costs; drawings to scale",
        "Show where every note stands at key and pallet, the rows of the roller board (or the splay of a fan), and "
        "what the way to the side costs at the key: twist, mass, pluck. Compare orders of the chest, and draw plan, "
        "side view and roller board to scale, with cutting lists.",
        "layout demo-instrument --division high --orders all",
        "layout demo-instrument --division behind --drawings sheets --side behind/C4 --scale 1:5",
    )
    add_case(parser)
    parser.add_argument("--notes", help=NOTES)
    parser.add_argument(
        "--orders", metavar="NAMES", help="orders of the chest to set side by side: a comma list, or all"
    )
    parser.add_argument("--csv", type=Path, metavar="FILE", help="write the table of the notes as CSV")
    parser.add_argument("--drawings", type=Path, metavar="FOLDER", help="write drawings and cutting lists there")
    parser.add_argument(
        "--side", metavar="NOTES", help="notes drawn in side view (default: the lowest, middle and highest C)"
    )
    parser.add_argument("--scale", help="such as 1:5 (default: the largest of ISO 5455 that fits the paper)")
    parser.add_argument("--paper", help="A4 to A0 (default: the smallest on which lettering has room)")
    parser.add_argument("--jobs", type=int, default=0, help="threads (default: one per core)")
    add_units(parser)
