"""The options of keyaction search show."""

from __future__ import annotations

import argparse
from pathlib import Path

from keyaction.sim.commands.common import STATUSES
from keyaction.sim.commands.options.declare import add_units


def show_arguments(arguments: list[str]) -> argparse.Namespace | None:
    """Options of `keyaction search show ...`; None if the command line is another one."""
    if arguments[:2] != ["search", "show"]:
        return None
    parser = argparse.ArgumentParser(
        "keyaction search show",
        description="Show what a search found, or write one of its designs as a case.",
        epilog=STATUSES,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument("folder", metavar="DIR", type=Path, help="the folder that keyaction search --out wrote")
    parser.add_argument("--case", metavar="N", help="an offered design by its number, or compromise: write its case")
    parser.add_argument("--out", type=Path, metavar="FILE", help="the case file, with --case")
    parser.add_argument("--force", action="store_true", help="write over files that are there")
    parser.add_argument("--plots", type=Path, metavar="DIR", help="draw the front into this folder")
    add_units(parser)
    parser.set_defaults(worker="search_show")
    return parser.parse_args(arguments[2:])
