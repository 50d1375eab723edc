"""Where a floating rail stands: the pulls of all its notes together against its load, at every instant of a year."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from keyaction.models.frame.changes import RunRod, shift_of
from keyaction.models.frame.member import VECTORS
from keyaction.models.frame.rail import Rail
from keyaction.sim.floating.course import RailCourse
from keyaction.sim.floating.curves import Curve
from keyaction.sim.motion.integrate import Floats
from keyaction.sim.tightening.tightness import Tightness

HALVINGS = 25
"""Of the way between the stops, when the rail's place is sought: 10 mm to 0.3 nm, and a straight line from there."""


@dataclass(frozen=True)
class Held:
    """A rail and the notes that hold it.

    Attributes
    ----------
    rail : Rail
    notes : tuple of int
    gains : (n,) array
        Of each note how much the rod that stands for all is drawn tighter per way of the rail with its load, >= 0.
    ways : (n,) array
        Way of that rod per way of the key front.
    opens : (n,) array
        Stretch at which its pallet leaves the seat at rest, m.
    curves : tuple of Curve
        Pull on the rail against its load over that rod's stretch.
    """

    rail: Rail
    notes: tuple[int, ...]
    gains: Floats
    ways: Floats
    opens: Floats
    curves: tuple[Curve, ...]

    @classmethod
    def of(
        cls,
        rail: Rail,
        tightness: Mapping[int, Tightness],
        gains: Mapping[int, float],
        pulled: Mapping[int, Floats],
    ) -> Held:
        """From what is known of every note.

        Raises
        ------
        ValueError
            If no note is on the rail, or one is drawn slacker as the rail goes with its load.
        """
        notes = tuple(tightness)
        if not notes:
            raise ValueError("no note is on the rail")
        if wrong := [note for note in notes if not gains[note] >= 0.0]:
            raise ValueError(f"the load draws the rods of notes {wrong} slacker: the rail goes the wrong way for them")
        return cls(
            rail,
            notes,
            np.array([gains[note] for note in notes]),
            np.array([tightness[note].way for note in notes]),
            np.array([tightness[note].opens for note in notes]),
            tuple(Curve.of(tightness[note].stretch, pulled[note]) for note in notes),
        )

    def some(self, notes: Collection[int]) -> Held:
        """The rail with some of its notes alone, in their order."""
        which = [i for i, note in enumerate(self.notes) if note in notes]
        curves = tuple(self.curves[i] for i in which)
        return replace(
            self,
            notes=tuple(self.notes[i] for i in which),
            gains=self.gains[which],
            ways=self.ways[which],
            opens=self.opens[which],
            curves=curves,
        )

    def others(self, notes: Collection[int]) -> Held:
        """The rail without some of its notes."""
        return self.some([note for note in self.notes if note not in notes])

    def loaded(self, load: float, friction: float | None = None) -> Held:
        """The same under another load at its centre (N), or with other friction (N)."""
        friction = self.rail.friction if friction is None else friction
        return replace(self, rail=replace(self.rail, load=load, friction=friction))

    @property
    def taut(self) -> Floats:
        """Stretch at which the rods of every note begin to pull more than slack, (n,), m."""
        return np.array([curve.taut for curve in self.curves])

    def pulls(self, stretch: Floats, place: Floats) -> Floats:
        """Pull of every note, (n, D), N, with its own stretch (n, D) and the rail at (D,), m."""
        return np.array(
            [curve.at(own + gain * place) for curve, gain, own in zip(self.curves, self.gains, stretch, strict=True)]
        )

    def load(self, place: Floats) -> Floats:
        """Load with the rail at (D,), N."""
        return self.rail.load - self.rail.rate * np.asarray(place)

    def over(self, stretch: Floats, place: Floats) -> Floats:
        """By how much all notes together pull more than the load, (D,), N; it never falls as the rail goes on."""
        total = np.zeros(np.shape(place))
        for curve, gain, own in zip(self.curves, self.gains, stretch, strict=True):
            total += curve.at(own + gain * place)
        return total - self.load(place)

    def band(self, stretch: Floats, laid_on: float = 0.0) -> tuple[Floats, Floats]:
        """Between which places friction holds the rail, (D,) each, m, where other forces (N) pull against it too."""
        count, friction = stretch.shape[1], self.rail.friction
        both = np.hstack([stretch, stretch])
        bound = np.repeat([-friction, friction], count)
        # The near end is where its bound is first met, the far end where it is last.
        met = np.repeat([True, False], count)
        low, high = np.full(2 * count, -self.rail.behind), np.full(2 * count, self.rail.ahead)

        def past(over: Floats) -> np.ndarray:
            return np.asarray((over > bound) | (met & (over == bound)))

        at_low, at_high = self.over(both, low) + laid_on, self.over(both, high) + laid_on
        behind, ahead = past(at_low), ~past(at_high)
        for _ in range(HALVINGS):
            middle = (low + high) / 2
            over = self.over(both, middle) + laid_on
            there = past(over)
            high, low = np.where(there, middle, high), np.where(there, low, middle)
            at_high, at_low = np.where(there, over, at_high), np.where(there, at_low, over)
        within = ~behind & ~ahead
        share = np.ones(2 * count)
        part = within & (at_high > at_low)
        share[part] = (bound[part] - at_low[part]) / (at_high[part] - at_low[part])
        place = np.where(behind, -self.rail.behind, np.where(ahead, self.rail.ahead, low + share * (high - low)))
        return place[:count], place[count:]

    def course(self, stretch: Floats) -> RailCourse:
        """The rail over the stretches of its notes (n, D) before it moves; see `rail_course`."""
        count = stretch.shape[1]
        if self.rail.fixed:
            place = lower = upper = np.zeros(count)
            at_stop = np.zeros(count, dtype=int)
        else:
            lower, upper = self.band(stretch)
            place = followed(lower, upper)
            at_stop = np.where(place >= self.rail.ahead, 1, np.where(place <= -self.rail.behind, -1, 0))
        pull = self.over(stretch, place) + self.load(place) if np.isfinite(self.rail.load) else np.full(count, np.nan)
        gains = dict(zip(self.notes, map(float, self.gains), strict=True))
        return RailCourse(self.rail, place, lower, upper, pull, at_stop, gains)


