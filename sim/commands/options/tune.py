"""The options of keyaction tune."""

from __future__ import annotations

import argparse
from pathlib import Path

from keyaction.sim.commands.options.declare import NOTES, add_case, add_units, declare

_OPTIONS = {
    "pluck": "'120 gf'; 'C2=140 gf, G6=90 gf', straight lines between; or 'even within 5 %%'",
    "even": "largest step from note to note, e.g. '5 %%'",
    "within": "share of the target by which a pluck may miss (default: 3 %%)",
    "closing": "least closing margin of the pallet at the eye, wind off and against its friction (default: 0.1 N)",
    "return_time": "longest time from the finger's lift to the silent groove in the standard stroke (default: 0.1 s)",
    "repetition": "least repetition rate (default: 6 Hz)",
    "feed": "least full opening over the toe area of the drawn stops (default: 3, which fills the groove to 90 %%)",
    "weakest": "least spring force (default: 0 N)",
    "strongest": "largest spring force (default: 50 N)",
    "friction": "times its neighbours' friction at the key beyond which a note is left and named (default: 2)",
}
OF_COUPLERS = {
    "coupled": (
        "NAMES",
        'couplers to set: "II/I", several with commas between, or all-on (default: all; what closes a loop apart)',
    ),
    "least_lift": (
        "LIFT",
        "share of its lift that a coupler leaves to a pallet, of that which the driven key itself gives it, or a lift "
        "in mm (default: 90 %%, common practice)",
    ),
    "least_play": ("PLAY", "play that is left in any case (default: 0.3 mm, common practice)"),
    "stagger": (
        "TRAVEL",
        "lay a setting beside with plucks this key travel apart, such as 1.5mm: more than they are apart with no play, "
        "which the table says",
    ),
    "pitch": ("PITCH", "of the thread of the couplers' nuts (default, assumed: 0.5 mm)"),
}
"""Options that go with --coupler-play alone, with their metavars and words."""


def add(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Declare the command."""
    parser = declare(
        commands,
        "tune",
        "find the spring of every note for the pluck that is wanted, or the play of couplers",
        "Find the force of every pallet spring so that the pluck follows a target, while the pallet closes without "
        "wind, the note falls silent and repeats in time, and opens wide enough for its stops. Notes that no spring "
        "can tune are named, with what stops them and the smallest change that would free them; a note whose friction "
        "is out of line with its neighbours is named first and left as it is. The tuned case is a "
        "new case file; its figures are played before it is written. With --coupler-play the couplers of an "
        "instrument are regulated instead: note by note the smallest play at which the highest peak is within 2 % of "
        "the lowest that the lift of the driven pallets allows; a schedule for the set, and a file from which "
        "[[coupler]] play is read.",
        "tune demo-wood --pluck '150 gf' --out tuned.toml",
        "tune demo-wood --pluck 'C2=190 gf, G6=100 gf' --repetition '8 Hz' --out tuned.toml",
        "tune demo-wood --pluck 'even within 1 %' --out tuned.toml",
        "tune demo-wood --targets targets.toml --out tuned.toml",
        'tune demo-instrument --coupler-play --coupled "II/I" --notes C4 --out plays',
    )
    add_case(parser)
    for name, words in _OPTIONS.items():
        parser.add_argument(f"--{name.replace('_', '-')}", metavar=name.upper(), help=words)
    parser.add_argument("--targets", type=Path, metavar="FILE", help="TOML file with these targets; options go over it")
    parser.add_argument("--coupler-play", action="store_true", help="regulate the couplers of an instrument")
    for name, (metavar, words) in OF_COUPLERS.items():
        parser.add_argument(f"--{name.replace('_', '-')}", metavar=metavar, help=words)
    parser.add_argument("--notes", help=NOTES)
    parser.add_argument(
        "--out",
        type=Path,
        metavar="FILE",
        help="the tuned case; with --coupler-play a folder for schedule, plays and pictures (default: only shown)",
    )
    parser.add_argument("--csv", type=Path, metavar="FILE", help="write the table as CSV")
    parser.add_argument("--force", action="store_true", help="write over files that are there")
    parser.add_argument("--jobs", type=int, default=0, help="threads and processes (default: one per core)")
    add_units(parser)
