"""How the notes of a case stand before anything is played: pressed by equilibria, with their verdicts."""

from __future__ import annotations

import os
from collections.abc import Mapping
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

import numpy as np

from keyaction.cases.action.strokes import Strokes, usual_strokes
from keyaction.models.train.train import Train
from keyaction.sim.figures.play import NotPlayed, press_note
from keyaction.sim.figures.record import Pressed
from keyaction.sim.figures.verdict import Fate, Verdict
from keyaction.sim.figures.verdict import verdict as of_press
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

    with ThreadPoolExecutor(min(jobs or os.cpu_count() or 1, max(len(trains), 1))) as pool:
        return dict(
            zip(trains, pool.map(lambda train: _stand(NoteModel(train), strokes), trains.values()), strict=True)
        )


def _stand(note: NoteModel, strokes: Strokes) -> Standing:
    try:
        with np.errstate(all="ignore"):
            pressed = press_note(note, strokes)
            return Standing(note.train, of_press(pressed), pressed)
    except NotPlayed as problem:
        told = problem.verdict if problem.verdict.fate is not Fate.UNKNOWN else Verdict(Fate.UNKNOWN, str(problem))
        return Standing(note.train, told, None)


def verdict(note: NoteModel, strokes: Strokes | None = None) -> Verdict:
    """What becomes of a note when its key is pressed and let go, told from rest and equilibria.

    Parameters
    ----------
    note : NoteModel
    strokes : Strokes, optional
        How it is pressed, ``case.strokes``; the usual ones by default.

    Returns
    -------
    Verdict
        ``fate`` (``SPEAKS``, ``WEAK``, ``MUTE``, ``HANGS``, ``CIPHER``, ``NO_WIND`` or ``UNKNOWN``), ``reason`` in
        words, ``sound`` where all is well.

    Raises
    ------
    KeyError
        When a part of one's own leaves a parameter of its equations unset.

    Examples
    --------
    >>> import keyaction as ka
    >>> case = ka.read_case("demo-wood", set_={"roller.pin.breakaway": "40 N*mm"})
    >>> told = ka.verdict(ka.NoteModel(ka.train_of(case, "C4")))
    >>> told.fate.name, told.sound
    ('HANGS', False)
    """
    return _stand(note, strokes or usual_strokes()).verdict