def followed(lower: Floats, upper: Floats, first: float = 0.0) -> Floats:
    """What stays until an end of its band takes it along (a play operator), (D,), from its place before the first."""
    place, here = np.empty(len(lower)), first
    for i, (low, high) in enumerate(zip(lower.tolist(), upper.tolist(), strict=True)):
        here = min(max(here, low), max(low, high))
        place[i] = here
    return place


def rail_course(
    rail: Rail,
    tightness: Mapping[int, Tightness],
    gains: Mapping[int, float],
    pulled: Mapping[int, Floats],
    stretch: Floats,
) -> RailCourse:
    """Where a rail stands at every instant, all notes holding it together.

    Parameters
    ----------
    rail : Rail
    tightness : mapping of int to Tightness
        Of every note on the rail, in the order of `stretch`.
    gains : mapping of int to float
        Of each how much the rod that stands for all is drawn tighter per way of the rail with its load; >= 0.
    pulled : mapping of int to (K,) array
        Force on the rail against its load at every node of `Tightness.stretch`, N (`pulls_on_rail`).
    stretch : (n, D) array
        Of each note before the rail moves, m.

    Returns
    -------
    RailCourse
        The place z where sum F_i(s_i + g_i z) = load - rate z, between the stops, which give nothing. Friction lets it
        stay while the two differ by less; it starts at its centre. The pull of an infinite load is not known (NaN).
    """
    return Held.of(rail, tightness, gains, pulled).course(np.atleast_2d(stretch))


def shifts_on_rail(rail: Rail, rods: Sequence[RunRod]) -> dict[str, float]:
    """Of the rods of one note how much each is drawn tighter per way of the rail with its load, by name."""
    toward = VECTORS[rail.towards]
    shifts = dict[str, float]()
    for lever in rail.carries:
        before = next((rod for rod in rods if rod.behind == lever), None)
        behind = next((rod for rod in rods if rod.before == lever), None)
        for rod, shift in zip((before, behind), shift_of(toward, before, behind), strict=True):
            if rod:
                shifts[rod.name] = shifts.get(rod.name, 0.0) + shift
    return shifts


def pulls_on_rail(rail: Rail, tightness: Tightness, rods: Sequence[RunRod]) -> Floats:
    """Force of one note on the rail against its load at every node of its stretch, (K,), N.

    By virtual work: each rod's pull times how much the way of the rail draws it tighter; a rod of which both ends
    are on the rail counts for nothing.
    """
    total = np.zeros(len(tightness.stretch))
    for name, shift in shifts_on_rail(rail, rods).items():
        total += shift * tightness.pulls[name]
    return total


def gain(rail: Rail, rods: Sequence[RunRod], ways: Mapping[str, float], rod: str) -> float:
    """How much the rod that stands for all is drawn tighter per way of the rail with its load.

    Parameters
    ----------
    rail : Rail
    rods : sequence of RunRod
        Of one note.
    ways : mapping of str to float
        Way of every rod per way of the key front, nothing giving way.
    rod : str
        The one that stands for all.
    """
    return ways[rod] * sum(shift / ways[name] for name, shift in shifts_on_rail(rail, rods).items())
