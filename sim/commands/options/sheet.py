"""The options of keyaction sheet."""

from __future__ import annotations

import argparse
from pathlib import Path

from keyaction.sim.commands.options.declare import NOTES, add_case, add_units, declare


def add(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Declare the command."""
    parser = declare(
        commands,
        "sheet",
        "a sheet to fill in at the instrument, as CSV and to print",
        "Write a sheet to be filled in with ruler and balance: sheet.csv, whose cells are blank and whose head names "
        "the case, and sheet.html, which prints on A4 with what is expected small beside each box, the order of work "
        "and cautions. What comes back may have holes, other units, a decimal comma and notes in another naming. Of "
        "an instrument each division has a folder of its own.",
        "sheet demo-wood --notes C4:D4 --out onsite",
        "sheet demo-instrument --division high --order trial --pdf --out onsite",
    )
    add_case(parser)
    parser.add_argument("--notes", help=NOTES)
    parser.add_argument(
        "--out", type=Path, metavar="FOLDER", default=Path("onsite"), help="where it is written (default: onsite)"
    )
    parser.add_argument(
        "--order",
        choices=("compass", "trial", "naturals"),
        default="compass",
        help="of the notes: rising; the trial notes first; naturals first (default: compass)",
    )
    parser.add_argument("--pdf", action="store_true", help="print it as PDF too (needs a Chromium browser)")
    parser.add_argument("--force", action="store_true", help="write over a sheet.csv that is there, filled in or not")
    parser.add_argument("--jobs", type=int, default=0, help="threads (default: one per core)")
    add_units(parser)
