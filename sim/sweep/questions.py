"""What SciPy is asked of single designs of a sweep on a device: to decide what is in doubt, and to judge a sample."""

from __future__ import annotations

import os
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import lru_cache

import numpy as np

from keyaction.cases.action.strokes import Strokes
from keyaction.models.train.train import Train
from keyaction.sim.figures.columns import QUANTITIES
from keyaction.sim.figures.record import Pressed
from keyaction.sim.lanes.batch import Rest
from keyaction.sim.lanes.chunk import Asked
from keyaction.sim.lanes.judge import Decision, decided, judges
from keyaction.sim.lanes.presses import presses
from keyaction.sim.motion.integrate import Floats
from keyaction.sim.motion.note import with_couplers_set
from keyaction.sim.sweep.blocks import Task, unpacked
from keyaction.sim.sweep.designs import Recipe, make_train
from keyaction.sim.sweep.playing import failure

Figures = Mapping[str, float]
BEHIND = 10
"""How much less urgent a process is that only answers, in steps of the system's own."""


@dataclass(frozen=True)
class Question:
    """What is asked of one train.

    Attributes
    ----------
    group, place : int
        Number of the blocks that were played together, and of the train among theirs; without one (-1) nothing is
        asked, and the blocks wait for no more than their turn.
    row : (inputs,) array
        Of the plan.
    number, note : int
        Of the design in the plan; of the note in the study.
    strokes : Strokes
    asked : Asked, optional
        What is to be decided; without it SciPy judges all figures.
    rest : (n,) array
        The state in which the train rests.
    """

    group: int
    place: int
    row: Floats
    number: int
    note: int
    strokes: Strokes
    asked: Asked | None
    rest: Floats


def nothing(group: int, strokes: Strokes) -> Question:
    """What is asked where nothing is to be asked: so results come as they are made."""
    return Question(group, -1, np.empty(0), -1, -1, strokes, None, np.empty(0))


def rehearsal(task: Task, strokes: Strokes) -> Question:
    """What is asked, to no end, while nothing is played yet: who answers it keeps what others need not compile then."""
    return Question(-1, 0, task.rows[0], task.block.start, 0, strokes, None, np.empty(0))


@dataclass(frozen=True)
class Answer:
    """SciPy's word: a decision, or figures; neither where it cannot play the train.

    `status` says why there is no word at all: nobody answered, or the train stopped who did.
    """

    question: Question
    decision: Decision | None = None
    figures: Figures = field(default_factory=dict)
    status: str = ""


def answered(recipe: bytes, question: Question) -> Answer:
    """Answer a question in a worker."""
    return answer(unpacked(recipe), question)


def answered_aside(recipe: bytes, question: Question) -> Answer:
    """Answer a question in a worker that lets go first what keeps a device busy."""
    _stand_back()
    return answered(recipe, question)


@lru_cache(maxsize=1)
def _stand_back() -> None:
    if hasattr(os, "nice"):
        os.nice(BEHIND)


def answer(recipe: Recipe, question: Question) -> Answer:
    """Answer a question; what SciPy cannot play has no answer."""
    try:
        return _answer(recipe, question) if question.place >= 0 else Answer(question)
    except Exception as problem:  # whatever a design does to SciPy, the others go on
        return Answer(question, status=failure(problem))


def _answer(recipe: Recipe, question: Question) -> Answer:
    made = make_train(recipe, question.row, question.number, question.note)
    if not isinstance(made, Train):
        return Answer(question)
    train = with_couplers_set(made)
    with np.errstate(all="ignore"):
        if question.asked is None:
            told = judges(lambda _: train, 1, question.strokes, recipe.quantities, 1)
            return Answer(question, figures=told.get(0, {}))
        rest = Rest(question.rest[None, :], np.empty((1, 0)), np.ones(1, dtype=bool))
        note = presses([train], question.strokes, rest, 1)[0]
        if not isinstance(note, Pressed):
            return Answer(question)
        wanted = [QUANTITIES[name] for name in question.asked.wanted]
        return Answer(question, decided(note, wanted, question.asked.rate))
