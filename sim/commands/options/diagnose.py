"""The options of keyaction diagnose."""

from __future__ import annotations

import argparse
from pathlib import Path

from keyaction.sim.commands.options.declare import NOTES, add_case, add_units, declare


def add(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Declare the command."""
    parser = declare(
        commands,
        "diagnose",
        "what is wrong: a measured sheet against the drawing, causes ranked",
        "Weigh what was measured at the keys against what each fault would make of the drawing: first one cause for "
        "all notes (wind, stops, rails, length of the run), then causes of single notes, each with its probability, "
        "its amount, and the test that tells the first two apart. Nothing found is said as plainly, with the smallest "
        "fault that would have been seen.",
        "diagnose demo-wood demo-wood.csv",
        "diagnose demo-wood demo-wood.csv --notes D5:G5 --note D5",
        "diagnose demo-instrument measured.csv --division high --out findings",
    )
    add_case(parser)
    parser.add_argument("measured", metavar="MEASURED", help="the sheet as it came back, CSV")
    parser.add_argument("--notes", help=NOTES)
    parser.add_argument("--note", help="everything about this note alone, e.g. C4")
    parser.add_argument("--out", type=Path, metavar="FOLDER", help="write a page and its tables (CSV) into this folder")
    parser.add_argument("--jobs", type=int, default=0, help="threads (default: one per core)")
    add_units(parser)
