"""The options of keyaction compare."""

from __future__ import annotations

import argparse
from pathlib import Path

from keyaction.sim.commands.options.declare import add_case, add_units, declare
from keyaction.sim.compare.usual import RULE, SUMMER, WINTER


def add(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Declare the command."""
    parser = declare(
        commands,
        "compare",
        "rods, sections, pallets or pressures side by side",
        "Compute every note of a case once for each material of the trackers and each value of other fields, and set "
        "the variants side by side: touch, speech and repetition, what gives way and what weighs, and what the rods do "
        "between their guides, over the year and on the shelf. Forces that a finger can tell apart are marked.",
        "compare demo-wood --rod sitka-spruce,redcedar,carbon-rod --out rods",
        "compare demo-wood --rod case,carbon-rod@2mm --out rods",
        "compare demo-wood --set 'roller.width=24 mm,30 mm' --out rollers",
    )
    add_case(parser)
    parser.add_argument(
        "--rod",
        metavar="NAMES",
        help=f"materials of the trackers, commas between, 'case' for those of the case: {RULE}",
    )
    parser.add_argument(
        "--set",
        dest="settings",
        metavar="FIELD=VALUES",
        action="append",
        default=[],
        help="another field and its values, commas between ('pallet.opening_width=14 mm,16 mm'); with one value it "
        "holds for all; may be given again, and all combinations are compared",
    )
    parser.add_argument("--notes", help="C4, C2:G4, C2:G6:12 or a comma list (default: all)")
    parser.add_argument("--note", help="note of the feel curves (default: the middle one)")
    for option, climate in (("winter", WINTER), ("summer", SUMMER)):
        parser.add_argument(
            f"--{option}",
            metavar="CLIMATE",
            help=f"temperature and humidity of the {option}, e.g. '{climate[0] - 273.15:g} degC, {100 * climate[1]:g} "
            "%%' (default, assumed)",
        )
    parser.add_argument("--out", type=Path, metavar="DIR", required=True, help="folder for figures, sheets, pictures")
    parser.add_argument("--jobs", type=int, default=0, help="threads (default: one per core)")
    add_units(parser)
