"""The options of keyaction search."""

from __future__ import annotations

import argparse
from pathlib import Path

from keyaction.sim.commands.options.declare import add_division, add_units, declare

QUANTITIES = (
    "key_dip, lost_motion, pluck_point, pluck_force, follow_through_force, pluck_ratio, friction_at_key, loop_work, "
    "stored_energy, opening_time, speech_delay, release_delay, steady_lift, overshoot, bounce, speech_after_release, "
    "peak_force, pallet_speed, groove_share, repetition_rate, effective_mass, closing_force, wave_time, train_frequency"
)
"""Spelled out, so that help loads nothing; a test compares them."""


def add(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Declare the command."""
    parser = declare(
        commands,
        "search",
        "the best designs of what may vary: a front, confirmed",
        "Search the designs of a case that no other beats in one to three aims, among those that keep limits: an "
        "optimiser proposes them, generation by generation, all are played at once, and what is offered is played "
        "again by itself, as run does. Where there are few designs all are looked at. Stopped at any moment, the same "
        "command with --resume goes on after its last whole generation, to the same result. keyaction search show DIR "
        "shows what was found and writes a design as a case; its own help: keyaction search show --help.",
        "search demo-wood --notes C4 --vary 'pallet-spring.force=x0.7 to x1.3' --out springs",
        "search demo-wood --vary 'roller.width=18 mm to 30 mm in 13' --aims pluck_force --out one",
        "search demo-wood --notes C4:G4 --vary 'box.pressure=60 mmH2O,70 mmH2O' --limits 'pluck_force<=2 N' --out two",
        "search show springs",
        "search show springs --case compromise --out springs.toml",
    )
    told = "a case or instrument file, the name of a shipped one, or a study file with [[vary]] tables; or show"
    parser.add_argument("case", metavar="CASE", help=told)
    add_division(parser, one=True)
    parser.add_argument("--notes", help="C4, C2:G4 or a comma list (default: the lowest, the middle and the highest)")
    parser.add_argument(
        "--vary",
        metavar="FIELD=SPAN",
        action="append",
        default=[],
        help="what may vary: 'roller.width=18 mm to 30 mm', with 'in 13' at the end in 13 steps; 'x0.8 to x1.3' times "
        "what the case gives, 'x0.8, x1, x1.2' single ones; or values with commas between; FIELD+FIELD of one kind and "
        "unit together; may be given again",
    )
    parser.add_argument(
        "--aims",
        metavar="NAMES",
        help="one to three quantities, evenness, cost, or what varies, commas between; NAME:min or NAME:max where "
        "the usual sense is not wanted, NAME@C2 at one note, NAME@mean (default: pluck_force,repetition_rate). "
        f"Quantities: {QUANTITIES}",
    )
    parser.add_argument(
        "--limits",
        metavar="LIMITS",
        action="append",
        help="what must hold, such as 'repetition_rate>=8 Hz, pluck_point<=3 mm'; 'none' among them: no usual ones "
        "(usual: closing_force>=0.1 N, release_delay<=0.1 s, repetition_rate>=6 Hz)",
    )
    told = "price a metre of the rods, as for compare, for cost, which is that of all notes played together"
    parser.add_argument("--price", metavar="MATERIAL=PRICE", help=told)
    parser.add_argument("--generations", type=int, metavar="N", help="generations at most (default: 40)")
    parser.add_argument("--designs", type=int, metavar="N", help="designs of a generation (default: 32)")
    parser.add_argument("--seed", type=int, metavar="N", help="of the random numbers (default: 1)")
    parser.add_argument("--offer", type=int, default=12, metavar="N", help="designs offered at most (default: 12)")
    parser.add_argument("--out", type=Path, metavar="DIR", help="folder: new, or begun by this (default: only shown)")
    parser.add_argument(
        "--device",
        choices=("cpu", "gpu"),
        default="cpu",
        help="where motions are computed; gpu: by CuPy (the extra gpu); what is offered SciPy confirms all the same",
    )
    parser.add_argument("--resume", action="store_true", help="go on in a folder that was begun")
    parser.add_argument("--jobs", type=int, default=0, help="threads and processes (default: one per core)")
    parser.add_argument("--progress", choices=("bar", "json", "none"), default="bar", help="json: lines of it")
    add_units(parser)
