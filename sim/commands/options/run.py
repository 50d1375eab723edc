"""The options of keyaction run."""

from __future__ import annotations

import argparse
from pathlib import Path

from keyaction.sim.commands.options.declare import NOTES, add_case, add_units, declare
from keyaction.sim.spread import DRAWS


def add(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Declare the command."""
    parser = declare(
        commands,
        "run",
        "play the notes of a case or instrument: result file, table, pictures",
        "Play every note of a case, or of all divisions of an instrument (slow press, standard stroke, presses at "
        "speed, repetition search) and write one result file. Stopped half-way, the same command goes on where it was.",
        "run demo-wood --notes C4",
        "run demo-wood --out wood.h5 --plots pictures",
        "run demo-wood --notes C4:E4 --spread --out bands.h5",
        "run organ.toml --division great,pedal --notes great/C4,pedal/C2:D2",
        'run demo-instrument --coupled "II/I" --notes C4',
    )
    add_case(parser)
    parser.add_argument("--notes", help=NOTES)
    parser.add_argument("--out", type=Path, help="result file (default: the case's name with .h5, here)")
    parser.add_argument("--plots", type=Path, metavar="DIR", help="folder for the pictures (default: none)")
    parser.add_argument("--jobs", type=int, default=0, help="processes (default: one per core)")
    parser.add_argument(
        "--spread",
        type=int,
        nargs="?",
        const=DRAWS,
        metavar="N",
        help=f"draw the case N times ({DRAWS} unless said) from the spreads of all that is uncertain: bands of "
        "figures and feel curves, what they come from, and steps between neighbours; keyaction check CASE --spreads "
        "lists the spreads",
    )
    parser.add_argument(
        "--coupled",
        metavar="NAMES",
        help='couplers of an instrument that are drawn: "II/I", several with commas between, or all-on; of divisions '
        "those are played of which a drawn coupler takes hold, unless --division or --notes says otherwise",
    )
    parser.add_argument(
        "--held", metavar="NAMES", help="divisions whose driven keys another hand holds down (default: none)"
    )
    add_units(parser)
