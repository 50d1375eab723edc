"""keyaction run: play the notes of a case and write the result file and pictures."""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeElapsedColumn, TimeRemainingColumn

from keyaction.cases.action.reader import read_case
from keyaction.cases.action.trains import check_trains, select
from keyaction.models.notes import Naming, note_name
from keyaction.models.train.equations import Structure
from keyaction.sim.code.kernel import load_kernel
from keyaction.sim.commands.common import BAD_INPUT, DONE, FAILED, STOPPED, add_case, add_units, declare, err, out
from keyaction.sim.commands.pictures import draw
from keyaction.sim.commands.tables import notes_table
from keyaction.sim.files.problem import FileProblem
from keyaction.sim.run import run as manual
from keyaction.sim.run.checking import warnings
from keyaction.sim.run.note import NoteResult


def add(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Declare the command."""
    parser = declare(
        commands,
        "run",
        "play the notes of a case: result file, table, pictures",
        "Play every note of a case (slow press, standard stroke, presses at speed, repetition search) and "
        "write one result file. Stopped half-way, the same command goes on where it was.",
        "run demo-wood --notes C4",
        "run demo-wood --out wood.h5 --plots pictures",
    )
    add_case(parser)
    parser.add_argument("--notes", help="C4, C2:G4, C2:G6:12 or a comma list (default: all)")
    parser.add_argument("--out", type=Path, help="result file (default: the case's name with .h5, here)")
    parser.add_argument("--plots", type=Path, metavar="DIR", help="folder for the pictures (default: none)")
    parser.add_argument("--jobs", type=int, default=0, help="processes (default: one per core)")
    add_units(parser)
    parser.set_defaults(act=act)


def act(options: argparse.Namespace) -> int:
    """Carry the command out."""
    case = read_case(options.case)
    if options.jobs < 0:
        err().print(f"--jobs {options.jobs}: must be 0 (one per core) or more", markup=False)
        return BAD_INPUT
    target = options.out or Path(f"{case.path.stem}.h5")
    wanted = select(case, options.notes)
    trains = check_trains(case, wanted)
    _refuse_unwritable(target)
    if options.plots and options.plots.exists() and not options.plots.is_dir():
        raise FileProblem(f"{options.plots}: is no folder; name another with --plots")
    for line in warnings(case, trains):
        err().print(f"warning: {line}", markup=False)
    _notices({train.structure for train in trains.values()})
    try:
        with _progress(len(wanted), case.naming) as told:
            result = manual.run(case, wanted, target, options.jobs, progress=told)
    except KeyboardInterrupt:
        kept = f"finished notes are kept in {target}.part: the same command goes on from there"
        none = "no note was finished, nothing is kept: the same command begins again"
        err().print(f"stopped; {kept if Path(f'{target}.part').is_dir() else none}", markup=False)
        return STOPPED
    console = out()
    console.print(notes_table(result, options.units))
    console.print(f"result: {target}", markup=False, soft_wrap=True)
    status = draw(result, options.plots, options.units) if options.plots else DONE
    failed = [name for name, status in zip(result.notes, result["status"], strict=True) if status != "ok"]
    for name in failed:
        err().print(f"{name}: {result['status'][result.index(name)]}", markup=False)
    return FAILED if failed else status


def _refuse_unwritable(target: Path) -> None:
    if not target.parent.is_dir():
        raise FileProblem(f"{target}: there is no folder {target.parent}; make it or choose another --out")
    if target.is_dir():
        raise FileProblem(f"{target}: is a folder; name a file with --out")
    if not os.access(target.parent, os.W_OK):
        raise FileProblem(f"{target}: the folder {target.parent} cannot be written to; choose another --out")


def _notices(structures: set[Structure]) -> None:
    for notice in {load_kernel(structure).notice for structure in structures} - {""}:
        err().print(f"note: {notice}", markup=False)


@contextmanager
def _progress(count: int, naming: Naming) -> Iterator[manual.Progress]:
    """A bar with remaining time on a terminal; nothing in a pipe."""
    columns = (
        TextColumn("{task.description}"),
        BarColumn(),
        MofNCompleteColumn(),
        TimeElapsedColumn(),
        TextColumn("left"),
        TimeRemainingColumn(),
    )
    with Progress(*columns, console=err(), disable=not sys.stderr.isatty(), transient=True) as bar:
        task = bar.add_task("playing", total=count)

        def told(result: NoteResult, kept: bool) -> None:
            name = note_name(result.note, naming)
            bar.update(task, advance=1, description=f"{'kept' if kept else 'played'} {name:4}")

        yield told
