"""The options of keyaction springs."""

from __future__ import annotations

import argparse
from pathlib import Path

from keyaction.sim.commands.options.declare import NOTES, add_case, add_units, declare
from keyaction.sim.springs.usual import YIELD

WIRES = "phosphor-bronze,stainless"
_DIAMETERS = "0.8,0.9,1.0,1.1,1.2,1.3,1.4,1.5,1.6,1.8,2.0 mm"


def add(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Declare the command."""
    parser = declare(
        commands,
        "springs",
        "pallet springs from the wire in stock: coils, legs, set, stress",
        "Design a V-spring or coil spring for every note of a case from the wire in stock: the fewest coils that the "
        "wire bears, no wider than the pallet; set angle, force shut and open, stress against strength, stored energy. "
        "Notes that the stock has no spring for are named, with what stops them.",
        "springs demo-wood --notes C2:G6:6",
        "springs tuned.toml --wire stainless --diameter '1.2,1.5 mm' --leg '120 mm' --csv springs.csv",
    )
    add_case(parser)
    parser.add_argument(
        "--wire", metavar="NAMES", help=f"materials in stock (default: the wire that the case names, else {WIRES})"
    )
    for option, default, words in (
        ("--diameter", _DIAMETERS, "wire diameters in stock"),
        ("--coil", "20,25,30 mm", "mean coil diameters"),
        ("--leg", "110,120,130 mm", "lengths of the working leg"),
    ):
        parser.add_argument(option, default=default, metavar="LENGTHS", help=f"{words} (default, assumed: {default})")
    parser.add_argument("--turns", type=float, default=8.0, help="most coils, in halves (default: 8)")
    parser.add_argument(
        "--width", metavar="LENGTH", help="widest that the coils may be side by side (default: the pallet)"
    )
    parser.add_argument("--gape", default="75 mm", metavar="LENGTH", help="opening of a V shut in (default: 75 mm)")
    parser.add_argument("--held", metavar="LENGTH", help="a coil spring with a held leg of this length, not a V")
    parser.add_argument(
        "--safety", type=float, default=1.0, help=f"yield ({YIELD:g} of the strength) over stress (default: 1)"
    )
    parser.add_argument("--notes", help=NOTES)
    parser.add_argument("--csv", type=Path, metavar="FILE", help="write the table as CSV")
    add_units(parser)
