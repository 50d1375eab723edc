"""The options of keyaction pallets."""

from __future__ import annotations

import argparse
from pathlib import Path

from keyaction.sim.commands.options.declare import NOTES, add_case, add_units, declare


def add(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Declare the command."""
    parser = declare(
        commands,
        "pallets",
        "the smallest pallet of each note that feeds its stops, and what it saves",
        "Find the smallest opening of every pallet that feeds the drawn stops, with a chord on where the box has a "
        "supply of its own, beside the opening as drawn and that of custom; the pallet that covers it, and the pluck "
        "before and after with the spring unchanged. Openings are shortened: their width is bound to the groove.",
        "pallets demo-wood --notes C2:G6:12 --stops all",
        "pallets demo-wood --chord 'C3 E3 G3 C4' --share 95% --csv pallets.csv --plot pallets.png",
    )
    add_case(parser)
    parser.add_argument("--notes", help=NOTES)
    parser.add_argument(
        "--stops",
        metavar="NAMES",
        help="stops that are drawn, commas between, or all; of an instrument each division draws those it has "
        "(default: as the case draws them)",
    )
    parser.add_argument("--chord", metavar="NOTES", help="notes held at the same time, such as 'C3 E3 G3 C4'")
    parser.add_argument(
        "--share", default="90 %", help="of the wind with no key down that a groove is to hold (default: 90 %%)"
    )
    parser.add_argument("--keep-eye", action="store_true", help="pull-down and spring must keep their places")
    parser.add_argument("--csv", type=Path, metavar="FILE", help="write the schedule of all sizes as CSV")
    parser.add_argument("--plot", type=Path, metavar="FILE", help="draw the sizes over the compass, as PNG")
    parser.add_argument("--jobs", type=int, default=0, help="threads (default: one per core)")
    add_units(parser)
