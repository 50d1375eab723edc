"""The repetition searches of many notes at once, in lanes."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from keyaction.cases.action.strokes import Strokes
from keyaction.models.train.structure import Structure
from keyaction.models.train.train import Train
from keyaction.sim.figures.repetition import Repetition
from keyaction.sim.lanes.batch import Batch, Rest
from keyaction.sim.motion.drives import Drive, Piece
from keyaction.sim.motion.note import NoteModel


def lane_rates(trains: Mapping[int, Train], strokes: Strokes, jobs: int = 0) -> dict[int, Repetition]:
    """Repetition rates of notes by number; a note that the lanes cannot follow is left out.

    Parameters
    ----------
    trains : mapping of note to Train
    strokes : Strokes
    jobs : int
        Threads; 0 means one per core.
    """
    groups: dict[Structure, list[int]] = {}
    for note, train in trains.items():
        groups.setdefault(train.structure, []).append(note)
    found: dict[int, Repetition] = {}
    for notes in groups.values():
        batch = Batch.of([trains[note] for note in notes], jobs=jobs)
        rates = batch.repetition(strokes, _rest([trains[note] for note in notes]))
        found |= {note: rate for note, rate in zip(notes, rates, strict=True) if rate.limit != "failed"}
    return found


def _rest(trains: Sequence[Train]) -> Rest:
    """Rest of every note by the scalar equations, which the recorded strokes start from too."""
    off = Drive("motion", (Piece(0.0, 1.0),), stiffness=0.0)
    states, seen = [], []
    for train in trains:
        model = NoteModel(train)
        states.append(model.rest())
        seen.append(
            model.kernel().observe(
                np.zeros(1), states[-1][None, :], model.parameters(), model.vector(off, off.pieces[0])
            )[0]
        )
    return Rest(np.array(states), np.array(seen), np.ones(len(trains), dtype=bool))
