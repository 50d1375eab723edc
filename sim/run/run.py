"""A run over the notes of a case or an instrument: in parallel, taken up where it was left, losing nothing."""

from __future__ import annotations

from collections.abc import Callable, Generator, Iterable, Mapping, Sequence
from contextlib import closing
from dataclasses import replace
from pathlib import Path
from typing import Any, overload

import numpy as np

from keyaction.cases.action.case import Case
from keyaction.cases.action.trains import sound_trains
from keyaction.cases.instrument.drawn import CouplerProblem
from keyaction.cases.instrument.instrument import Instrument
from keyaction.models.algebra.problem import DimensionProblem
from keyaction.models.train.structure import Structure
from keyaction.models.train.train import PartProblem, Train
from keyaction.sim.code.kernel import Kernel, load_kernel
from keyaction.sim.figures.repetition import Repetition
from keyaction.sim.files.hdf5 import save
from keyaction.sim.files.instrument_result import InstrumentResult
from keyaction.sim.files.labelled import Result
from keyaction.sim.files.taken import RESULT, refuse_taken
from keyaction.sim.lanes.repetition import lane_rates
from keyaction.sim.lanes.step import too_fast_trains
from keyaction.sim.motion.integrate import Tolerances
from keyaction.sim.processes.count import workers
from keyaction.sim.processes.tasks import in_processes
from keyaction.sim.run.about import about, about_instrument, fingerprint
from keyaction.sim.run.assemble import assemble
from keyaction.sim.run.coupling import Coupling, coupling_of
from keyaction.sim.run.kept_notes import PartsFolder
from keyaction.sim.run.note import NoteResult, failed_note
from keyaction.sim.run.task import Task, given_up, task_of, work
from keyaction.sim.run.wanted import Choice, Wanted, wanted, with_trains

Progress = Callable[[NoteResult, bool], None]
"""Told of every finished note, and whether it was taken over from an earlier, interrupted run."""
DivisionProgress = Callable[[str, NoteResult, bool], None]
"""The same of an instrument: the note's division comes first."""
FEW = 6
"""Notes that this process plays sooner than others have begun; a number of processes that is asked for is taken."""


def kernels_of(structures: Iterable[Structure]) -> list[Kernel]:
    """The compiled equations of each structure, before workers need them; without those that parts cannot give."""
    found = []
    for structure in dict.fromkeys(structures):
        try:
            found.append(load_kernel(structure))
        except (PartProblem, DimensionProblem):
            continue  # told with the notes that have it
    return found


