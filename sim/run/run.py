"""A run over the notes of a case: in parallel, taken up where it was left, losing nothing."""

from __future__ import annotations

from collections.abc import Callable, Generator, Iterable, Mapping, Sequence
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from keyaction.cases.action.case import Case
from keyaction.cases.action.strokes import Strokes
from keyaction.cases.action.trains import select, sound_trains
from keyaction.models.algebra.problem import DimensionProblem
from keyaction.models.materials.library import Library
from keyaction.models.train.given import GivenPart
from keyaction.models.train.structure import Structure
from keyaction.models.train.train import PartProblem, Train, build_train
from keyaction.sim.code.kernel import Kernel, load_kernel
from keyaction.sim.figures.play import reason_of
from keyaction.sim.figures.repetition import Repetition
from keyaction.sim.files.hdf5 import save
from keyaction.sim.files.labelled import Result
from keyaction.sim.files.taken import RESULT, refuse_taken
from keyaction.sim.lanes.repetition import lane_rates
from keyaction.sim.lanes.step import too_fast_trains
from keyaction.sim.motion.integrate import Tolerances
from keyaction.sim.processes.count import workers
from keyaction.sim.processes.tasks import TWICE, in_processes
from keyaction.sim.run.about import about, fingerprint
from keyaction.sim.run.assemble import assemble
from keyaction.sim.run.kept_notes import PartsFolder
from keyaction.sim.run.note import NoteResult, failed_note, play_note

Progress = Callable[[NoteResult, bool], None]
"""Told of every finished note, and whether it was taken over from an earlier, interrupted run."""


@dataclass(frozen=True)
class Task:
    """All that a worker needs for one note."""

    note: int
    parts: tuple[GivenPart, ...]
    library: Library
    strokes: Strokes
    tolerances: Tolerances
    searched: Repetition | None = None


def _work(task: Task) -> NoteResult:
    """Play one note in a worker; nothing that happens there reaches the others."""
    try:
        train = build_train(task.parts, task.library)
        with np.errstate(all="ignore"):
            return play_note(task.note, train, task.strokes, task.tolerances, task.searched)
    except Exception as problem:  # the reason is kept with the note, the others go on
        return failed_note(task.note, reason_of(problem))


def kernels_of(structures: Iterable[Structure]) -> list[Kernel]:
    """The compiled equations of each structure, before workers need them; without those that parts cannot give."""
    found = []
    for structure in dict.fromkeys(structures):
        try:
            found.append(load_kernel(structure))
        except (PartProblem, DimensionProblem):
            continue  # told with the notes that have it
    return found


def run(
    case: Case,
    notes: str | Sequence[int] | None = None,
    out: str | Path | None = None,
    jobs: int = 1,
    tolerances: Tolerances | None = None,
    progress: Progress | None = None,
) -> Result:
    """Play notes of a case and compute all their figures and curves.

    Parameters
    ----------
    case : Case
    notes : str or sequence of int, optional
        "C4", "C2:G4", a comma list, numbers; all by default.
    out : path, optional
        Result file; an older one is replaced, nothing else is. Finished notes are kept beside it until it is whole,
        so that the same call after an interruption plays only what is missing.
    jobs : int
        Processes; 0 means one per core. A script that uses more than one keeps its calls under
        ``if __name__ == "__main__":``, as Python's multiprocessing demands.
    tolerances : Tolerances, optional
        How exactly to integrate.
    progress : callable, optional
        Called with every finished note, and whether it was kept from an interrupted run.

    Returns
    -------
    Result
        Figures over ``note``, curves over ``(note, sample)`` and ``(note, time)``, SI. A note that failed has a
        ``status`` that says why, and NaN.

    Raises
    ------
    keyaction.TrainProblem
        When the case lacks values.
    keyaction.NoteProblem
        When `notes` is empty, or names a note that the case does not have.
    keyaction.FileProblem
        When the file cannot be written, or something that is no result file has its name.
    ValueError
        When `jobs` is negative.
    keyaction.sim.processes.tasks.NoProcesses
        When every process dies at once.
    ValueError
        When `jobs` is below 0; `TypeError` when it is no whole number.

    Examples
    --------
    >>> import keyaction as ka
    >>> result = ka.run(ka.read_case("demo-wood"), "C4", out="some.h5")
    >>> round(result.value("pluck_force", "C4"), 2), result.variables["pluck_force"].unit
    (1.64, 'N')
    """
    workers(jobs)
    tolerances = tolerances or Tolerances()
    wanted = select(case, notes)
    trains = sound_trains(case, wanted)
    if out is not None:
        refuse_taken(Path(out), RESULT)
    parts = PartsFolder(Path(out), fingerprint(case, tolerances)) if out is not None else None
    try:
        kept = parts.done() if parts else {}
        results = [kept[note] for note in wanted if note in kept]
        for result in results:
            _tell(progress, result, True)
        missing = [note for note in wanted if note not in kept]
        for absurd in _too_fast({note: trains[note] for note in missing if note in trains}):
            missing.remove(absurd.note)
            results.append(absurd)
            _tell(progress, absurd, False)
        kernels = kernels_of(trains[note].structure for note in missing if note in trains)
        lanes = bool(kernels) and all(kernel.compiled for kernel in kernels)
        open_ = {note: trains[note] for note in missing if note in trains}
        rates = _in_lanes(case, open_, jobs) if lanes else {}
        with closing(_results([_task(case, note, tolerances, rates) for note in missing], jobs)) as played:
            for result in played:
                results.append(result)
                if parts:
                    parts.add(result)
                _tell(progress, result, False)
        whole = assemble(case, results, about(case, tolerances))
        if out is not None:
            save(whole, Path(out))
    except BaseException:
        if parts:
            parts.release()
        raise
    if parts:
        parts.remove()
    return whole


def _too_fast(trains: Mapping[int, Train]) -> list[NoteResult]:
    """Notes whose trains are so stiff or light that playing them would not end, with the reason for each."""
    found = []
    for note, train in trains.items():
        try:
            (told,) = too_fast_trains([train])
        except Exception:  # who cannot be looked at so is played, and has its own reason
            continue
        if told:
            found.append(failed_note(note, told))
    return found


def _in_lanes(case: Case, trains: Mapping[int, Train], jobs: int) -> dict[int, Repetition]:
    """Repetition rates found in lanes, for SciPy to confirm; empty where it has to search them all."""
    try:
        with np.errstate(all="ignore"):
            return lane_rates(trains, case.strokes, jobs)
    except Exception:  # the lanes only save time; absurd values are for the note that has them to answer for
        return {}


def _task(case: Case, note: int, tolerances: Tolerances, rates: Mapping[int, Repetition]) -> Task:
    parts = tuple((p.part, p.name, case.values(note, p)) for p in case.parts)
    return Task(note, parts, case.library, case.strokes, tolerances, rates.get(note))


def _tell(progress: Progress | None, result: NoteResult, kept: bool) -> None:
    if progress:
        progress(result, kept)


def _results(tasks: Sequence[Task], jobs: int) -> Generator[NoteResult]:
    yield from in_processes(_work, tasks, min(workers(jobs), len(tasks)), _given_up)


def _given_up(task: Task) -> NoteResult:
    return failed_note(task.note, f"the process that played it {TWICE}")
