"""The options of keyaction tolerances."""

from __future__ import annotations

import argparse
from pathlib import Path

from keyaction.sim.commands.options.declare import NOTES, add_case, add_units, declare


def add(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Declare the command."""
    parser = declare(
        commands,
        "tolerances",
        "which tolerance is felt, which is worth paying for, what is left of a stagger",
        "Find what every tolerance of a case does to every figure at the key, the steps that they make between "
        "neighbours against what a finger tells (7 %), what half and twice each tolerance is worth, how wide spring "
        "scatter may be, and what is left of plucks that are set apart. Sizes of tolerances: check --spreads; bands of "
        "all figures: run --spread.",
        "tolerances demo-wood --notes C4:G4",
        "tolerances demo-wood --figure hold --allow '2 %' --out tolerances --plots tolerances",
        "tolerances demo-instrument --notes behind/C4:D4 --coupled II/I --stagger '0.5 mm'",
    )
    add_case(parser)
    parser.add_argument("--notes", help=NOTES)
    parser.add_argument(
        "--figure",
        metavar="NAMES",
        default="pluck",
        help="whose steps are looked at (default: pluck); further ones, commas between, are shown beside it, such as "
        "pluck,dip,play; wrong names are answered with the list",
    )
    parser.add_argument(
        "--limit", help="step that counts: a share of a force (default: 7 %%), a length (default: 0.3 mm)"
    )
    parser.add_argument("--allow", default="5 %", help="share of the steps that may be beyond it (default: 5 %%)")
    parser.add_argument(
        "--tolerance", metavar="NAME", help="of which is asked how wide it may be (default: that of the springs' force)"
    )
    parser.add_argument(
        "--stagger", metavar="LENGTH", help="key travel by which plucks are set apart (default: 0.4 mm)"
    )
    parser.add_argument(
        "--coupled",
        metavar="NAMES",
        help="of an instrument: draw the plucks of these couplers, commas between, at its lowest, middle and highest "
        "note that is chosen",
    )
    parser.add_argument("--wind-off", action="store_true", help="press the notes without wind as well")
    parser.add_argument("--full-width", action="store_true", help="show what the full width of a tolerance does")
    parser.add_argument("--draws", type=int, default=100_000, help="draws of the straight line (default: 100000)")
    parser.add_argument(
        "--full",
        type=int,
        default=20,
        help="full draws that are pressed beside (default: 20); of couplers twice as many",
    )
    parser.add_argument("--seed", type=int, default=1, help="of the draws (default: 1)")
    parser.add_argument("--out", type=Path, metavar="FOLDER", help="write all tables as CSV")
    parser.add_argument("--plots", type=Path, metavar="FOLDER", help="draw pictures")
    parser.add_argument("--jobs", type=int, default=0, help="processes (default: one per core)")
    add_units(parser)
