"""Static feel of a note: its equilibria down and up with Coulomb friction, the pluck, and the snap.

The way down starts at rest and ends at the dip force on the bottom felt; the way up starts there. Both are followed
by their own length (`keyaction.sim.statics.path`), so that a place where no equilibrium is left shows as a fold:
a finger that goes on makes the pallet snap there. What is read from many presses at once is in
`keyaction.sim.statics.reading`, in plain loops; a test holds both together.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
from scipy.interpolate import PchipInterpolator

from keyaction.sim.motion.integrate import SHORTER, Floats, turned_too_far
from keyaction.sim.motion.note import Model
from keyaction.sim.motion.sounders import Sounder, sounders, stage_names
from keyaction.sim.statics.balance import Balance, NoEquilibrium, NotAtRest, OpenAtRest, RunsOff, TooFar
from keyaction.sim.statics.events import TOUCH
from keyaction.sim.statics.feel_curve import FINER, FORCE, SAME, WAY
from keyaction.sim.statics.reading import JUST_PAST, ON_FELT

STIFFNESS, DIP_FORCE = 2e4, 5.0
"""N/m, N: the gauge that presses, and the force on the bottom felt at which it turns."""
FALLS = 4
"""Times that a key may fall away from the finger on its way down."""


@dataclass(frozen=True)
class Snap:
    """Where a finger that goes on finds no equilibrium any more: the pallet jumps open, or shut.

    Key travel from rest there (m); key force (N) and gap under the pallet at the eye (m), before and after.
    """

    travel: float
    force: float
    force_after: float
    gap: float
    gap_after: float


@dataclass(frozen=True)
class Course:
    """Equilibria one after the other along the path.

    Attributes
    ----------
    sense : int
        +1 on the way down, -1 on the way up.
    rest : float
        Way of the key front at rest, m.
    finger : (N,) array
        The finger's way, m.
    states : (N, n) array
        In the order of the states of the motion.
    seen : (N, m) array
        Observables.
    extreme : (N,) array
        1 where an equilibrium is there for an extreme force alone, else 0.
    """

    balance: Balance = field(repr=False)
    sense: int
    rest: float
    finger: Floats
    states: Floats = field(repr=False)
    seen: Floats = field(repr=False)
    extreme: Floats = field(repr=False)

    def __getitem__(self, name: str) -> Floats:
        """An observable or state along the path, by name."""
        kernel = self.balance.kernel
        if name in kernel.observables:
            return np.asarray(self.seen[:, kernel.observables.index(name)])
        return np.asarray(self.states[:, kernel.states.index(name)])

    @property
    def travel(self) -> Floats:
        """Key travel from rest, m."""
        return np.asarray(self["key_travel"] - self.rest)

    @property
    def force(self) -> Floats:
        """Key force, N."""
        return self["key_force"]

    @cached_property
    def met(self) -> np.ndarray:
        """Numbers of the equilibria that a finger meets which only goes on; the others lie within a snap."""
        way = self.sense * self.finger
        furthest = np.maximum.accumulate(way)
        return np.flatnonzero(way >= furthest)

    @cached_property
    def jumps(self) -> tuple[tuple[int, float], ...]:
        """Where a finger that only goes on jumps from and lands, as numbers of equilibria, in order."""
        found = []
        for i, j in zip(self.met, self.met[1:], strict=False):
            if j > i + 1:
                way = self.finger[j - 1 : j + 1]
                found.append((int(i), float(j - 1 + (self.finger[i] - way[0]) / (way[1] - way[0]))))
        return tuple(found)

    @cached_property
    def snaps(self) -> tuple[Snap, ...]:
        """Every jump of a finger that only goes on, in order."""
        travel, force, gap = self.travel, self.force, self["seat_gap"]
        return tuple(
            Snap(float(travel[i]), float(force[i]), self.at(to, force), float(gap[i]), self.at(to, gap))
            for i, to in self.jumps
        )

    @cached_property
    def through(self) -> tuple[Floats, Floats]:
        """Key travel (m) and force (N) of the places that a smooth curve goes through, in order.

        It lands where the finger does after a jump. Where an extreme force lies, other forces cannot depend on: along
        a flat curve that is a matter of the last digits.
        """
        jumped = np.isin(self.met, [i for i, _ in self.jumps])
        return self.with_landings(self.met[(self.extreme[self.met] == 0.0) | jumped])

    def with_landings(self, met: np.ndarray) -> tuple[Floats, Floats]:
        """Key travel (m) and force (N) of equilibria that are met, and of where the finger lands after a jump."""
        places, along = np.sort(np.concatenate([met, [to for _, to in self.jumps]])), np.arange(len(self.finger))
        return np.interp(places, along, self.travel), np.interp(places, along, self.force)

    @cached_property
    def work(self) -> float:
        """Force times way of a finger that only goes on, J, under a smooth curve through what it meets.

        Straight lines would take up to half a percent more of a stroke where the curve is hollow. See Fritsch and
        Carlson, "Monotone piecewise cubic interpolation", SIAM J. Numer. Anal. 17 (1980).
        """
        travel, force = self.through
        steps = np.hypot(np.diff(travel) / WAY, np.diff(force) / FORCE)
        at = np.concatenate([[0.0], np.cumsum(steps)])
        moved = np.concatenate([[True], np.diff(at) > SAME])
        at = at[moved]
        if len(at) < 2:
            return 0.0
        fine = np.interp(np.linspace(0.0, len(at) - 1.0, FINER * (len(at) - 1) + 1), np.arange(len(at)), at)
        curves = (PchipInterpolator(at, values[moved])(fine) for values in (force, travel))
        return float(np.trapezoid(*curves))

    def force_at(self, travel: Floats | float) -> Floats:
        """Key force (N) where a finger that only goes on meets these key travels (m from rest)."""
        order = self.met[:: self.sense]
        return np.asarray(np.interp(travel, self.travel[order], self.force[order]))

    def passing(self, name: str, level: float) -> float:
        """Key travel (m) where an observable first passes a level on the path; NaN if it never does."""
        return self.at(self.place(name, level), self.travel)

    def place(self, name: str, level: float) -> float:
        """Where along the path an observable first passes a level, as a number of equilibria; NaN if it never does."""
        course = self[name] - level
        changed = np.flatnonzero(course[:-1] * course[1:] <= 0.0)
        if not len(changed):
            return math.nan
        i = int(changed[0])
        step = course[i + 1] - course[i]
        return i + float(-course[i] / step if step else 0.0)

    def at(self, place: float, values: Floats) -> float:
        """One of the course's figures at a place along the path; NaN at NaN."""
        return float(np.interp(place, np.arange(len(values)), values)) if math.isfinite(place) else math.nan


