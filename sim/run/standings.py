"""How the notes of a case stand before anything is played: pressed by equilibria, with their verdicts."""

from __future__ import annotations

import os
from collections.abc import Mapping
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

import numpy as np

from keyaction.cases.action.strokes import Strokes
from keyaction.models.train.train import Train
from keyaction.sim.figures.play import NotPlayed, press_note
from keyaction.sim.figures.record import Pressed
from keyaction.sim.figures.verdict import Fate, Verdict, verdict
from keyaction.sim.motion.note import NoteModel


@dataclass(frozen=True)
class Standing:
    """A note's train, what becomes of it, and its slow press; None where that cannot be followed."""

    train: Train
    verdict: Verdict
    pressed: Pressed | None


def standings(trains: Mapping[int, Train], strokes: Strokes, jobs: int = 0) -> dict[int, Standing]:
    """Press every note.

    Parameters
    ----------
    trains : mapping of note to Train
    strokes : Strokes
    jobs : int
        Threads; 0 means one per core.

    Returns
    -------
    dict
        By note, in the order given. A note of which nothing is known says why in its verdict.
    """

    def stand(train: Train) -> Standing:
        try:
            with np.errstate(all="ignore"):
                pressed = press_note(NoteModel(train), strokes)
                return Standing(train, verdict(pressed), pressed)
        except NotPlayed as problem:
            told = problem.verdict
            return Standing(train, told if told.fate is not Fate.UNKNOWN else Verdict(Fate.UNKNOWN, str(problem)), None)

    with ThreadPoolExecutor(min(jobs or os.cpu_count() or 1, max(len(trains), 1))) as pool:
        return dict(zip(trains, pool.map(stand, trains.values()), strict=True))
