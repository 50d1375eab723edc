"""The options of keyaction sweep."""

from __future__ import annotations

import argparse
from pathlib import Path

from keyaction.cases.study.find import shipped_studies
from keyaction.sim.commands.options.declare import declare
from keyaction.sim.sweep.usual import JUDGE


def add(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Declare the command."""
    parser = declare(
        commands,
        "sweep",
        "compute many designs: a study with its plan, resumable",
        "Compute every design of a study into a folder, with the processes of this machine or the workers of a Dask "
        "scheduler. Stopped at any moment, the same command with --resume goes on where it was. "
        "keyaction sweep show DIR shows what was found; its own help: keyaction sweep show --help.",
        "sweep quick --dry-run",
        "sweep quick --out quick",
        "sweep show quick",
    )
    parser.add_argument(
        "study", metavar="STUDY", help=f"a study file, or a shipped study: {', '.join(shipped_studies())}; or show"
    )
    parser.add_argument("--out", type=Path, metavar="DIR", help="folder for the results: new, or begun by this study")
    parser.add_argument("--jobs", type=int, default=0, help="processes (default: one per core)")
    parser.add_argument("--cluster", metavar="ADDRESS", help="Dask scheduler to use, such as tcp://10.0.0.5:8786")
    parser.add_argument(
        "--device",
        choices=("cpu", "gpu"),
        default="cpu",
        help="where designs are pressed and played; gpu: by CuPy (the extra gpu), here or by each worker of the "
        "cluster, its figures within 1e-9 of those of the cpu",
    )
    parser.add_argument(
        "--doubt",
        choices=("decide", "mark"),
        default="decide",
        help="designs whose figures hang on the time step even at the finest: SciPy decides them, about a second "
        "each, or they are only marked as sensitive (default: decide)",
    )
    parser.add_argument("--resume", action="store_true", help="go on in a folder that was begun")
    parser.add_argument("--dry-run", action="store_true", help="say how many designs, how long and how large; no more")
    parser.add_argument(
        "--judge",
        type=int,
        help=f"designs played again one by one as a check (default: {JUDGE}, of a large study a "
        "sixth of the square root of its designs)",
    )
    parser.add_argument("--progress", choices=("bar", "json", "none"), default="bar", help="json: lines of it")
