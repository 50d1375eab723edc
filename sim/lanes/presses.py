"""The slow press of many trains in lanes, as records from which any figure of the press can be read."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from keyaction.cases.action.strokes import Strokes
from keyaction.models.train.structure import Structure
from keyaction.models.train.train import Train
from keyaction.sim.figures.record import Record
from keyaction.sim.figures.repetition import Repetition
from keyaction.sim.lanes.batch import Batch
from keyaction.sim.lanes.evaluate import CHUNK, SAMPLING, DesignModel
from keyaction.sim.motion.integrate import Motion, Status, audit_of
from keyaction.sim.motion.strokes import slow_press

_NOT_SEARCHED = Repetition(float("nan"), "", 0)


def slow_records(
    trains: Sequence[Train], strokes: Strokes, jobs: int = 0, step: float | None = None
) -> Iterator[tuple[int, Record]]:
    """Play the slow press of every train.

    Parameters
    ----------
    trains : sequence of Train
        In any mixture of structures.
    strokes : Strokes
    jobs : int
        Threads; 0 means one per core.
    step : float, optional
        Time step in s; by default from the stiffest of the trains.

    Yields
    ------
    (int, Record)
        The train's place in the sequence, and its record, whose standard stroke is the slow press as well: only
        figures of the slow press may be read from it. Few records are in memory at one time.
    """
    groups: dict[Structure, list[int]] = {}
    for i, train in enumerate(trains):
        groups.setdefault(train.structure, []).append(i)
    for structure, members in groups.items():
        for k in range(0, len(members), CHUNK):
            part = members[k : k + CHUNK]
            yield from zip(part, _chunk(structure, [trains[i] for i in part], strokes, jobs, step), strict=True)


def _chunk(
    structure: Structure, trains: Sequence[Train], strokes: Strokes, jobs: int, step: float | None
) -> Iterator[Record]:
    models = [DesignModel(train) for train in trains]
    batch = Batch(structure, np.array([model.parameters() for model in models]), step, jobs)
    rest = batch.rest()
    drives = [slow_press(model, strokes) for model in models]
    depth = np.array([drive.pieces[2].way[0] for drive in drives])
    rows, duration = batch.press_drive(strokes, rest, depth)
    trace = batch.trace(rows, rest, duration, max(1, round(SAMPLING / batch.h)))
    for i, (model, drive) in enumerate(zip(models, drives, strict=True)):
        y, seen = trace.y[i], trace.seen[i]
        done, audit = Status(True, "lanes"), audit_of(batch.layout, y, seen)
        motion = Motion(batch.layout, batch.parameters[i], drive, trace.t, y, seen, done, audit, 0, 0, 1).until(
            drive.end
        )
        yield Record(model, strokes, motion, motion, {}, _NOT_SEARCHED)
