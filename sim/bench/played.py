"""What a note shows on the bench, quickest first: its slow press, all its figures, all notes of the keyboard."""

from __future__ import annotations

import json
import os
from collections.abc import Callable, Iterator, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace

import numpy as np

from keyaction.cases.action.case import Case
from keyaction.cases.action.trains import sound_trains, train_of
from keyaction.models.train.train import Train
from keyaction.sim.figures.columns import QUANTITIES, of_verdict
from keyaction.sim.figures.possible import impossible
from keyaction.sim.figures.registry import UNPLAYED
from keyaction.sim.figures.verdict import Verdict
from keyaction.sim.files.labelled import Result
from keyaction.sim.lanes.evaluate import available, evaluate
from keyaction.sim.lanes.repetition import lane_rates
from keyaction.sim.motion.going_on import asking
from keyaction.sim.motion.integrate import Floats
from keyaction.sim.motion.note import NoteModel
from keyaction.sim.run.assemble import assemble
from keyaction.sim.run.note import play_note
from keyaction.sim.run.standings import Standing, standings

PIECE = 14
"""Notes for each core that are played side by side before it is asked whether anybody still waits for them."""


def stood(case: Case, note: int) -> Standing:
    """A note pressed as slowly as can be, with its verdict; some 10 ms once compiled.

    Raises
    ------
    keyaction.TrainProblem
        With every defect of the note's fields.
    """
    return standings({note: train_of(case, note)}, case.strokes, 1)[note]


def played(case: Case, note: int, wait: Callable[[], None] = lambda: None, standing: Standing | None = None) -> Result:
    """A note with everything that `keyaction run` gives of it: the same strokes, decided in the same way.

    Parameters
    ----------
    case : Case
    note : int
    wait : callable
        Called every few milliseconds: returns when the work may go on; `GivenUp` raised in it ends it.
    standing : Standing, optional
        How the note stands, where it is known.

    Raises
    ------
    keyaction.TrainProblem
        With every defect of the note's fields.
    """
    train = standing.train if standing else train_of(case, note)
    pressed = standing.pressed if standing else None
    models = {note: pressed.model} if pressed and isinstance(pressed.model, NoteModel) else None
    slow = replace(case.strokes, speeds=())  # type: ignore[arg-type]  # they make curves alone
    with ThreadPoolExecutor(1) as beside, asking(wait):  # lanes let SciPy play meanwhile
        rates = beside.submit(lane_rates, {note: train}, case.strokes, 1, models)
        found = play_note(note, train, slow, searched=lambda: rates.result().get(note), pressed=pressed)
    return assemble(replace(case, strokes=slow), [found], _about(case))


def _about(case: Case) -> dict[str, str]:
    """Of what travels with a result, what pictures ask for; the rest would read every note of the case."""
    return {"strokes": json.dumps({path: given.value for path, given in case.strokes.given.items()})}


def told_by_press(standing: Standing) -> dict[str, float]:
    """Figures, SI, that need no stroke: those of the slow press and of the train; none where they cannot be."""
    if standing.pressed is None:
        return {}
    found = {one.name: one.compute(standing.pressed) for one in QUANTITIES.values() if one.source in UNPLAYED}
    found = of_verdict(found, standing.verdict)
    return {} if impossible(found) else found


@dataclass(frozen=True)
class Whole:
    """Figures of some notes of a keyboard.

    Attributes
    ----------
    notes : tuple of int
    quantities : mapping of name to (n,) array
        SI; NaN where a note has none. Of a note whose stroke cannot be played those that its slow press tells.
    verdicts : tuple of Verdict
    failed : tuple of str
        Why a note cannot be played; empty where it can.
    """

    notes: tuple[int, ...]
    quantities: Mapping[str, Floats]
    verdicts: tuple[Verdict, ...]
    failed: tuple[str, ...]


class GivenUp(Exception):
    """Nobody waits for this any more."""


def whole(case: Case, wanted: Callable[[], bool] = lambda: True, jobs: int = 0) -> Iterator[Whole]:
    """All notes of a case, some at a time: by lanes, doubtful ones decided by SciPy.

    Parameters
    ----------
    case : Case
    wanted : callable
        Asked between the pieces whether somebody still waits.
    jobs : int
        Threads; 0 means one per core.

    Raises
    ------
    GivenUp
        When nobody does.
    keyaction.TrainProblem
        With every defect of the fields.
    """
    trains = sound_trains(case, case.compass)
    for piece in _pieces(trains):
        if not wanted():
            raise GivenUp
        with np.errstate(all="ignore"):
            found = evaluate(list(piece.values()), case.strokes, _WANTED, jobs, sample=0)
        failed = tuple("" if one == "ok" else why_failed(one) for one in found.status)
        quantities = {name: values.copy() for name, values in found.quantities.items()}
        _fill(quantities, case, {note: i for i, note in enumerate(piece) if failed[i]}, piece)
        yield Whole(tuple(piece), quantities, found.verdicts, failed)


def why_failed(status: str) -> str:
    """The reason that a status gives."""
    return status.removeprefix("failed: ")


def _fill(quantities: Mapping[str, Floats], case: Case, failed: Mapping[int, int], trains: Mapping[int, Train]) -> None:
    """Give notes that cannot be played, each with its place, what their slow press tells."""
    for note, standing in standings({note: trains[note] for note in failed}, case.strokes, 1).items():
        for name, value in told_by_press(standing).items():
            if name in quantities:
                quantities[name][failed[note]] = value


_WANTED = tuple(name for name in available() if QUANTITIES[name].source != "neighbours")


def _pieces(trains: dict[int, Train]) -> Iterator[dict[int, Train]]:
    notes: Sequence[int] = list(trains)
    size = PIECE * (os.cpu_count() or 1)
    for start in range(0, len(notes), size):
        yield {note: trains[note] for note in notes[start : start + size]}
