"""Where notes rest as one rod of each is drawn tighter or slacker, by equilibria without friction.

All play and stretch of a single strand add up: a change of any rod's way, referred to one rod by the levers between
them, moves the resting train alike (`keyaction.sim.tightening.refer`). So one rod of each note stands for all, and a
year, or a rail that moves, is a walk along one line of resting states.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from keyaction.models.algebra.names import Name
from keyaction.models.train.train import Train
from keyaction.sim.figures.limits import EMPTY
from keyaction.sim.lanes.batch import Batch, Rest
from keyaction.sim.motion.drives import HANDS_OFF
from keyaction.sim.motion.integrate import Floats
from keyaction.sim.motion.note import NoteModel

CLOSE, MOST = 0.005e-3, 60
"""m of stretch between resting states where a pallet opens, and at most so many of them."""
ORIGIN = "drawn tighter or slacker"


@dataclass(frozen=True)
class Tightness:
    """Resting states of one note along the stretch that is added to one of its rods.

    Attributes
    ----------
    note : int
    train : Train
        As it is at stretch 0.
    rod : str
        The rod that stands for all.
    way : float
        Its way per way of the key front, nothing giving way.
    stretch : (K,) array
        Added to the rod's, m, rising: above 0 the run is tighter than in `train`.
    travel : (K,) array
        Way of the key front at rest, m, down positive.
    gap : (K,) array
        Between pallet and seat at the eye, m; below 0 the seat is squeezed.
    seat : (K,) array
        Force between pallet and seat at the eye, N.
    share : (K,) array
        Of the groove's pressure in the box's; 0 without wind.
    pulls : mapping of str to (K,) array
        Force of every rod by name, N.
    settled : (K,) array of bool
        Whether the train was found at rest there.
    """

    note: int
    train: Train
    rod: str
    way: float
    stretch: Floats
    travel: Floats
    gap: Floats
    seat: Floats
    share: Floats
    pulls: Mapping[str, Floats]
    settled: np.ndarray

    @cached_property
    def opens(self) -> float:
        """Stretch at which the pallet leaves its seat at rest, m; infinite if it does not within what is known."""
        return self._first(self.gap)

    @cached_property
    def sounds(self) -> float:
        """Stretch at which the note sounds unplayed, m: its groove at rest above 10 % of the box; without wind `opens`.

        Infinite if it does not within what is known.
        """
        return self._first(self.share - EMPTY) if self.train.box_pressure > 0.0 else self.opens

    def _first(self, course: Floats) -> float:
        """Stretch from which on a course is above nothing."""
        above = np.flatnonzero(course > 0.0)
        if not len(above):
            return math.inf
        i = int(above[0])
        if i == 0:
            return float(self.stretch[0])
        part = -course[i - 1] / (course[i] - course[i - 1])
        return float(self.stretch[i - 1] + part * (self.stretch[i] - self.stretch[i - 1]))

    def at(self, values: Floats, stretch: Floats | float) -> Floats:
        """One of its courses at other stretches, between what is known by straight lines; at its ends as there."""
        return np.asarray(np.interp(stretch, self.stretch, values))


def stretched(train: Train, rod: str, by: float) -> Train:
    """The train with a rod drawn tighter by so much (m), slacker below 0."""
    name = Name(rod, "slack")
    return train.with_parameter(name, train.parameters[name].value - by, ORIGIN)


def tightness(
    trains: Mapping[int, Train], rods: Mapping[int, str], ways: Mapping[int, float], stretch: Floats, jobs: int = 0
) -> dict[int, Tightness]:
    """Let notes rest at every stretch of a rod.

    Parameters
    ----------
    trains : mapping of int to Train
        By note.
    rods : mapping of int to str
        Of each the rod that stands for all.
    ways : mapping of int to float
        Way of that rod per way of the key front.
    stretch : (K,) array
        Rising, m; where a pallet opens it is looked at more closely.
    jobs : int
        Threads; 0 means one per core.

    Returns
    -------
    dict of int to Tightness
        Where the lanes do not find a train at rest, SciPy does.
    """
    coarse = _resting(trains, rods, ways, {note: np.asarray(stretch, dtype=float) for note in trains}, jobs)
    finer = {note: wanted for note, one in coarse.items() if len(wanted := _where_it_opens(one))}
    found = _resting({note: trains[note] for note in finer}, rods, ways, finer, jobs)
    return {note: _merged(one, found[note]) if note in found else one for note, one in coarse.items()}


def _resting(
    trains: Mapping[int, Train],
    rods: Mapping[int, str],
    ways: Mapping[int, float],
    stretch: Mapping[int, Floats],
    jobs: int,
) -> dict[int, Tightness]:
    """Notes at rest, each at its own stretches."""
    found = dict[int, Tightness]()
    for notes in _alike(trains):
        whole = Batch.of([trains[note] for note in notes], jobs=jobs)
        rows = [_drawn(whole, i, rods[note], stretch[note]) for i, note in enumerate(notes)]
        rest = Batch(whole.structure, np.concatenate(rows), whole.h, jobs).rest()
        done = 0
        for note in notes:
            about, these = (note, trains[note], rods[note], ways[note]), slice(done, done + len(stretch[note]))
            own, done = rest.some(np.arange(these.start, these.stop)), these.stop
            found[note] = _tightness(*about, *_sure(trains[note], rods[note], stretch[note], own))
    return {note: found[note] for note in trains}


def _drawn(whole: Batch, i: int, rod: str, stretch: Floats) -> Floats:
    """Parameters of the i-th design of a batch with a rod drawn tighter by every stretch, (K, np)."""
    rows = np.repeat(whole.parameters[i : i + 1], len(stretch), axis=0)
    rows[:, whole.names.index(Name(rod, "slack"))] -= stretch
    return rows


def _where_it_opens(one: Tightness) -> Floats:
    """Stretches between the last at which the pallet is shut and the first at which the note sounds, m."""
    ends = one.opens, one.sounds
    if not all(map(math.isfinite, ends)):
        return np.zeros(0)
    i, j = int(np.searchsorted(one.stretch, ends[0])) - 1, int(np.searchsorted(one.stretch, ends[1]))
    if i < 0 or j >= len(one.stretch):
        return np.zeros(0)
    low, high = float(one.stretch[i]), float(one.stretch[j])
    return np.linspace(low, high, min(round((high - low) / CLOSE), MOST) + 1)[1:-1]


def _merged(one: Tightness, other: Tightness) -> Tightness:
    """Both in one, by rising stretch."""
    stretch, first = np.unique(np.concatenate([one.stretch, other.stretch]), return_index=True)

    def both(a: np.ndarray, b: np.ndarray) -> np.ndarray:
        return np.asarray(np.concatenate([a, b])[first])

    return replace(
        one,
        stretch=stretch,
        travel=both(one.travel, other.travel),
        gap=both(one.gap, other.gap),
        seat=both(one.seat, other.seat),
        share=both(one.share, other.share),
        pulls={name: both(course, other.pulls[name]) for name, course in one.pulls.items()},
        settled=both(one.settled, other.settled),
    )


def _alike(trains: Mapping[int, Train]) -> list[list[int]]:
    """Notes of one structure together."""
    groups = dict[object, list[int]]()
    for note, train in trains.items():
        groups.setdefault(train.structure, []).append(note)
    return list(groups.values())


def _sure(train: Train, rod: str, stretch: Floats, rest: Rest) -> tuple[Floats, Floats, np.ndarray]:
    """Stretches, what is seen there at rest, and whether it rests: SciPy settles what the lanes did not.

    What the lanes left swinging with its pallet open is left out: nothing of it is asked for.
    """
    model = NoteModel(train)
    gap = model.kernel().observables.index(model.kernel().seen_of(train.role("pallet").name, "seat_gap"))
    kept = rest.settled | ~(rest.seen[:, gap] > 0.0)
    stretch, seen, settled = stretch[kept], rest.seen[kept], rest.settled[kept]
    for i in np.flatnonzero(~settled).tolist():
        drawn = NoteModel(stretched(train, rod, float(stretch[i])))
        y = drawn.rest()
        if np.all(np.isfinite(y)):
            drive = drawn.vector(HANDS_OFF, HANDS_OFF.pieces[0])
            seen[i] = drawn.kernel().observe(np.zeros(1), y[None, :], drawn.parameters(), drive)[0]
            settled[i] = True
    return stretch, seen, settled


def _tightness(
    note: int,
    train: Train,
    rod: str,
    way: float,
    stretch: Floats,
    seen: Floats,
    settled: np.ndarray,
) -> Tightness:
    """One note's of what was seen (K, m)."""
    layout = NoteModel(train).kernel()
    columns = {name: seen[:, i] for i, name in enumerate(layout.observables)}
    parts = train.parts
    pallet = train.role("pallet").name
    groove = next(part.name for part in parts[[part.name for part in parts].index(pallet) :] if part.role == "groove")
    pressure = columns[layout.seen_of(groove, "groove_pressure")]
    pulls = {one.part: columns[one.force] for one in layout.elements if one.kind == "rod" and one.place in ("", "in")}
    return Tightness(
        note,
        train,
        rod,
        way,
        np.asarray(stretch, dtype=float),
        columns["key_travel"],
        columns[layout.seen_of(pallet, "seat_gap")],
        columns[layout.element(pallet, "seat").force],
        pressure / train.box_pressure if train.box_pressure > 0.0 else np.zeros_like(pressure),
        pulls,
        settled,
    )
