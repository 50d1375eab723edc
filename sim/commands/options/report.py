"""The options of keyaction report."""

from __future__ import annotations

import argparse
from pathlib import Path

from keyaction.sim.commands.options.declare import add_climate, add_division, add_units, declare


def add(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Declare the command."""
    parser = declare(
        commands,
        "report",
        "summary, spring schedule, figures, pictures: one page, and a PDF",
        "Write one HTML page that needs nothing beside it: a summary, the spring schedule, figures and regulation list "
        "note by note, lengths to cut, what was compared, pictures, assumptions with their sources, and cautions. It "
        "prints on A4; with --pdf a Chromium on this machine prints it. Every sheet is a CSV file beside it. A case is "
        "played first, and its result is kept in the folder. Of an instrument each division has a page in a folder of "
        "its own, and one page leads to them.",
        "report wood.h5 --out report",
        "report demo-wood --compare rods --out report --pdf",
        "report wood.h5 --weigh --found measured.csv --out report",
        'report wood.h5 --chord "C3 E3 G3 C4" --stops all --out report',
        'report demo-instrument --coupled "II/I" --notes behind/C4 --out report',
        'report organ.h5 --chord "behind/C3 high/C4" --coupled "II/I" --out report',
    )
    parser.add_argument(
        "case",
        metavar="FILE|CASE",
        help="a result file of keyaction run, a case or instrument file, or the name of a shipped one",
    )
    add_division(parser)
    parser.add_argument("--out", type=Path, metavar="DIR", required=True, help="folder for the page and its sheets")
    parser.add_argument("--pdf", action="store_true", help="print it as PDF too (needs a Chromium browser)")
    parser.add_argument("--compare", type=Path, metavar="DIR", help="folder that keyaction compare wrote")
    parser.add_argument(
        "--weigh",
        action="store_true",
        help="weigh the keys by statics, for the regulation list and a sheet of their own (up to a second a note)",
    )
    parser.add_argument(
        "--found",
        type=Path,
        metavar="FILE",
        help="a regulation.csv in which what was measured is filled in: adds how it differs from what is computed",
    )
    parser.add_argument(
        "--chord",
        metavar="NOTES",
        help='adds a chord sheet: "C3 E3 G3 C4" at once, joined by the wind of their box; of an instrument HIGH/C3',
    )
    parser.add_argument(
        "--coupled",
        metavar="NAMES",
        help="couplers drawn, commas between, or all-on: for the chord, and where an instrument is played first",
    )
    parser.add_argument(
        "--stops", metavar="NAMES", help="stops drawn for the chord, commas between; 'all' or 'none' (with --chord)"
    )
    parser.add_argument(
        "--seasons", action="store_true", help="adds seasonal sheets, in the climate that the case names"
    )
    add_climate(parser, "adds seasonal sheets in this climate: ")
    parser.add_argument("--notes", help="notes to play, where a case is given (default: all)")
    parser.add_argument("--jobs", type=int, default=0, help="processes (default: one per core)")
    add_units(parser)
