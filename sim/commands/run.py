"""keyaction run: play the notes of a case and write the result file and pictures."""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from pathlib import Path

from keyaction.cases.action.case import Case
from keyaction.cases.action.reader import read_case
from keyaction.cases.action.trains import select, sound_trains
from keyaction.models.notes import note_name
from keyaction.models.train.structure import Structure
from keyaction.sim.code.need_numba import need_numba
from keyaction.sim.commands.common import BAD_INPUT, DONE, FAILED, STOPPED
from keyaction.sim.commands.console import out, tell
from keyaction.sim.commands.pictures import draw
from keyaction.sim.commands.progress import progress
from keyaction.sim.commands.spread_tables import show_spread
from keyaction.sim.commands.tables import notes_tables
from keyaction.sim.files.labelled import Result
from keyaction.sim.files.problem import FileProblem
from keyaction.sim.files.taken import RESULT
from keyaction.sim.files.text import refuse_unwritable
from keyaction.sim.run import run as manual
from keyaction.sim.run.checking import warnings
from keyaction.sim.run.note import NoteResult
from keyaction.sim.run.run import kernels_of
from keyaction.sim.run.standings import standings
from keyaction.sim.spread import FEWEST, MOST


def act(options: argparse.Namespace) -> int:
    """Carry the command out."""
    case = read_case(options.case)
    if options.jobs < 0:
        tell(f"--jobs {options.jobs}: must be 0 (one per core) or more")
        return BAD_INPUT
    if options.spread is not None:
        if not FEWEST <= options.spread <= MOST:
            tell(f"--spread {options.spread}: {FEWEST} to {MOST} draws are possible")
            return BAD_INPUT
        need_numba()
    target = options.out or Path(f"{case.path.stem}.h5")
    wanted = select(case, options.notes)
    trains = sound_trains(case, wanted)
    refuse_unwritable(target, "--out", RESULT)
    if options.plots and options.plots.exists() and not options.plots.is_dir():
        raise FileProblem(f"{options.plots}: is no folder; name another with --plots")
    if target.exists():
        tell(f"note: {target} is there already; it is replaced when all notes are played")
    _notices({train.structure for train in trains.values()})
    for line in warnings(case, standings(trains, case.strokes, options.jobs)):
        tell(f"warning: {line}")
    try:
        result = _played(case, wanted, target, options.jobs)
    except KeyboardInterrupt:
        kept = f"finished notes are kept in {target}.part: the same command goes on from there"
        none = "no note was finished, nothing is kept: the same command begins again"
        tell(f"stopped; {kept if Path(f'{target}.part').is_dir() else none}")
        return STOPPED
    console = out()
    for table in notes_tables(result, options.units, console.width):
        console.print(table)
    if options.spread is not None:
        try:
            result = _spread(result, case, target, options)
        except KeyboardInterrupt:
            tell(f"stopped; {target} holds the figures without their spread")
            return STOPPED
        show_spread(console, result, options.units)
    console.print(f"result: {target}", markup=False, soft_wrap=True)
    status = draw(result, options.plots, options.units) if options.plots else DONE
    failed = [name for name, status in zip(result.notes, result["status"], strict=True) if status != "ok"]
    for name in failed:
        tell(f"{name}: {result['status'][result.index(name)]}")
    return FAILED if failed else status


def _spread(result: Result, case: Case, target: Path, options: argparse.Namespace) -> Result:
    """The result with its spread, written in its place."""
    from keyaction.sim.files.hdf5 import save  # here, as a run has loaded it by now
    from keyaction.sim.spread.spread import with_spread

    with progress("drawing", options.spread) as bar:

        def told(words: str, done: int, total: int) -> None:
            bar.at(done, total, words)

        result = with_spread(result, case, options.spread, jobs=options.jobs, progress=told)
    save(result, target)
    return result


def _notices(structures: set[Structure]) -> None:
    for notice in {kernel.notice for kernel in kernels_of(structures)} - {""}:
        tell(f"note: {notice}")


def _played(case: Case, notes: Sequence[int], target: Path, jobs: int) -> Result:
    with progress("playing", len(notes)) as bar:

        def told(result: NoteResult, kept: bool) -> None:
            bar.step(f"{'kept' if kept else 'played'} {note_name(result.note, case.naming):4}")

        return manual.run(case, notes, target, jobs, progress=told)