@dataclass(frozen=True)
class StaticPress:
    """The way down and the way up of one note."""

    down: Course
    up: Course

    @cached_property
    def pluck_place(self) -> float:
        """Where on the way down the pallet leaves its seat, as a number of equilibria; NaN if it never does."""
        return self.down.place("seat_gap", 0.0)

    @property
    def pluck_point(self) -> float:
        """Key travel at which the pallet leaves its seat, m; NaN if it never does."""
        return self.down.at(self.pluck_place, self.down.travel)

    @cached_property
    def sounders(self) -> tuple[Sounder, ...]:
        """The pallets that the key opens, its own first."""
        balance = self.down.balance
        return sounders(balance.model.train, balance.kernel)

    def leaves(self, one: Sounder) -> float:
        """Key travel at which a pallet leaves its seat, m; NaN if it never does."""
        return self.down.at(self.down.place(one.gap, 0.0), self.down.travel)

    @cached_property
    def last_pluck(self) -> float:
        """Key travel at which the last of the pallets leaves its seat, m; NaN if none does."""
        found = [point for one in self.sounders if math.isfinite(point := self.leaves(one))]
        return max(found, default=math.nan)

    @cached_property
    def last_stage(self) -> float:
        """Key travel of the last pluck, or where a part's further stage begins after it: a relief pallet's large piece,
        a second fulcrum; m, NaN if no pallet opens."""
        down, last = self.down, self.last_pluck
        names = [name for _, _, name in stage_names(down.balance.model.train, down.balance.kernel)]
        found = (down.passing(name, 0.0) for name in names)
        return max([last, *(at for at in found if math.isfinite(at))]) if math.isfinite(last) else math.nan

    @cached_property
    def pluck_force(self) -> float:
        """Highest key force from rest to 1 mm of key travel past the last stage, before the bottom felt, N."""
        point = self.last_stage
        return math.nan if math.isnan(point) else self._highest(self.just_past(point))[1]

    def just_past(self, point: float) -> float:
        """1 mm of key travel past a pluck, or the bottom felt where that comes first, m."""
        bottom = self.bottom_point
        return max(point, min(point + JUST_PAST, bottom)) if math.isfinite(bottom) else point + JUST_PAST

    def highest_between(self, start: float, end: float) -> float:
        """Highest key force between two places of the key's way, N."""
        return float(np.max(self._between(start, end)[1]))

    def lowest_between(self, start: float, end: float) -> float:
        """Where between two places of the key's way the key force is lowest, m."""
        travel, force = self._between(start, end)
        return float(travel[np.argmin(force)])

    def _between(self, start: float, end: float) -> tuple[Floats, Floats]:
        """What a finger that goes on meets between two places, and there: key travel and force."""
        travel, force = self.down.travel[self.down.met], self.down.force[self.down.met]
        inside = (travel > start) & (travel < end)
        ends = np.array([start, end])
        return np.concatenate([ends, travel[inside]]), np.concatenate([self.down.force_at(ends), force[inside]])

    def _highest(self, end: float) -> tuple[float, float]:
        """Where the key force is highest up to a key travel, and how high: m, N."""
        met = self.down.met
        travel, force = self.down.travel[met], np.where(self.down.travel[met] <= end, self.down.force[met], -np.inf)
        return float(travel[np.argmax(force)]), float(np.max(force))

    @cached_property
    def bottom_point(self) -> float:
        """Key travel at which the key touches the bottom felt, m; NaN if it never does."""
        found = self.down.passing(self.bottom, 0.0)
        # Where it takes more than the dip force to get there, the way ends on the felt's surface.
        ends = math.isnan(found) and self.down[self.bottom][-1] > -ON_FELT
        return float(self.down.travel[-1]) if ends else found

    @cached_property
    def follow_through_force(self) -> float:
        """Lowest key force between the last stage, from where the force no longer rises, and the bottom felt, N."""
        point = self.last_stage
        if math.isnan(point) or math.isnan(self.bottom_point):
            return math.nan
        start = max(point, self._highest(min(point + JUST_PAST, self.bottom_point))[0])
        return float(np.min(self._between(start, self.bottom_point)[1])) if start <= self.bottom_point else math.nan

    @property
    def bottom(self) -> str:
        """Name of the bottom felt's stretch."""
        return self.down.balance.bottom

    @property
    def snap(self) -> Snap | None:
        """How the (first) pallet snaps open under a finger of this stiffness; None where it opens without a jump."""
        return next((snap for snap in self.down.snaps if snap.gap_after > 0.0), None)


