"""The options of keyaction sweep show."""

from __future__ import annotations

import argparse
from pathlib import Path

from keyaction.sim.commands.common import STATUSES
from keyaction.sim.commands.options.declare import add_units


def show_arguments(arguments: list[str]) -> argparse.Namespace | None:
    """Options of `keyaction sweep show ...`; None if the command line is another one."""
    if arguments[:2] != ["sweep", "show"]:
        return None
    parser = argparse.ArgumentParser(
        "keyaction sweep show",
        description="Show what a sweep found.",
        epilog=STATUSES,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    _add_arguments(parser)
    parser.set_defaults(worker="sweep_show")
    return parser.parse_args(arguments[2:])


def _add_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("folder", metavar="DIR", type=Path, help="the folder that keyaction sweep --out wrote")
    parser.add_argument("--quantity", metavar="NAMES", help="everything about these quantities, commas between")
    parser.add_argument("--note", help="the note to show (default: the middle one of the study)")
    parser.add_argument(
        "--pareto",
        metavar="NAMES",
        help="front between these quantities or inputs: pluck_force,repetition_rate; "
        "a name may end in :min or :max where the usual sense is not wanted",
    )
    parser.add_argument("--plots", type=Path, metavar="DIR", help="draw the pictures into this folder")
    add_units(parser)
