"""Static feel of a note: its equilibria down and up with Coulomb friction, the pluck, and the snap.

The way down starts at rest and ends at the dip force on the bottom felt; the way up starts there. Both are followed
by continuation (`keyaction.sim.statics.continuation`), so that a place where no equilibrium is left shows as a fold:
a finger that goes on makes the pallet snap there.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np

from keyaction.models.algebra.names import FINGER
from keyaction.sim.figures.limits import JUST_PAST
from keyaction.sim.motion.integrate import Floats, turned_too_far
from keyaction.sim.motion.note import NoteModel
from keyaction.sim.statics.balance import Balance, Friction
from keyaction.sim.statics.continuation import Event, NoEquilibrium, Point, begin, follow

STIFFNESS, DIP_FORCE = 2e4, 5.0
"""N/m, N: the gauge that presses, and the force on the bottom felt at which it turns (as in the slow press)."""
TOUCH = 1e-8
"""m that the finger is pressed in at the start of the way down and at the end of the way up."""
NEAR = 1e-6
"""Step along the path over which its slope is taken, as a share of the whole press."""


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
    """

    balance: Balance = field(repr=False)
    sense: int
    rest: float
    finger: Floats
    states: Floats = field(repr=False)
    seen: Floats = field(repr=False)

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
    def snaps(self) -> tuple[Snap, ...]:
        """Every jump of a finger that only goes on, in order."""
        found = []
        gap = self["seat_gap"]
        for i, j in zip(self.met, self.met[1:], strict=False):
            if j == i + 1:
                continue
            way = self.finger[j - 1 : j + 1]
            share = (self.finger[i] - way[0]) / (way[1] - way[0])
            force, lands = (float(c[j - 1] + share * (c[j] - c[j - 1])) for c in (self.force, gap))
            found.append(Snap(float(self.travel[i]), float(self.force[i]), force, float(gap[i]), lands))
        return tuple(found)

    def force_at(self, travel: Floats | float) -> Floats:
        """Key force (N) where a finger that only goes on meets these key travels (m from rest)."""
        order = self.met[:: self.sense]
        return np.asarray(np.interp(travel, self.travel[order], self.force[order]))

    def passing(self, name: str, level: float) -> float:
        """Key travel (m) where an observable first passes a level on the path; NaN if it never does."""
        course = self[name] - level
        changed = np.flatnonzero(course[:-1] * course[1:] <= 0.0)
        if not len(changed):
            return math.nan
        i = int(changed[0])
        step = course[i + 1] - course[i]
        share = -course[i] / step if step else 0.0
        return float(self.travel[i] + share * (self.travel[i + 1] - self.travel[i]))


@dataclass(frozen=True)
class StaticPress:
    """The way down and the way up of one note."""

    down: Course
    up: Course

    @cached_property
    def pluck_point(self) -> float:
        """Key travel at which the pallet leaves its seat, m; NaN if it never does."""
        return self.down.passing("seat_gap", 0.0)

    @cached_property
    def pluck_force(self) -> float:
        """Highest key force from rest to 1 mm of key travel past the pluck point, N."""
        if math.isnan(self.pluck_point):
            return math.nan
        met = self.down.met
        before = self.down.travel[met] <= self.pluck_point + JUST_PAST
        return float(np.max(self.down.force[met][before]))

    @cached_property
    def follow_through_force(self) -> float:
        """Lowest key force between the pluck and the bottom felt, N."""
        bottom = self.down.passing(self.bottom, 0.0)
        if math.isnan(self.pluck_point) or math.isnan(bottom):
            return math.nan
        met = self.down.met
        between = (self.down.travel[met] >= self.pluck_point) & (self.down.travel[met] <= bottom)
        return float(np.min(self.down.force[met][between]))

    @property
    def bottom(self) -> str:
        """Name of the bottom felt's stretch."""
        balance = self.down.balance
        return balance.kernel.element(balance.model.train.key.name, "bottom").stretch

    @property
    def snap(self) -> Snap | None:
        """How the pallet snaps open under a finger of this stiffness; None where it opens without a jump."""
        return next((snap for snap in self.down.snaps if snap.gap_after > 0.0), None)