@overload
def run(
    case: Case,
    notes: str | Sequence[int] | None = None,
    out: str | Path | None = None,
    jobs: int = 1,
    tolerances: Tolerances | None = None,
    progress: Progress | None = None,
) -> Result: ...
@overload
def run(
    case: Instrument,
    notes: Choice = None,
    out: str | Path | None = None,
    jobs: int = 1,
    tolerances: Tolerances | None = None,
    progress: DivisionProgress | None = None,
    coupled: str | Iterable[str] | None = None,
    held: str | Iterable[str] = (),
) -> InstrumentResult: ...
def run(
    case: Case | Instrument,
    notes: Choice = None,
    out: str | Path | None = None,
    jobs: int = 1,
    tolerances: Tolerances | None = None,
    progress: Progress | DivisionProgress | None = None,
    coupled: str | Iterable[str] | None = None,
    held: str | Iterable[str] = (),
) -> Result | InstrumentResult:
    """Play notes of a case, or of all divisions of an instrument, and compute all their figures and curves.

    Parameters
    ----------
    case : Case or Instrument
    notes : str, sequence of int or mapping, optional
        "C4", "C2:G4", a comma list, numbers; all by default. Of an instrument "great/C2:G4,pedal/C2", where a piece
        without a division holds for all as far as they go, or a mapping from divisions to their notes.
    out : path, optional
        Result file; an older one is replaced, nothing else is. Finished notes are kept beside it until it is whole,
        so that the same call after an interruption plays only what is missing.
    jobs : int
        Processes; 0 means one per core. A script that uses more than one keeps its calls under
        ``if __name__ == "__main__":``, as Python's multiprocessing demands.
    tolerances : Tolerances, optional
        How exactly to integrate.
    progress : callable, optional
        Called with every finished note, and whether it was kept from an interrupted run; of an instrument with the
        name of the division before them.
    coupled : str or iterable of str, optional
        Couplers of an instrument that are drawn, "II/I,I/pedal" or "all-on": each key moves all that they move with it.
        Where `notes` names no division, those of which a drawn coupler takes hold are played.
    held : str or iterable of str
        Divisions whose driven key another hand holds down all the while.

    Returns
    -------
    Result or InstrumentResult
        Of an instrument a mapping from each division to its Result. Figures over ``note``, curves over
        ``(note, sample)`` and ``(note, time)``, SI. A note that failed has a ``status`` that says why, and NaN.

    Raises
    ------
    keyaction.TrainProblem
        When the case lacks values.
    keyaction.NoteProblem
        When `notes` is empty, or names a note or a division that there is not.
    keyaction.CouplerProblem
        When couplers or held divisions are named that there are not, or couplers go round in a loop; or when it is no
        instrument.
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
    coupling = _coupling(case, coupled, held)
    chosen = with_trains(wanted(case, notes, coupling))
    if out is not None:
        refuse_taken(Path(out), RESULT)
    marks = {one.division: fingerprint(one.case, tolerances, coupling) for one in chosen}
    parts = PartsFolder(Path(out), marks) if out is not None else None
    try:
        results = _play(chosen, tolerances, jobs, parts, _telling(case, progress))
        made = {
            one.division: assemble(one.case, results[one.division], about(one.case, tolerances, coupling))
            for one in chosen
        }
        whole = InstrumentResult(made, about_instrument(case, coupling)) if isinstance(case, Instrument) else made[""]
        if out is not None:
            save(whole, Path(out))
    except BaseException:
        if parts:
            parts.release()
        raise
    if parts:
        parts.remove()
    return whole


def _coupling(
    case: Case | Instrument, coupled: str | Iterable[str] | None, held: str | Iterable[str]
) -> Coupling | None:
    """The couplers that are drawn; None without any."""
    if coupled is None:
        if held:
            raise CouplerProblem(["held: another hand holds what couplers move; name the couplers that are drawn"])
        return None
    if not isinstance(case, Instrument):
        raise CouplerProblem(["couplers go with an instrument, and this is an action case"])
    return coupling_of(case, coupled, held)


def _telling(case: Case | Instrument, progress: Any) -> DivisionProgress:
    """What is told of every note: of an instrument with its division."""
    if progress is None:
        return lambda division, result, kept: None  # noqa: ARG005  nobody listens
    return progress if isinstance(case, Instrument) else lambda _, result, kept: progress(result, kept)


def _play(
    chosen: Sequence[Wanted], tolerances: Tolerances, jobs: int, parts: PartsFolder | None, told: DivisionProgress
) -> dict[str, list[NoteResult]]:
    """The results of all notes by division; those that `parts` keeps are taken over, new ones are kept there."""
    results: dict[str, list[NoteResult]] = {}
    open_: list[Wanted] = []
    for one in chosen:
        found = results[one.division] = list[NoteResult]()
        open_.append(_missing(one, parts, found, told))
    tasks = [task for one in open_ for task in _tasks(one, tolerances, jobs)]
    with closing(_results(tasks, jobs)) as played:
        for division, result in played:
            results[division].append(result)
            if parts:
                parts.add(result, division)
            told(division, result, False)
    return results


def _missing(one: Wanted, parts: PartsFolder | None, found: list[NoteResult], told: DivisionProgress) -> Wanted:
    """What is left to be played; results that need no playing go into `found`."""
    kept = parts.done(one.division) if parts else {}
    for note in one.notes:
        if note in kept:
            found.append(kept[note])
            told(one.division, kept[note], True)
    left = [note for note in one.notes if note not in kept]
    for absurd in _too_fast({note: one.trains[note] for note in left if note in one.trains}):
        left.remove(absurd.note)
        found.append(absurd)
        told(one.division, absurd, False)
    return replace(one, notes=left, trains={note: one.trains[note] for note in left if note in one.trains})


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


def _tasks(one: Wanted, tolerances: Tolerances, jobs: int) -> list[Task]:
    """A task for each note, with what the lanes know of it beforehand."""
    kernels = kernels_of(train.structure for train in one.trains.values())
    if one.coupling:
        kernels_of(train.structure for train in sound_trains(one.case, list(one.trains)).values())
    lanes = bool(kernels) and all(kernel.compiled for kernel in kernels)
    rates = _in_lanes(one.case, one.trains, jobs) if lanes else {}
    return [task_of(one, note, tolerances, rates.get(note)) for note in one.notes]


def _in_lanes(case: Case, trains: Mapping[int, Train], jobs: int) -> dict[int, Repetition]:
    """Repetition rates found in lanes, for SciPy to confirm; empty where it has to search them all."""
    try:
        with np.errstate(all="ignore"):
            return lane_rates(trains, case.strokes, jobs)
    except Exception:  # the lanes only save time; absurd values are for the note that has them to answer for
        return {}


def _results(tasks: Sequence[Task], jobs: int) -> Generator[tuple[str, NoteResult]]:
    alone = not jobs and len(tasks) <= FEW
    yield from in_processes(work, tasks, 1 if alone else min(workers(jobs), len(tasks)), given_up)
