"""What one worker plays: a note, with all that it needs of case and couplers."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from keyaction.cases.action.strokes import Strokes
from keyaction.models.materials.library import Library
from keyaction.models.train.given import AnyPart
from keyaction.models.train.train import build_train
from keyaction.sim.figures.play import reason_of
from keyaction.sim.figures.repetition import Repetition
from keyaction.sim.motion.integrate import Tolerances
from keyaction.sim.processes.broken_off import broken_off
from keyaction.sim.processes.tasks import TWICE
from keyaction.sim.run.note import Beside, NoteResult, failed_note, play_note
from keyaction.sim.run.wanted import Wanted


@dataclass(frozen=True)
class Coupled:
    """What a worker needs besides where couplers are drawn.

    The libraries of parts that are of another division, the parts of the key alone, what each pallet sounds and by
    which couplers, and what couples nothing.
    """

    libraries: Mapping[str, Library]
    alone: tuple[AnyPart, ...]
    named: Mapping[str, tuple[str, str]]
    told: tuple[str, ...]


@dataclass(frozen=True)
class Task:
    """All that a worker needs for one note."""

    note: int
    parts: tuple[AnyPart, ...]
    library: Library
    strokes: Strokes
    tolerances: Tolerances
    searched: Repetition | None = None
    division: str = ""
    coupled: Coupled | None = None


def work(task: Task) -> tuple[str, NoteResult]:
    """Play one note in a worker; nothing that happens there reaches the others."""
    try:
        more = task.coupled
        train = build_train(task.parts, task.library, more.libraries if more else {})
        beside = Beside(build_train(more.alone, task.library), more.named) if more else None
        with np.errstate(all="ignore"):
            played = play_note(task.note, train, task.strokes, task.tolerances, task.searched, beside)
        return task.division, replace(played, warnings=(*played.warnings, *more.told)) if more else played
    except Exception as problem:  # the reason is kept with the note, the others go on
        if broken_off(problem):
            raise KeyboardInterrupt from problem
        return task.division, failed_note(task.note, reason_of(problem))


def task_of(one: Wanted, note: int, tolerances: Tolerances, searched: Repetition | None) -> Task:
    """The task of one note; `searched` is its repetition rate where that has been found."""
    case = one.case
    parts = case.given(note)
    more = None
    if one.coupling:
        found = one.coupling.note(one.division, note)
        named = one.coupling.pallets(found)
        parts, more = found.parts, Coupled(found.libraries, parts, named, found.couples_nothing)
    return Task(note, parts, case.library, case.strokes, tolerances, searched, one.division, more)


def given_up(task: Task) -> tuple[str, NoteResult]:
    """The result of a note whose process died."""
    return task.division, failed_note(task.note, f"the process that played it {TWICE}")