class Ways:
    """The two ways of one note, and what is looked for along them."""

    def __init__(self, model: NoteModel, stiffness: float, dip_force: float) -> None:
        self.balance, self.dip_force = Balance(model, stiffness), dip_force
        self.names = self.balance.kernel.observables
        self.bottom = self.balance.kernel.element(model.train.key.name, "bottom").stretch
        self.pad = self.balance.kernel.element(FINGER).stretch
        self.start = model.rest()
        seen = self._observed(self.start, 0.0)
        self.rest = float(seen[self.names.index("key_travel")])
        if seen[self.names.index("seat_gap")] <= 0.0:  # a groove without any way out keeps what was swept into it
            self.start[self.balance.pressures] = 0.0

    def _observed(self, y: Floats, way: float) -> Floats:
        return np.asarray(self.balance.observe(y[None, :], np.array([way]))[0])

    def seen(self, name: str) -> Event:
        """An observable as a function of a point."""
        place, balance = self.names.index(name), self.balance
        return lambda point: float(self._observed(balance.state(point.z, point.friction), balance.way(point.z))[place])

    def events(self) -> tuple[Event, ...]:
        """Seat left, bottom felt touched, fold of the finger's way, highest and lowest key force."""
        stretch = self.seen(self.pad)

        def slope(point: Point) -> float:
            ahead = Point(point.z + NEAR * point.tangent, point.friction, point.tangent)
            return stretch(ahead) - stretch(point)

        return self.seen("seat_gap"), self.seen(self.bottom), lambda point: float(point.tangent[-1]), slope

    def begin_down(self) -> Point:
        """The finger just on the resting key."""
        y, balance = self.start, self.balance
        still = Friction(y[balance.slips], balance.scaled(y, self.rest)[balance.owner], 1)
        return begin(balance, y, self.rest + TOUCH, still)

    def at_bottom(self) -> Event:
        """Passes zero at the dip force on the bottom felt."""
        force, felt = self.seen("key_force"), self.seen(self.bottom)
        return lambda point: min(force(point) - self.dip_force, STIFFNESS * felt(point))

    def begin_up(self, bottom: Point) -> Point:
        """The end of the way down, turned round."""
        friction = Friction(bottom.friction.u, bottom.z[self.balance.owner], -1)
        return Point(bottom.z, friction, -bottom.tangent)

    def off(self) -> Event:
        """Passes zero where the finger leaves the key."""
        stretch = self.seen(self.pad)
        return lambda point: TOUCH - stretch(point)

    def course(self, path: Sequence[Point]) -> Course:
        """The path as arrays."""
        balance = self.balance
        states = np.array([balance.state(point.z, point.friction) for point in path])
        finger = np.array([balance.way(point.z) for point in path])
        return Course(balance, path[0].friction.sense, self.rest, finger, states, balance.observe(states, finger))


def press(model: NoteModel, stiffness: float = STIFFNESS, dip_force: float = DIP_FORCE) -> StaticPress:
    """Follow the equilibria of a note from rest to the dip force on the bottom felt and back.

    Parameters
    ----------
    model : NoteModel
    stiffness : float
        Of the finger or gauge, N/m: with a soft one the pallet snaps, with a stiff one it may open without a jump.
    dip_force : float
        Key force at the bottom felt where the way turns, N.

    Raises
    ------
    keyaction.sim.statics.continuation.NoEquilibrium
        When the path breaks off, or a body turns further than the equations hold.
    """
    path = Ways(model, stiffness, dip_force)
    down = follow(path.balance, path.begin_down(), path.at_bottom(), path.events())
    up = follow(path.balance, path.begin_up(down[-1]), path.off(), path.events())
    found = StaticPress(path.course(down), path.course(up))
    far = turned_too_far(path.balance.kernel, np.max(np.abs(found.down.states), axis=0))
    if far:
        raise NoEquilibrium(far)
    return found
