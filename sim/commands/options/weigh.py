"""The options of keyaction weigh."""

from __future__ import annotations

import argparse
from pathlib import Path

from keyaction.sim.commands.options.declare import NOTES, add_case, add_units, declare


def add(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Declare the command."""
    parser = declare(
        commands,
        "weigh",
        "weigh the keys: down-weight, hold weight, up-weight, friction",
        "Weigh every key at its front, wind on and wind off: by the equilibria of its train, and on some notes by "
        "laying simulated masses on the key as well. Shows what friction, spring and wind contribute, and with what "
        "margin the pallet closes without wind.",
        "weigh demo-wood",
        "weigh demo-wood --notes C2:G6:12 --laid all --csv weights.csv",
    )
    add_case(parser)
    parser.add_argument("--notes", help=NOTES)
    parser.add_argument(
        "--laid",
        metavar="NOTES",
        help="notes on which masses are laid as well: notes, 'all' or 'none' (default: lowest, middle and highest)",
    )
    parser.add_argument(
        "--sharp-front",
        metavar="LENGTH",
        help="where sharps are weighed, from the pivot, e.g. '190 mm' (default: at the case's front as all others)",
    )
    parser.add_argument("--csv", type=Path, metavar="FILE", help="write the table as CSV")
    add_units(parser)
