"""Tuned notes played by SciPy: the figures that a tuning is believed for."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from keyaction.cases.action.case import Case
from keyaction.cases.action.strokes import Strokes
from keyaction.cases.tuning.targets import Targets
from keyaction.models.materials.library import Library
from keyaction.models.train.given import AnyPart
from keyaction.models.train.train import build_train
from keyaction.sim.figures import quantities
from keyaction.sim.figures.columns import QUANTITIES
from keyaction.sim.figures.limits import LIMITS
from keyaction.sim.figures.play import NotPlayed, press_note
from keyaction.sim.figures.possible import impossible
from keyaction.sim.figures.record import Record
from keyaction.sim.figures.repetition import COUNT, Repetition, trial, verdict
from keyaction.sim.figures.verdict import verdict as of_press
from keyaction.sim.motion import drives
from keyaction.sim.motion.note import NoteModel
from keyaction.sim.motion.strokes import standard_stroke
from keyaction.sim.processes.count import workers
from keyaction.sim.processes.tasks import TWICE, in_processes
from keyaction.sim.tune.bench import Design, opening_over_toes, parts_of
from keyaction.sim.tune.search import TunedNote

PLAYED = 3
"""Notes whose repetition is played in any case; so are all that are near their limit in lanes."""
NEAR_LIMIT = 1.05
"""Repetition rate over its limit below which it is near."""
WORTH = 12
"""Notes for each process that is worth starting."""


@dataclass(frozen=True)
class Verified:
    """Figures of a tuned note by SciPy: N, s, a plain number; `repeats` is None where that was not played.

    `reason`: why there are none, or why it does not repeat.
    """

    pluck: float
    release_delay: float
    feed: float
    repeats: bool | None
    reason: str = ""


@dataclass(frozen=True)
class Task:
    """All that a worker needs for one note; `rate` (Hz) of the repeated strokes is 0 for none."""

    note: int
    parts: tuple[AnyPart, ...]
    library: Library
    strokes: Strokes
    rate: float


def verify(
    case: Case,
    tuned: Sequence[TunedNote],
    targets: Targets,
    jobs: int = 1,
    progress: Callable[[int], None] | None = None,
) -> dict[int, Verified]:
    """Play the slow press and the standard stroke of every note, and strokes at the repetition rate asked for.

    Parameters
    ----------
    case : Case
    tuned : sequence of TunedNote
        In the order of `targets`.
    targets : Targets
    jobs : int
        Processes; 0 means one per core.
    progress : callable, optional
        Told of every note that is done.
    """
    last = max(len(tuned) - 1, 1)
    sample = {round(k * last / (PLAYED - 1)) for k in range(PLAYED)}
    tasks = []
    for i, one in enumerate(tuned):
        parts = parts_of(case, one.note, Design(one.note, one.force).all_changes)
        rate = float(targets.repetition[i])
        near = one.figures["repetition_rate"] < NEAR_LIMIT * rate
        tasks.append(Task(one.note, parts, case.library, case.strokes, rate if near or i in sample else 0.0))
    found = {}
    for note, seen in _played(tasks, jobs):
        found[note] = seen
        if progress:
            progress(note)
    return found


def _played(tasks: Sequence[Task], jobs: int) -> Iterator[tuple[int, Verified]]:
    return in_processes(verify_note, tasks, min(workers(jobs), len(tasks) // WORTH), _given_up)


def _given_up(task: Task) -> tuple[int, Verified]:
    return task.note, _unplayed(f"the process that played it {TWICE}")


def verify_note(task: Task) -> tuple[int, Verified]:
    """Figures of one note."""
    model, strokes = NoteModel(build_train(task.parts, task.library)), task.strokes
    stroke = model.play(standard_stroke(model, strokes))
    try:
        pressed = press_note(model, strokes)
    except NotPlayed as problem:
        return task.note, _unplayed(str(problem))
    if not stroke.status.ok:
        return task.note, _unplayed(stroke.status.message)
    record = Record(model, strokes, pressed.press, stroke, {}, Repetition(math.nan, "", 0))
    told = impossible({name: one.compute(record) for name, one in QUANTITIES.items() if one.watched})
    if told:
        return task.note, _unplayed(told)
    pluck = quantities.pluck_force(record)
    if math.isnan(pluck):
        return task.note, Verified(pluck, math.nan, math.nan, None, str(of_press(record)))
    feed = opening_over_toes(model.train, quantities.steady_lift(record))
    repeats, reason = _repeats(model, strokes, task.rate) if task.rate > 0.0 else (None, "")
    release = quantities.release_delay(record) if math.isfinite(quantities.opening_time(record)) else math.nan
    return task.note, Verified(pluck, release, feed, repeats, reason)


def _unplayed(why: str) -> Verified:
    return Verified(math.nan, math.nan, math.nan, None, f"could not be played: {why}")


def _repeats(model: NoteModel, strokes: Strokes, rate: float) -> tuple[bool, str]:
    train = model.train
    dip = train.parts[0].values.derived["dip"].value
    drive = drives.repeated(rate, strokes.repetition_depth * dip, COUNT, strokes.finger)
    fault = verdict(trial(model.play(drive)), drive, train.role("box").values.derived["p_box"].value)
    return not fault, LIMITS[fault] if fault else ""


def unconfirmed(tuned: Sequence[TunedNote], verified: Mapping[int, Verified], targets: Targets) -> dict[int, list[str]]:
    """What SciPy does not confirm of notes that the search took for good, in words."""
    found: dict[int, list[str]] = {}
    for i, one in enumerate(tuned):
        seen, told = verified[one.note], []
        if one.reason or one.rubbing or one.verdict:
            continue
        if math.isnan(seen.pluck):
            told.append(seen.reason)
        elif not one.faults:
            target = targets.pluck[i]
            if not math.isnan(target) and abs(seen.pluck / target - 1) > targets.within[i]:
                told.append(f"pluck misses by {seen.pluck / target - 1:+z.1%}")
            if not seen.release_delay <= targets.return_time[i]:
                lasts = f"release takes {seen.release_delay * 1e3:.0f} ms"
                told.append("does not fall silent" if math.isnan(seen.release_delay) else lasts)
            if not seen.feed >= targets.feed[i] - 1e-9:
                told.append(f"opening is {seen.feed:.2f} times the toes")
            if seen.repeats is False:
                told.append(f"does not repeat at {targets.repetition[i]:g} Hz: {seen.reason}")
        if told:
            found[one.note] = told
    return found