def press(
    model: Model, stiffness: float = STIFFNESS, dip_force: float = DIP_FORCE, rest: Floats | None = None
) -> StaticPress:
    """Follow the equilibria of a note from rest to the dip force on the bottom felt and back.

    Parameters
    ----------
    model : Model
    stiffness : float
        Of the finger or gauge, N/m: with a soft one the pallet snaps, with a stiff one it may open without a jump.
    dip_force : float
        Key force at the bottom felt where the way turns, N.
    rest : (n,) array, optional
        The state in which the train rests, where it is known; else the model is asked for it.

    Raises
    ------
    keyaction.sim.statics.balance.NoEquilibrium
        When the path breaks off; `TooFar` when a body turns further than the equations hold; of these `OpenAtRest`
        when the pallet falls open before the key is touched, `RunsOff` when it does once it was opened.
    """
    ways = Ways(model, stiffness, dip_force, rest)
    found = StaticPress(ways.course(1, ways.down), ways.course(-1, ways.back()))
    far = turned_too_far(ways.balance.kernel, np.max(np.abs(found.down.states), axis=0))
    if far:
        raise TooFar(f"{far}; {SHORTER}")
    return found


class Ways:
    """The two ways of one note; `stop` ends either before its usual end, where an observable comes to a level."""

    def __init__(self, model: Model, stiffness: float, dip_force: float, rest: Floats | None = None) -> None:
        self.balance, self.dip_force = Balance(model, stiffness), dip_force
        kernel = self.balance.kernel
        names = kernel.observables
        self.start = (model.rest() if rest is None else rest).copy()
        seen = self.balance.observe(self.start, 0.0)
        self.rest = float(seen[names.index("key_travel")])
        far = turned_too_far(kernel, np.abs(self.start))
        if far and seen[names.index(self.balance.gap)] > 0.0:
            raise OpenAtRest(far)
        for one in sounders(model.train, kernel):
            if seen[names.index(one.gap)] <= 0.0:  # a groove without any way out keeps what was swept into it
                self.start[kernel.owners.index((one.groove, "p"))] = 0.0

    @cached_property
    def down(self) -> tuple[Floats, ...]:
        """The whole way down: places of the path, see `keyaction.sim.statics.following.follow`."""
        return self.pressed()

    def pressed(self, stop: tuple[str, float] = ("", 0.0)) -> tuple[Floats, ...]:
        """From the finger just on the resting key down; where the train goes on by itself, on from where it rests."""
        y, parts, lost = self.start, list[tuple[Floats, ...]](), True
        while lost and len(parts) < FALLS:
            lost, part = self._onward(y, stop)
            parts.append(part)
            if lost:
                most = int(np.argmax(part[0][:, -1]))
                y = self.balance.fallen(part[3][most], part[0][most, -1] * self.balance.scale[-1] + TOUCH)
        if lost:
            raise NoEquilibrium("the key falls away from the finger again and again")
        return tuple(np.concatenate(columns) for columns in zip(*parts, strict=True))

    def _onward(self, y: Floats, stop: tuple[str, float]) -> tuple[bool, tuple[Floats, ...]]:
        """From the finger just on the key in a state; what swings there between slack rods is let come to rest."""
        try:
            return self._begun(y, stop)
        except NotAtRest:
            names, seen = self.balance.kernel.observables, self.balance.observe(y, 0.0)
        try:
            return self._begun(self.balance.fallen(y, float(seen[names.index("key_travel")])), stop)
        except RunsOff as problem:
            open_ = seen[names.index(self.balance.gap)] > 0.0
            raise (OpenAtRest(str(problem)) if open_ else TooFar(f"{problem}; {SHORTER}")) from None

    def _begun(self, y: Floats, stop: tuple[str, float]) -> tuple[bool, tuple[Floats, ...]]:
        balance = self.balance
        ahead = np.zeros(len(balance.scale))
        ahead[-1] = 1.0
        way = float(balance.observe(y, 0.0)[balance.kernel.observables.index("key_travel")])
        z = balance.scaled(y, way + TOUCH)
        return balance.follow(1, z, y[balance.slips].copy(), z[balance.owner], ahead, self.dip_force, stop)

    def back(self, stop: tuple[str, float] = ("", 0.0)) -> tuple[Floats, ...]:
        """From the end of the way down up, until the finger leaves the key."""
        balance, (zs, us, tangents, *_) = self.balance, self.down
        far = zs[-1][balance.owner]
        return balance.follow(-1, zs[-1].copy(), us[-1].copy(), far, -tangents[-1], self.dip_force, stop)[1]

    def course(self, sense: int, path: tuple[Floats, ...]) -> Course:
        """A way as arrays."""
        finger = path[0][:, -1] * self.balance.scale[-1]
        return Course(self.balance, sense, self.rest, finger, path[3], path[4], path[5])
