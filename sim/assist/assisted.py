"""The ways to relieve a bass pallet, each pressed and played on the notes that are asked for."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import partial

import numpy as np

from keyaction.cases.action.case import Case
from keyaction.cases.action.strokes import Strokes
from keyaction.cases.action.trains import check_trains
from keyaction.models.fields.values import Given
from keyaction.models.train.remade import remade
from keyaction.models.train.train import Train, TrainProblem
from keyaction.sim.assist.own import NotBuilt, Own, Size
from keyaction.sim.assist.peaks import touch
from keyaction.sim.assist.versions import AS_IS, VERSIONS
from keyaction.sim.figures.columns import QUANTITIES
from keyaction.sim.figures.play import NotPlayed, play_record, press_note
from keyaction.sim.figures.record import Pressed
from keyaction.sim.figures.repetition import Repetition
from keyaction.sim.figures.verdict import UNASKED, Fate, Verdict, verdicts
from keyaction.sim.lanes.repetition import lane_rates
from keyaction.sim.motion.integrate import Floats
from keyaction.sim.motion.note import NoteModel
from keyaction.sim.processes.count import workers
from keyaction.sim.processes.tasks import in_processes

FEW = 6
"""Trains that one process plays sooner than others have begun (assumed)."""
_PLAYS = (Fate.SPEAKS, Fate.WEAK)
_MOVED = ("opening_time", "speech_delay", "release_delay", "repetition_rate")
_NONE = np.zeros(0)
_Key = tuple[int, str]
_Task = tuple[_Key, Train, Repetition | None]
Told = Callable[[int, str], None]


@dataclass(frozen=True)
class Assisted:
    """One version of one note.

    Attributes
    ----------
    note : int
    version : str
        As `VERSIONS` names it.
    train : Train, optional
        None where there is no such version of this train; then `why` says why.
    why : str
        Why it is not there, or why it could not be played; empty where all is known.
    sizes : tuple of Size
        What the program gave it.
    verdict : Verdict
        The worst of its pallets'.
    figures : mapping of str to float
        SI; NaN where there is none. Of the slow press `first`, `second`, `highest`, `hold` (N), `second_at` (m); `lift`
        (m), `share`; of motion `opening_time`, `speech_delay`, `release_delay` (s), `repetition_rate` (Hz). Of the
        train as it is `wind`, `friction` too: shares of its pluck.
    limit : str
        What limits its repetition.
    travel, force : (N,) arrays
        Feel curve down, m and N, as a finger meets it that only goes on.
    """

    note: int
    version: str
    train: Train | None = None
    why: str = ""
    sizes: tuple[Size, ...] = ()
    verdict: Verdict = UNASKED
    figures: Mapping[str, float] = field(default_factory=dict)
    limit: str = ""
    travel: Floats = field(default_factory=lambda: _NONE, repr=False)
    force: Floats = field(default_factory=lambda: _NONE, repr=False)

    def __getitem__(self, name: str) -> float:
        return self.figures.get(name, math.nan)

    @property
    def plays(self) -> bool:
        """Whether its strokes are of any use."""
        return self.train is not None and not self.why and self.verdict.fate in _PLAYS


def assisted(
    case: Case, notes: Sequence[int], versions: Sequence[str] = (), jobs: int = 0, told: Told | None = None
) -> tuple[Assisted, ...]:
    """Every version of every note, the notes in their order, the train as it is first.

    Parameters
    ----------
    case : Case
    notes : sequence of int
        Of its compass.
    versions : sequence of str, optional
        Beside the train as it is, by the names of `VERSIONS`; all by default.
    jobs : int
        Processes; 0 means one per core.
    told : callable, optional
        Called with note and version as each is done.

    Raises
    ------
    keyaction.TrainProblem
        When the case's own trains cannot be built.
    """
    wanted = [name for name in VERSIONS if name == AS_IS or not versions or name in versions]
    found = dict[_Key, Assisted]()
    for note, train in check_trains(case, notes).items():
        own = Own(case.given(note), case.library, case.strokes, train, _pressed(train, case.strokes))
        found |= {(note, name): _pressed_version(own, note, name) for name in wanted}
    found |= _played(found, case.strokes, jobs, told or _untold)
    return tuple(found.values())


def _untold(note: int, version: str) -> None:
    """Nobody asks how far it is."""


def _pressed(train: Train, strokes: Strokes) -> Pressed | None:
    try:
        return press_note(NoteModel(train), strokes)
    except NotPlayed:
        return None


def _pressed_version(own: Own, note: int, version: str) -> Assisted:
    """Built, and pressed slowly; or why not."""
    begun = Assisted(note, version)
    try:
        if version != AS_IS:
            own.refuse_odd()
        built = VERSIONS[version](own)
    except (NotBuilt, NotPlayed) as problem:
        return replace(begun, why=str(problem))
    except TrainProblem as problem:
        return replace(begun, why="; ".join(problem.defects))
    begun = replace(begun, train=built.train, sizes=built.sizes)
    try:
        with np.errstate(all="ignore"):
            pressed = press_note(NoteModel(built.train), own.strokes)
    except NotPlayed as problem:
        return replace(begun, why=str(problem), verdict=problem.verdict)
    figures = touch(pressed, version) | (_shares(own) if version == AS_IS else {})
    worst = next((one for one in verdicts(pressed) if not one.sound), verdicts(pressed)[0])
    met, down = pressed.press.down.met, pressed.press.down
    return replace(begun, verdict=worst, figures=figures, travel=down.travel[met], force=down.force[met])


def _shares(own: Own) -> dict[str, float]:
    """What of the pluck the wind makes, and friction: the pluck with the wind off is pressed too."""
    if own.pressed is None or not own.pressed.press.pluck_force > 0.0:
        return {}
    pluck, box = own.pressed.press.pluck_force, own.train.role("box").name
    friction = QUANTITIES["friction_at_key"].compute(own.pressed) / pluck
    calm = _pressed(remade(own.train, {box: {"pressure": Given(0.0, "wind off")}}), own.strokes)
    wind = 1 - calm.press.pluck_force / pluck if calm else math.nan
    return {"wind": wind if own.pressed.box_pressure > 0.0 else 0.0, "friction": friction}


def _played(found: Mapping[_Key, Assisted], strokes: Strokes, jobs: int, told: Told) -> dict[_Key, Assisted]:
    """What is read from motion, of those that speak."""
    playing = {key: one for key, one in found.items() if one.plays}
    for note, version in found.keys() - playing.keys():
        told(note, version)
    tasks: list[_Task] = []
    for version in dict.fromkeys(version for _, version in playing):
        trains = {note: one.train for (note, name), one in playing.items() if name == version and one.train}
        rates = lane_rates(trains, strokes, jobs)
        tasks += [((note, version), train, rates.get(note)) for note, train in trains.items()]
    many = min(workers(jobs), len(tasks)) if len(tasks) > FEW else 1
    done = {}
    for key, figures, limit, why in in_processes(partial(_play, strokes), tasks, many, _given_up):
        one = playing[key]
        done[key] = replace(one, figures={**one.figures, **figures}, limit=limit, why=why)
        told(*key)
    return done


def _play(strokes: Strokes, task: _Task) -> tuple[_Key, dict[str, float], str, str]:
    key, train, rate = task
    try:
        record = play_record(NoteModel(train), strokes, rate)
    except NotPlayed as problem:
        return key, {}, "", str(problem)
    figures = {name: float(QUANTITIES[name].compute(record)) for name in _MOVED}
    return key, figures, record.repetition.reason, ""


def _given_up(task: _Task) -> tuple[_Key, dict[str, float], str, str]:
    return task[0], {}, "", "its process died twice (out of memory, or killed)"
