"""Motions of many trains recorded in lanes, as records from which any figure can be read."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from keyaction.cases.action.strokes import Strokes
from keyaction.models.train.train import Train
from keyaction.sim.code.kernel import Kernel, load_kernel
from keyaction.sim.code.layout import Layout
from keyaction.sim.figures.record import Record
from keyaction.sim.figures.repetition import Repetition
from keyaction.sim.lanes.batch import Batch, Rest, Trace
from keyaction.sim.motion.drives import Drive, Piece
from keyaction.sim.motion.integrate import Floats, Motion, Status, audit_of, turned_too_far
from keyaction.sim.motion.note import NoteModel
from keyaction.sim.motion.strokes import slow_press, standard_stroke

CHUNK = 64
"""Designs whose slow presses are in memory at one time."""
STROKES = 16
"""Of these, designs whose standard strokes are."""
SAMPLING, STROKE_SAMPLING = 0.6e-3, 1e-4
"""s between the recorded instants of a slow press and of a standard stroke; the latter as SciPy's."""
UNBOUNDED = "the motion grew beyond all bounds"


@dataclass(frozen=True)
class DesignModel:
    """The part of a `NoteModel` that quantities need."""

    train: Train

    def parameters(self) -> Floats:
        """The parameter vector."""
        return np.array(self.train.vector(self.kernel().parameters))

    def kernel(self) -> Kernel:
        """The scalar equations, for the natural frequencies."""
        return load_kernel(self.train.structure)

    def vector(self, drive: Drive, piece: Piece) -> Floats:
        """The drive vector of a piece, with the train's own values of what it takes from outside."""
        return NoteModel(self.train).vector(drive, piece)


def records(
    batch: Batch,
    trains: Sequence[Train],
    strokes: Strokes,
    rest: Rest,
    rates: Sequence[Repetition],
    with_stroke: bool = False,
) -> Iterator[Record]:
    """Records of all designs of a batch, of at most `CHUNK`.

    Parameters
    ----------
    batch : Batch
    trains : sequence of Train
        Of its designs.
    strokes : Strokes
    rest : Rest
    rates : sequence of Repetition
        What the records say of the repetition.
    with_stroke : bool
        Whether the standard stroke is played; otherwise the slow press stands in its place. One that left the range
        of the model has a status that says so.

    Yields
    ------
    Record
        Without presses at speed.
    """
    models = [DesignModel(train) for train in trains]
    slow = _slow_presses(batch, models, strokes, rest)
    for first in range(0, len(models), STROKES):
        part = slice(first, first + STROKES)
        played = slow[part]
        if with_stroke:
            which = np.arange(len(models))[part]
            played = _strokes(batch.some(which), models[part], strokes, rest.some(which))
        for model, press, stroke, rate in zip(models[part], slow[part], played, rates[part], strict=True):
            yield Record(model, strokes, press, stroke, {}, rate)


def _slow_presses(batch: Batch, models: Sequence[DesignModel], strokes: Strokes, rest: Rest) -> list[Motion]:
    drives = [slow_press(model, strokes) for model in models]
    depth = np.array([drive.pieces[2].way[0] for drive in drives])
    rows, duration = batch.press_drive(strokes, rest, depth)
    trace = batch.trace(rows, rest, duration, max(1, round(SAMPLING / batch.h)))
    return [_motion(batch, trace, i, drive) for i, drive in enumerate(drives)]


def _strokes(batch: Batch, models: Sequence[DesignModel], strokes: Strokes, rest: Rest) -> list[Motion]:
    drives = [standard_stroke(model, strokes) for model in models]
    rows, duration = batch.stroke_drive(strokes, rest), max(drive.end for drive in drives)
    trace = batch.trace(rows, rest, duration, max(1, round(STROKE_SAMPLING / batch.h)))
    return [_motion(batch, trace, i, drive) for i, drive in enumerate(drives)]


def _motion(batch: Batch, trace: Trace, i: int, drive: Drive) -> Motion:
    """One design's motion to the end of its own drive, as a view."""
    audit = audit_of(batch.layout, trace.y[i], trace.seen[i])
    kept = slice(int(np.searchsorted(trace.t, drive.end + 1e-12, side="right")))
    y, seen = trace.y[i, kept], trace.seen[i, kept]
    status = _held(batch.layout, y)
    return Motion(batch.layout, batch.parameters[i], drive, trace.t[kept], y, seen, status, audit, 0, 0, 1)


def _held(layout: Layout, y: Floats) -> Status:
    """Whether a motion stayed where the equations hold."""
    ways = y[:, : len(layout.bodies)]
    far = turned_too_far(layout, np.max(np.abs(ways), axis=0)) if np.all(np.isfinite(ways)) else UNBOUNDED
    return Status(not far, "lanes", far, "look for absurd values" if far else "")
