"""What a played note or chord does to a floating rail at rest: its rods pull more, those of all others give way."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

import numpy as np

from keyaction.sim.floating.closed import shift_under
from keyaction.sim.floating.equilibrium import Held
from keyaction.sim.motion.integrate import Floats

SLACK = 0.01
"""Share of what a rod pulled before, above its own weight, below which it counts as slack."""


@dataclass(frozen=True)
class Shift:
    """How far a rail goes under played notes.

    Attributes
    ----------
    played : tuple of int
    before, after : float
        Place of the rail, m.
    play : mapping of int to float
        Of every other note by how much its run becomes slacker, m at its key; below 0 tighter. It is the most that its
        lost motion can grow: while a rod is taut, part of it is stretch that goes.
    slack : tuple of int
        Others whose rods then pull no more than their own weight.
    lifted : tuple of int
        Others whose pallet leaves its seat with it.
    at_stop : int
        +1 at the stop ahead, -1 at the one behind, 0 between.
    closed : float
        The same way in closed form, m: what is pulled more, over the stiffness of all others.
    taut : bool
        Whether all others stay taut and the rail between its stops, as the closed form takes it.
    """

    played: tuple[int, ...]
    before: float
    after: float
    play: Mapping[int, float]
    slack: tuple[int, ...]
    lifted: tuple[int, ...]
    at_stop: int
    closed: float
    taut: bool

    @property
    def way(self) -> float:
        """m; below 0 against the load."""
        return self.after - self.before

    @property
    def worst(self) -> tuple[int, float] | None:
        """The other note that gets most play, and how much, m at its key; None without others."""
        return max(self.play.items(), key=lambda one: one[1], default=None)


def shift_when_played(held: Held, stretch: Floats, pulls: Mapping[int, float], place: float | None = None) -> Shift:
    """Let some notes pull at the rail as they do when played, and find where it stands.

    Parameters
    ----------
    held : Held
    stretch : (n,) array
        Of each note before the rail moves, m.
    pulls : mapping of int to float
        Of each played note the force on the rail against its load, N: at its pluck, or held down. It is that of wind
        and springs, which the rail's way does not change.
    place : float, optional
        Where the rail stands before; by default where its notes at rest let it, coming from its centre.
    """
    others, at = held.others(pulls), stretch[:, None]
    before = _place(held, at) if place is None else place
    rest = held.pulls(at, np.array([before]))[:, 0]
    own = at[[i for i, note in enumerate(held.notes) if note not in pulls]]
    after = before if held.rail.fixed else _clipped(before, *others.band(own, sum(pulls.values())))
    quiet = np.array([note not in pulls for note in held.notes])
    over = float(held.over(at, np.array([before]))[0]) + sum(pulls.values()) - float(np.sum(rest[~quiet]))
    at_stop = 0 if held.rail.fixed else int(after >= held.rail.ahead) - int(after <= -held.rail.behind)
    slack = _slack(others, own, before, after)
    moved = others.gains * (after - before)
    opened = [own[:, 0] + others.gains * z > others.opens for z in (before, after)]
    return Shift(
        tuple(pulls),
        before,
        after,
        dict(zip(others.notes, (-moved / others.ways).tolist(), strict=True)),
        slack,
        tuple(note for note, was, now in zip(others.notes, *opened, strict=True) if now and not was),
        at_stop,
        0.0 if held.rail.fixed else shift_under(others, own[:, 0], before, over),
        not slack and at_stop == 0,
    )


def each_alone(held: Held, stretch: Floats, pulls: Mapping[int, float]) -> dict[int, Shift]:
    """Every note of `pulls` (N on the rail) played by itself; the rest as in `shift_when_played`."""
    before = _place(held, stretch[:, None])
    return {note: shift_when_played(held, stretch, {note: pull}, before) for note, pull in pulls.items()}


def chord(held: Held, stretch: Floats, pulls: Mapping[int, float], notes: Iterable[int]) -> Shift:
    """Some notes of `pulls` (N on the rail) played at once; the rest as in `shift_when_played`."""
    return shift_when_played(held, stretch, {note: pulls[note] for note in notes})


def hardest(pulls: Mapping[int, float], count: int = 10) -> tuple[int, ...]:
    """The notes that pull most at the rail, as many as ten fingers play; in rising order."""
    most = sorted(pulls, key=lambda note: (-pulls[note], note))
    return tuple(sorted(most[:count]))


def _place(held: Held, stretch: Floats) -> float:
    """Where the rail stands at rest, coming from its centre, m."""
    return 0.0 if held.rail.fixed else _clipped(0.0, *held.band(stretch))


def _clipped(place: float, lower: Floats, upper: Floats) -> float:
    return float(np.clip(place, lower[0], max(lower[0], upper[0])))


def _slack(held: Held, stretch: Floats, before: float, after: float) -> tuple[int, ...]:
    """Notes that pull no more than their own weight after the rail's way, and did before or no longer do."""
    least = np.array([curve.least for curve in held.curves])
    was, now = (held.pulls(stretch, np.array([z]))[:, 0] - least for z in (before, after))
    return tuple(note for note, a, b in zip(held.notes, was, now, strict=True) if b <= SLACK * max(a, 0.0))
