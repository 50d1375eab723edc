"""The options of keyaction calibrate."""

from __future__ import annotations

import argparse
from pathlib import Path

from keyaction.sim.commands.options.declare import NOTES, add_case, add_units, declare


def add(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Declare the command."""
    parser = declare(
        commands,
        "calibrate",
        "find friction, felts, spring and play of notes from what was measured",
        "Find what no drawing has (friction, spring, sealing, stiffness, play) from feel curves, weigh-offs and traces "
        "of strokes: values with 95 % intervals, what the data cannot tell apart, whether the fit is good and where it "
        "is not, and what to measure next. Nothing is absorbed: where the model lacks what was measured that is said, "
        "and no case is written.",
        "calibrate demo-wood feel-C4",
        "calibrate demo-wood feel-C4 demo-wood.csv --notes C4 --plots pictures",
        "calibrate demo-wood feel-C4 --unknown friction,spring,seal --out found.toml",
        "calibrate demo-wood --list",
        mixed=True,
    )
    add_case(parser)
    parser.add_argument(
        "measured",
        metavar="MEASURED",
        nargs="*",
        type=Path,
        help="files: feel curves (travel, force), traces (time, key), sheets as of keyaction sheet; or shipped ones",
    )
    parser.add_argument("--notes", help=f"{NOTES.replace('all', 'those that were measured')}")
    parser.add_argument(
        "--unknown",
        metavar="NAMES",
        help="what to find, commas between (default: what such measurements usually tell); see --list",
    )
    parser.add_argument(
        "--list", action="store_true", help="list what can be found at a note of --notes or MEASURED, and end"
    )
    parser.add_argument("--out", type=Path, metavar="FILE", help="write the case with what was found at these notes")
    parser.add_argument("--anyway", action="store_true", help="write --out although a fit is poor")
    parser.add_argument("--plots", type=Path, metavar="FOLDER", help="pictures: model on measurement, intervals")
    parser.add_argument("--csv", type=Path, metavar="FOLDER", help="the tables and the fit as CSV")
    parser.add_argument("--jobs", type=int, default=0, help="threads (default: one per core)")
    add_units(parser)
