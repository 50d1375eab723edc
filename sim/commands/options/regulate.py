"""The options of keyaction regulate."""

from __future__ import annotations

import argparse
from pathlib import Path

from keyaction.sim.commands.options.declare import NOTES, add_case, add_units, declare

AIMS = {
    "level": ("LENGTH", "how far a key may stand off the line (default: 0.3 mm)"),
    "dip": ("LENGTH", "how far a dip may be off that as drawn (default: 0.3 mm)"),
    "point": ("LENGTH", "most that the play of neighbours may differ (default: 0.5 mm)"),
    "even": ("SHARE", "how far a pluck may be off its neighbours' and that as drawn (default: '7 %%')"),
    "pitch": ("LENGTH", "way of one turn of a nut (default: 0.4 mm, coarse thread M2)"),
}
"""Options that are tolerances or sizes: metavar and words."""


def add(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Declare the command."""
    parser = declare(
        commands,
        "regulate",
        "from a measured sheet to what is turned, bent and laid in",
        "Read what was measured at the keys, find how every note stands against its drawing, and say what to do in the "
        "trade's order: pressure, pallets, springs, pull-downs, rollers, rail, level, dip, pluck point, couplers, "
        "pedal, recheck. What most notes share is one step for all; then the fewest nuts, felts and springs. The work "
        "is simulated again. Notes whose figures want a cause to be found are named and left. With --before the sheet "
        "is held against an older one: what is done, what crept, what is left. All tolerances are common practice.",
        "regulate demo-wood demo-wood",
        "regulate demo-wood demo-wood --notes C4:B4",
        "regulate demo-wood demo-wood --level '0.4 mm' --pitch '0.5 mm' --out regulated",
        "regulate demo-wood after.csv --before demo-wood",
    )
    add_case(parser)
    parser.add_argument(
        "measured", metavar="MEASURED", help="the sheet that was filled in, or the name of a shipped one"
    )
    parser.add_argument("--notes", help=NOTES)
    parser.add_argument("--before", metavar="SHEET", help="an older sheet of the same notes")
    for name, (metavar, words) in AIMS.items():
        parser.add_argument(f"--{name}", metavar=metavar, help=words)
    parser.add_argument(
        "--springs",
        choices=("even", "drawn"),
        default="even",
        help="springs that are all off by one share: leave that (even), or set each as drawn (default: even)",
    )
    parser.add_argument("--out", type=Path, metavar="FOLDER", help="write a page to hang at the console, and its CSVs")
    parser.add_argument("--pdf", action="store_true", help="print the page as PDF too; needs Chromium")
    parser.add_argument("--jobs", type=int, default=0, help="threads (default: one per core)")
    add_units(parser)
