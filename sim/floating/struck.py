"""What a floating rail does when notes are struck: how far it goes, and whether notes that nobody plays sound.

The wind box holds its pressure here: what a chord does through the wind is another question (`keyaction chord`).
Weights of levers, and of rods that hang on them, are taken to be in the rail's load.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from keyaction.cases.action.strokes import Strokes
from keyaction.models.frame.changes import RunRod
from keyaction.models.frame.rail import Rail
from keyaction.models.train.train import Train
from keyaction.sim.chord.hands import even
from keyaction.sim.figures.limits import EMPTY
from keyaction.sim.figures.sketch import rigid
from keyaction.sim.floating.motion import RailMotion, play_on_rail
from keyaction.sim.floating.places import OnRail, holds_of, seated
from keyaction.sim.motion.drives import HANDS_OFF, Drive, press
from keyaction.sim.motion.integrate import Floats, Motion, Tolerances
from keyaction.sim.motion.note import NoteModel
from keyaction.sim.motion.strokes import standard_stroke

CALM = 0.05
"""s at the end over which a rail that has come to a stop hardly moves."""
STILL, SHARE_STILL = 1e-6, 0.02
"""m that it may move meanwhile, and share of its greatest way."""
SLOW, EASE = 0.02, 0.05
"""m/s at which keys are pressed to see what statics holds; s in which they reach it."""


@dataclass(frozen=True)
class Quiet:
    """A note that nobody plays, beside struck ones.

    Attributes
    ----------
    play : float
        The most play that its run has while the rail moves, at the key's front, m.
    seat_load : float
        The least force with which its pallet presses on its seat, N; 0 where it leaves it.
    loudest, loudest_at : float
        The highest pressure of its groove, as a share of its box's, and when it has it, s.
    sounds, at_rest, when_held : bool
        Whether its groove is not empty: at any time; before anything is played; when the struck keys have been held.
    """

    play: float
    seat_load: float
    loudest: float
    loudest_at: float
    sounds: bool
    at_rest: bool
    when_held: bool


@dataclass(frozen=True)
class Struck:
    """Notes struck on a rail that floats.

    Attributes
    ----------
    rail : Rail
    motion : RailMotion
        Of all notes by name, and of the rail.
    struck : tuple of str
    quiet : mapping of str to Quiet
    rest : float
        Place of the rail before anything is played, m.
    at_pluck, held, rebound : float
        How far the rail is from there, m, positive towards its load: farthest until the last struck pallet has
        opened; when the struck keys have been held; farthest after they are let go.
    hits : bool
        Whether the rail comes to an end stop.
    stops : bool
        Whether it comes to a stop at the end.
    """

    rail: Rail
    motion: RailMotion
    struck: tuple[str, ...]
    quiet: Mapping[str, Quiet]
    rest: float
    at_pluck: float
    held: float
    rebound: float
    hits: bool
    stops: bool

    @property
    def sounding(self) -> tuple[str, ...]:
        """Notes that nobody plays and that sound nevertheless."""
        return tuple(name for name, one in self.quiet.items() if one.sounds)

    def by_motion(self, slowly: Struck) -> tuple[str, ...]:
        """Those that sound by the rail's motion alone: statics holds, as `slowly`, the same keys pressed, tells."""
        return tuple(name for name in self.sounding if name not in slowly.sounding)

    @property
    def farthest(self) -> float:
        """How far the rail is from where it rested, at most, m, positive towards its load."""
        return _farthest(self.motion.place - self.rest)

    @property
    def greatest_play(self) -> float:
        """At the front of any quiet key, m; 0 without quiet notes."""
        return max((one.play for one in self.quiet.values()), default=0.0)

    @property
    def least_seat_load(self) -> float:
        """Of any quiet pallet, N; infinite without quiet notes."""
        return min((one.seat_load for one in self.quiet.values()), default=float("inf"))


def strike(
    trains: Mapping[str, Train],
    rods: Mapping[str, Sequence[RunRod]],
    rail: Rail,
    struck: Collection[str],
    strokes: Strokes,
    drives: Mapping[str, Drive] | None = None,
    tolerances: Tolerances | None = None,
) -> Struck:
    """Strike some notes of a rail together, and see what it does to the others.

    Parameters
    ----------
    trains : mapping of str to Train
        All notes that the rail carries, by name, with their nuts as they are (`keyaction.sim.floating.nuts` sets them).
    rods : mapping of str to sequence of RunRod
        Of each note those that its levers on the rail join, at least.
    rail : Rail
    struck : collection of str
        Notes that are struck by the standard stroke, all at once; the others are quiet.
    strokes : Strokes
        Of the case.
    drives : mapping of str to Drive, optional
        What is done to struck keys in place of the standard stroke.
    tolerances : Tolerances, optional

    Raises
    ------
    NoRest
        If notes and rail do not come to rest together.
    ValueError
        If a struck note is not on the rail, or one of its levers is none.
    """
    unknown = [name for name in struck if name not in trains]
    if unknown:
        raise ValueError(f"no {', '.join(unknown)} on this rail")
    idle = [name for name in trains if not holds_of(rods[name], rail)]
    if idle:
        raise ValueError(f"{', '.join(idle)}: no rod joins a lever of the rail ({', '.join(rail.carries)})")
    notes = _on_rail(trains, rods, rail, struck, strokes, drives or {}, tolerances or Tolerances())
    return told(play_on_rail(notes, rail, tolerances), notes, rail, tuple(name for name in trains if name in struck))


