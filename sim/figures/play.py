"""What is played on one note to read its figures from."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

from keyaction.cases.action.strokes import Strokes
from keyaction.models.train.train import TrainProblem
from keyaction.sim.figures import rates, repetition
from keyaction.sim.figures.limits import AGREES
from keyaction.sim.figures.record import Pressed, Record
from keyaction.sim.figures.verdict import UNASKED, Fate, Verdict, verdict
from keyaction.sim.motion import drives
from keyaction.sim.motion.integrate import ABSURD, Floats, Motion, Tolerances
from keyaction.sim.motion.note import Model, NoteModel
from keyaction.sim.motion.strokes import standard_stroke
from keyaction.sim.statics.balance import NoEquilibrium, OpenAtRest, RunsOff, TooFar
from keyaction.sim.statics.press import press


class NotPlayed(RuntimeError):
    """A note could not be integrated; the message carries the reason and the remedy.

    `verdict` is what is known of the note all the same.
    """

    verdict: Verdict = UNASKED


def reason_of(problem: Exception) -> str:
    """Why a note failed: a sentence of the program's own as it stands, any other error with its kind."""
    told = isinstance(problem, TrainProblem | NotPlayed)
    return str(problem) if told else f"{type(problem).__name__}: {problem}"


def _well(motion: Motion, what: str) -> Motion:
    if not motion.status.ok:
        raise NotPlayed(f"{what}: {motion.status.message}; {motion.status.remedy}")
    return motion


Searched = repetition.Repetition | Callable[[], repetition.Repetition | None] | None
"""A repetition rate that was searched elsewhere, or what waits until it is; None where none was."""


def play_record(model: NoteModel, strokes: Strokes, found: Searched = None, pressed: Pressed | None = None) -> Record:
    """Play the slow press, the standard stroke, the presses at speed and the repetition search.

    Parameters
    ----------
    model : NoteModel
    strokes : Strokes
    found : Repetition or callable, optional
        The repetition rate, where another integrator has searched it, or what gives it when all else is played: then
        SciPy confirms it, or finds its own, unless that one agreed with itself at three steps.
    pressed : Pressed, optional
        The slow press, where it is known.

    Raises
    ------
    NotPlayed
        When one of them cannot be integrated.
    """
    pressed = pressed or press_note(model, strokes)
    try:
        return _played(model, strokes, pressed, found)
    except NotPlayed as problem:
        problem.verdict = verdict(pressed)
        raise


def _played(model: NoteModel, strokes: Strokes, pressed: Pressed, searched: Searched) -> Record:
    dip = model.train.dip
    stroke = _well(model.play(standard_stroke(model, strokes)), "standard stroke")
    fast = {
        speed: _well(
            model.play(drives.press(speed, strokes.depth * dip, strokes.finger, release=False)),
            f"press at {speed * 1e3:g} mm/s",
        )
        for speed in strokes.speeds
    }
    found = searched() if callable(searched) else searched
    if found is None:
        rate = search_repetition(model, strokes)
    else:
        rate = found if found.agreed else confirm_repetition(model, strokes, found)
    return Record(model, strokes, pressed.press, stroke, fast, rate)


def press_note(model: Model, strokes: Strokes, rest: Floats | None = None) -> Pressed:
    """The slow press alone.

    Parameters
    ----------
    model : Model
    strokes : Strokes
    rest : (n,) array, optional
        The state in which the train rests, where it is known.

    Raises
    ------
    NotPlayed
        When its equilibria cannot be followed.
    """
    try:
        return Pressed(model, strokes, press(model, strokes.press_stiffness, strokes.dip_force, rest))
    except NoEquilibrium as problem:
        raise unpressed(problem) from None


def unpressed(problem: NoEquilibrium) -> NotPlayed:
    """A press that cannot be followed, with what it tells of the note."""
    if isinstance(problem, RunsOff):
        failed = NotPlayed(f"once open, the pallet opens further by itself: {problem}")
        failed.verdict = Verdict(Fate.HANGS, "the spring does not carry the pallet: once open it falls further")
    elif isinstance(problem, OpenAtRest):
        failed = NotPlayed(f"the pallet falls open by itself: {problem}")
        failed.verdict = Verdict(Fate.CIPHER, "what hangs on the pallet pulls it open against spring and wind")
    else:
        failed = NotPlayed(f"slow press: {problem}{'' if isinstance(problem, TooFar) else f'; {ABSURD}'}")
    return failed


def judge_of(model: NoteModel, strokes: Strokes, tolerances: Tolerances | None = None) -> repetition.Verdicts:
    """What tells of rates whether a note repeats at them, every trial integrated by SciPy."""
    train, layout = model.train, model.kernel()

    def play(drive: drives.Drive) -> repetition.Trial:
        enough = repetition.failing(layout, drive, train.box_pressure)
        return repetition.trial(model.play(drive, tolerances, enough))

    return repetition.judge(
        play,
        strokes.repetition_depth * train.dip,
        train.box_pressure,
        strokes.finger,
    )


def search_repetition(model: NoteModel, strokes: Strokes) -> repetition.Repetition:
    """The repetition rate of a note, every trial integrated by SciPy."""
    return rates.search(judge_of(model, strokes), strokes.repetition_highest)


def confirm_repetition(
    model: NoteModel, strokes: Strokes, found: repetition.Repetition, sure: bool = False
) -> repetition.Repetition:
    """A repetition rate found elsewhere, decided by SciPy; where it overrules it or is to be `sure`, more finely too.

    Where no rate was found there is nothing to decide; where the two tolerances disagree, the rate is the lower one and
    `sensitive` tells both.
    """
    highest = strokes.repetition_highest
    if not math.isfinite(found.rate):
        return found
    ours = rates.confirmed(found, judge_of(model, strokes), highest)
    if not sure and abs(ours.rate - found.rate) < AGREES:
        return ours
    finer = rates.confirmed(ours, judge_of(model, strokes, model.tolerances.finer()), highest)
    if abs(finer.rate - ours.rate) < AGREES:
        return finer
    low, high = sorted((ours, finer), key=lambda one: one.rate)
    return replace(low, sensitive=f"sensitive: {low.rate:.1f} or {high.rate:.1f} Hz by how exactly it is integrated")
