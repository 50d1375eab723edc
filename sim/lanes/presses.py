"""The slow press of many trains in lanes, as records from which any figure of the press can be read."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from keyaction.cases.action.strokes import Strokes
from keyaction.models.train.structure import Structure
from keyaction.models.train.train import Train
from keyaction.sim.figures.record import Record
from keyaction.sim.figures.repetition import Repetition
from keyaction.sim.lanes.batch import Batch
from keyaction.sim.lanes.records import CHUNK, records

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
    for members in groups.values():
        for k in range(0, len(members), CHUNK):
            part = members[k : k + CHUNK]
            yield from zip(part, _chunk([trains[i] for i in part], strokes, jobs, step), strict=True)


def _chunk(trains: Sequence[Train], strokes: Strokes, jobs: int, step: float | None) -> Iterator[Record]:
    batch = Batch.of(trains, step, jobs)
    yield from records(batch, trains, strokes, batch.rest(), [_NOT_SEARCHED] * len(trains))