def pressed_slowly(trains: Mapping[str, Train], struck: Collection[str], strokes: Strokes) -> dict[str, Drive]:
    """Drives of `strike` by which keys go down together as slowly as statics, are held, and come up as slowly."""
    return {name: press(SLOW, strokes.depth * trains[name].dip, strokes.finger, ease=EASE) for name in struck}


def _on_rail(
    trains: Mapping[str, Train],
    rods: Mapping[str, Sequence[RunRod]],
    rail: Rail,
    struck: Collection[str],
    strokes: Strokes,
    drives: Mapping[str, Drive],
    tol: Tolerances,
) -> list[OnRail]:
    holds = {name: holds_of(rods[name], rail) for name in trains}
    models = {name: NoteModel(seated(train, holds[name]), tol) for name, train in trains.items()}
    given = [
        (drives.get(name) or standard_stroke(model, strokes)) if name in struck else HANDS_OFF
        for name, model in models.items()
    ]
    until = max((one.end for one in given if one is not HANDS_OFF), default=HANDS_OFF.end)
    given = even([_cut(one, until) if one is HANDS_OFF else one for one in given])
    return [OnRail(name, model, holds[name], drive) for (name, model), drive in zip(models.items(), given, strict=True)]


def _cut(drive: Drive, end: float) -> Drive:
    """Hands off until then."""
    return replace(drive, pieces=(replace(drive.pieces[0], end=end),))


def told(motion: RailMotion, notes: Sequence[OnRail], rail: Rail, struck: tuple[str, ...]) -> Struck:
    """The figures of a motion."""
    rest, t = float(motion.place[0]), motion.t
    lift = max((_mark(motion.notes[name], "lift", t[-1]) for name in struck), default=float(t[-1]))
    opened = max((_opened(motion.notes[name]) for name in struck), default=float(t[-1]))
    quiet = {one.name: _quiet(one, motion.notes[one.name], lift) for one in notes if one.name not in struck}
    way = motion.place - rest
    last = way[t >= t[-1] - CALM]
    return Struck(
        rail,
        motion,
        struck,
        quiet,
        rest,
        _farthest(way[t <= opened]),
        float(np.interp(lift, t, way)),
        _farthest(way[t >= lift]),
        bool(np.any(motion.place > rail.ahead) or np.any(motion.place < -rail.behind)),
        bool(np.ptp(last) <= max(STILL, SHARE_STILL * np.max(np.abs(way)))),
    )


def _farthest(way: Floats) -> float:
    return float(way[np.argmax(np.abs(way))])


def _mark(motion: Motion, mark: str, otherwise: float) -> float:
    return dict(motion.drive.marks).get(mark, otherwise)


def _opened(motion: Motion) -> float:
    """When its pallet leaves its seat, s; the end where it never does."""
    open_ = np.flatnonzero(motion[motion.kernel.speech[2]] > 0.0)
    return float(motion.t[open_[0]] if len(open_) else motion.t[-1])


def _quiet(note: OnRail, motion: Motion, lift: float) -> Quiet:
    kernel, train = motion.kernel, note.model.train
    pallets = [part.name for part in train.parts if part.role == "pallet"]
    seats = [motion[kernel.element(name, "seat").force] for name in pallets]
    shares = motion[kernel.speech[1]] / train.box_pressure
    held = float(np.interp(lift, motion.t, shares))
    return Quiet(
        float(np.max(play_of(note, motion))),
        float(np.min(seats)),
        float(np.max(shares)),
        float(motion.t[np.argmax(shares)]),
        bool(np.max(shares) > EMPTY),
        bool(shares[0] > EMPTY),
        held > EMPTY,
    )


def play_of(note: OnRail, motion: Motion) -> Floats:
    """Play of a note's whole run at the key's front, (N,), m: what its slack rods lack before they carry."""
    ways, play = rigid(note.model.train), np.zeros(len(motion.t))
    for one in motion.kernel.elements:
        way = ways.way(one.part) if one.kind == "rod" else None
        if way:
            play += np.maximum(-motion[one.stretch], 0.0) / abs(way)
    return play
