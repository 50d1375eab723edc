"""The repetition searches of many notes at once, in lanes."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import partial

import numpy as np
from numpy.typing import NDArray

from keyaction.cases.action.strokes import Strokes
from keyaction.models.train.structure import Structure
from keyaction.models.train.train import Train
from keyaction.sim.figures.rates import LOWEST, Rates
from keyaction.sim.figures.repetition import STEP, Repetition
from keyaction.sim.lanes.batch import Batch, Rest
from keyaction.sim.lanes.beside import side_by_side
from keyaction.sim.motion.drives import Drive, Piece
from keyaction.sim.motion.note import NoteModel, with_couplers_set

STEPS = (0.7, 0.5)
"""Shares of the lanes' step at which motions are played again: three in no simple ratio seldom agree by chance."""


def lane_rates(
    trains: Mapping[int, Train], strokes: Strokes, jobs: int = 0, models: Mapping[int, NoteModel] | None = None
) -> dict[int, Repetition]:
    """Repetition rates of notes by number; a note that the lanes cannot follow is left out.

    Keys that open several pallets cost SciPy far more than lanes, so of these it is found here whether finer steps have
    the same boundary.

    Parameters
    ----------
    trains : mapping of note to Train
    strokes : Strokes
    jobs : int
        Threads; 0 means one per core.
    models : mapping of note to NoteModel, optional
        Of the same trains, where they have come to rest already.
    """
    groups: dict[Structure, list[int]] = {}
    trains = {note: with_couplers_set(train) for note, train in trains.items()}
    for note, train in trains.items():
        groups.setdefault(train.structure, []).append(note)
    known = {note: NoteModel(train) for note, train in trains.items()} | dict(models or {})
    found: dict[int, Repetition] = {}
    for notes in groups.values():
        batch = Batch.of([trains[note] for note in notes], jobs=jobs)
        rest = _rest([known[note] for note in notes])
        found_here = batch.repetition(strokes, rest)
        rates = list(found_here)
        if sum(member.part.role == "pallet" for member in batch.structure) > 1:
            finer = [batch.finer(share) for share in STEPS]
            told = disputed(found_here, finer, np.arange(len(notes)), strokes, rest)
            rates = [replace(rate, agreed=not doubt) for rate, doubt in zip(rates, told, strict=True)]
        found |= {note: rate for note, rate in zip(notes, rates, strict=True) if rate.limit != "failed"}
    return found


def disputed(
    rates: Rates, steps: Sequence[Batch], which: NDArray[np.int64], strokes: Strokes, rest: Rest
) -> NDArray[np.bool_]:
    """Which of the rates, of the designs `which`, are not the boundary of what passes at each of the steps."""
    found, at = np.zeros(len(which), dtype=bool), rates.tenths
    top = int(strokes.repetition_highest / STEP + 1e-9)
    some, more = np.flatnonzero(at >= LOWEST), np.flatnonzero(at < top)
    tenths = np.concatenate([at[some], np.maximum(at[more] + 1, LOWEST)])
    asked, passes = np.concatenate([some, more]), np.arange(len(tenths)) < len(some)
    if len(tenths):
        judges = [one.judge(strokes, rest) for one in steps]
        device = steps[0].device if steps else "cpu"
        for told in side_by_side([partial(judge, tenths, which[asked]) for judge in judges], device):
            np.logical_or.at(found, asked, (told == 0) != passes)
    return found


def _rest(models: Sequence[NoteModel]) -> Rest:
    """Rest of every note by the scalar equations, which the recorded strokes start from too."""
    off = Drive("motion", (Piece(0.0, 1.0),), stiffness=0.0)
    states, seen = [], []
    for model in models:
        states.append(model.rest())
        seen.append(
            model.kernel().observe(
                np.zeros(1), states[-1][None, :], model.parameters(), model.vector(off, off.pieces[0])
            )[0]
        )
    return Rest(np.array(states), np.array(seen), np.ones(len(models), dtype=bool))
