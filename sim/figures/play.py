"""What is played on one note to read its figures from."""

from __future__ import annotations

from keyaction.cases.action.strokes import Strokes
from keyaction.models.train.train import TrainProblem
from keyaction.sim.figures import repetition
from keyaction.sim.figures.record import Record
from keyaction.sim.motion import drives
from keyaction.sim.motion.integrate import Motion
from keyaction.sim.motion.note import NoteModel
from keyaction.sim.motion.strokes import slow_press, standard_stroke


class NotPlayed(RuntimeError):
    """A note could not be integrated; the message carries the reason and the remedy."""


def reason_of(problem: Exception) -> str:
    """Why a note failed: a sentence of the program's own as it stands, any other error with its kind."""
    told = isinstance(problem, TrainProblem | NotPlayed)
    return str(problem) if told else f"{type(problem).__name__}: {problem}"


def _well(motion: Motion, what: str) -> Motion:
    if not motion.status.ok:
        raise NotPlayed(f"{what}: {motion.status.message}; {motion.status.remedy}")
    return motion


def play_record(model: NoteModel, strokes: Strokes, found: repetition.Repetition | None = None) -> Record:
    """Play the slow press, the standard stroke, the presses at speed and the repetition search.

    Parameters
    ----------
    model : NoteModel
    strokes : Strokes
    found : Repetition, optional
        The repetition rate, where another integrator has searched it already.

    Raises
    ------
    NotPlayed
        When one of them cannot be integrated.
    """
    dip = model.train.dip
    slow = _well(model.play(slow_press(model, strokes)), "slow press")
    stroke = _well(model.play(standard_stroke(model, strokes)), "standard stroke")
    fast = {
        speed: _well(
            model.play(drives.press(speed, strokes.depth * dip, strokes.finger, release=False)),
            f"press at {speed * 1e3:g} mm/s",
        )
        for speed in strokes.speeds
    }
    return Record(model, strokes, slow, stroke, fast, found or search_repetition(model, strokes))


def slow_record(model: NoteModel, strokes: Strokes) -> Record:
    """The slow press alone, as a record for what needs no more.

    Raises
    ------
    NotPlayed
        When it cannot be integrated.
    """
    slow = _well(model.play(slow_press(model, strokes)), "slow press")
    return Record(model, strokes, slow, slow, {}, repetition.Repetition(float("nan"), "", 0))


def search_repetition(model: NoteModel, strokes: Strokes) -> repetition.Repetition:
    """The repetition rate of a note, every trial integrated by SciPy."""
    dip, box = model.train.dip, model.train.box_pressure
    return repetition.search(
        lambda drive: repetition.trial(model.play(drive)),
        strokes.repetition_depth * dip,
        box,
        strokes.repetition_highest,
        strokes.finger,
    )
