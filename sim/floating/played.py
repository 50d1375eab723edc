"""What a played note or chord does to a floating rail at rest: its rods pull more, those of all others give way."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

import numpy as np

from keyaction.sim.floating.closed import shift_under
from keyaction.sim.floating.equilibrium import Held
from keyaction.sim.motion.integrate import Floats


@dataclass(frozen=True)
class Shift:
    """How far a rail goes under played notes.

    Attributes
    ----------
    played : tuple of int
    before, after : float
        Place of the rail, m.
    given : mapping of int to float
        Of every other note by how much its run becomes slacker, m at its key; below 0 tighter. Its pluck comes so much
        later: while it is taut, by stretch that goes, then by play.
    play : mapping of int to float
        Of every other note how much of that is play: its rods hang slack.
    slack : tuple of int
        Others that have play then, or had before.
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
    given: Mapping[int, float]
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
    others = held.others(pulls)
    quiet = np.array([note not in pulls for note in held.notes])
    own = stretch[quiet]
    before = _place(held, stretch) if place is None else place
    more = sum(pulls.values())
    after = before if held.rail.fixed else _clipped(before, *others.band(own[:, None], more))
    at_stop = 0 if held.rail.fixed else int(after >= held.rail.ahead) - int(after <= -held.rail.behind)
    was, now = (own + others.gains * z for z in (before, after))
    play = (np.maximum(others.taut - now, 0.0) - np.maximum(others.taut - was, 0.0)) / others.ways
    over = float(others.over(own[:, None], np.array([before]))[0]) + more
    slack = tuple(np.array(others.notes)[now <= others.taut].tolist())
    return Shift(
        tuple(pulls),
        before,
        after,
        dict(zip(others.notes, ((was - now) / others.ways).tolist(), strict=True)),
        dict(zip(others.notes, play.tolist(), strict=True)),
        slack,
        tuple(np.array(others.notes)[(now > others.opens) & ~(was > others.opens)].tolist()),
        at_stop,
        0.0 if held.rail.fixed else shift_under(others, own, before, over),
        not slack and at_stop == 0,
    )


def each_alone(held: Held, stretch: Floats, pulls: Mapping[int, float]) -> dict[int, Shift]:
    """Every note of `pulls` (N on the rail) played by itself; the rest as in `shift_when_played`."""
    before = _place(held, stretch)
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
    return 0.0 if held.rail.fixed else _clipped(0.0, *held.band(stretch[:, None]))


def _clipped(place: float, lower: Floats, upper: Floats) -> float:
    return float(np.clip(place, lower[0], max(lower[0], upper[0])))
