"""The options of keyaction compare."""

from __future__ import annotations

import argparse
from pathlib import Path

from keyaction.sim.commands.options.declare import NOTES, add_case, add_units, declare
from keyaction.sim.compare.usual import ROLLER_RULE, RULE, SUMMER, WINTER


def add(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Declare the command."""
    parser = declare(
        commands,
        "compare",
        "rods, rollers, pallets or pressures side by side",
        "Compute every note of a case once for each material of the trackers or rollers and each value of other "
        "fields, and set the variants side by side: touch, speech and repetition, what gives way and what weighs, and "
        "what the rods do between their guides, over the year and on the shelf. Forces that a finger can tell apart "
        "are marked. A single variant stands beside the case as it is; --rod case shows that alone.",
        "compare demo-wood --rod sitka-spruce,redcedar,carbon-rod --out rods",
        "compare demo-wood --rod case,carbon-rod@2mm --out rods",
        "compare demo-wood --roller case,steel@8mm --out rollers",
        "compare demo-wood --variant 'thin: drop.width=8 mm; drop.thickness=1 mm' --out thin",
    )
    add_case(parser)
    parser.add_argument(
        "--rod",
        metavar="NAMES",
        help=f"materials of the trackers, commas between, 'case' for those of the case: {RULE}",
    )
    parser.add_argument("--roller", metavar="NAMES", help=f"materials of the rollers, commas between, {ROLLER_RULE}")
    parser.add_argument(
        "--variant",
        dest="bundles",
        metavar="NAME: FIELD=VALUE; ...",
        action="append",
        default=[],
        help="a variant that changes several fields together; 'case' stands for the case as it is; may be given again",
    )
    parser.add_argument(
        "--variants",
        dest="file",
        type=Path,
        metavar="FILE",
        help="such variants from a TOML file: [variants.NAME] with a table of fields for each part",
    )
    parser.add_argument(
        "--ends",
        metavar="MATERIAL=MASS, STIFFNESS",
        action="append",
        default=[],
        help="mass of a fitting and stiffness of an end that go with a material of --rod, one of them or both "
        "('carbon-rod=0.9 g, 60 N/mm'); may be given again",
    )
    parser.add_argument(
        "--price",
        metavar="MATERIAL=PRICE",
        help="price a metre of the rods' materials, in any money, commas between; NAME@SIZE for one size "
        "('sitka-spruce=1.20, carbon-rod@2mm=4.50')",
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
    parser.add_argument("--notes", help=NOTES)
    parser.add_argument("--note", help="note of the feel curves and tables, one of --notes (default: the middle one)")
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
