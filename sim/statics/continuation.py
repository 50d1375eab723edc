"""Following a path of equilibria by its own length, over folds where the finger's way turns back.

H. B. Keller, "Numerical solution of bifurcation and nonlinear eigenvalue problems", in: Applications of Bifurcation
Theory, Academic Press 1977, 359-384 (from memory).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from scipy.optimize import brentq

from keyaction.sim.motion.integrate import Floats
from keyaction.sim.statics.balance import Balance, Friction

LONGEST, FIRST, SHORTEST = 0.03, 1e-4, 1e-9
"""Steps along the path, as a share of the whole press."""
MOST, NEWTON, EXACT = 5000, 8, 1e-8
"""Most steps of a path; most corrections of a step; the correction, as a share of the whole press, that is none."""
CORNER = 1e-6
"""Step round a corner, as a share of the whole press."""
STRAIGHT, EASY = 0.98, 4
"""Least cosine of the turn from one step to the next; corrections up to which the next step is longer."""


class NoEquilibrium(RuntimeError):
    """A path of equilibria that breaks off; the message says where."""


@dataclass(frozen=True)
class Point:
    """An equilibrium: scaled unknowns, friction as it stands there, and the direction in which the path goes on."""

    z: Floats
    friction: Friction
    tangent: Floats


Event = Callable[[Point], float]
"""Something that is wanted exactly where it passes zero."""


def _direction(slopes: Floats, before: Floats) -> Floats:
    """Unit vector along the path, on from `before`."""
    wanted = np.zeros(len(before))
    wanted[-1] = 1.0
    found = np.linalg.lstsq(np.vstack([slopes, before]), wanted, rcond=1e-14)[0]
    return np.asarray(found / np.linalg.norm(found))


def _corrected(balance: Balance, guess: Floats, friction: Friction, normal: Floats) -> tuple[Floats, int] | None:
    """Newton's method in the plane through `guess` square to `normal`; None where it does not settle."""
    z = guess.copy()
    for turn in range(1, NEWTON + 1):
        out, slopes = balance.residual(z, friction)
        wanted = -np.append(out, normal @ (z - guess))
        move = np.linalg.lstsq(np.vstack([slopes, normal]), wanted, rcond=1e-14)[0]
        size = float(np.max(np.abs(move)))
        if not np.isfinite(size) or size > 1.0:
            return None
        z = z + move
        if size < EXACT:
            return z, turn
    return None


def _arrived(balance: Balance, start: Point, z: Floats) -> Point:
    sense = start.friction.sense
    far = sense * np.maximum(sense * z[balance.owner], sense * start.friction.far)
    friction = Friction(balance.slip(z, start.friction)[0], far, sense)
    return Point(z, friction, _direction(balance.residual(z, friction)[1], start.tangent))


def begin(balance: Balance, y: Floats, way: float, friction: Friction) -> Point:
    """The equilibrium with the finger at `way` (m) near the state `y`, the path going on in the friction's sense."""
    ahead = np.zeros(len(balance.scale))
    ahead[-1] = friction.sense
    found = _corrected(balance, balance.scaled(y, way), friction, ahead)
    if found is None:
        raise NoEquilibrium("no equilibrium is found near the train at rest")
    return _arrived(balance, Point(found[0], friction, ahead), found[0])


def follow(balance: Balance, start: Point, until: Event, events: Sequence[Event] = ()) -> list[Point]:
    """Equilibria from `start` to where `until` passes zero upwards, with those at every event between them.

    Raises
    ------
    NoEquilibrium
        When the path breaks off before.
    """
    path, length = [start], FIRST
    watched = (*events, until)
    before = [event(start) for event in watched]
    for _ in range(MOST):
        here = path[-1]
        there, length, following = _step(balance, here, length)
        after = [event(there) for event in watched]
        passed = [e for e, a, b in zip(watched, before, after, strict=True) if a * b < 0.0]
        between = _between(balance, here, there, length, passed)
        path += [point for _, point in between]
        if after[-1] >= 0.0 and until in passed:
            end = next(i for i, (event, _) in enumerate(between) if event is until)
            return path[: len(path) - len(between) + end + 1]
        path.append(there)
        if after[-1] >= 0.0:
            return path
        before, length = after, following
    raise NoEquilibrium(f"the path of equilibria does not end within {MOST} steps")


def _step(balance: Balance, here: Point, length: float) -> tuple[Point, float, float]:
    """The next equilibrium, the step's length, and the length to try next."""
    while length > SHORTEST:
        found = _corrected(balance, here.z + length * here.tangent, here.friction, here.tangent)
        if found is not None:
            there = _arrived(balance, here, found[0])
            straight = here.tangent @ there.tangent > STRAIGHT
            if straight or (length < 100 * SHORTEST and _goes_on(balance, there)):
                grown = 2.0 if found[1] <= EASY else 1.0
                return there, length, min(grown * length, LONGEST)
        length /= 2
    beyond = _round_corner(balance, here)
    if beyond is None:
        raise NoEquilibrium(f"no equilibrium beyond {balance.way(here.z) * 1e3:.3f} mm of the finger's way")
    return beyond, CORNER, FIRST


def _goes_on(balance: Balance, here: Point) -> bool:
    """Whether equilibria lie ahead along the tangent: behind a corner it may have been taken in the wrong sense."""
    found = _corrected(balance, here.z + CORNER * here.tangent, here.friction, here.tangent)
    return found is not None and bool(_arrived(balance, here, found[0]).tangent @ here.tangent > STRAIGHT)


def _round_corner(balance: Balance, here: Point) -> Point | None:
    """The first equilibrium behind a corner of more than a right angle, where a contact or a valve begins to act.

    The direction behind it is that of the equations a little further on; of its two senses the one in which they hold.
    """
    ahead = here.z + 10 * CORNER * here.tangent
    direction = _direction(balance.residual(ahead, here.friction)[1], here.tangent)
    for sense in (1.0, -1.0):
        found = _corrected(balance, here.z + CORNER * sense * direction, here.friction, direction)
        if found is None:
            continue
        there = _arrived(balance, Point(here.z, here.friction, sense * direction), found[0])
        if abs(there.tangent @ here.tangent) < STRAIGHT:
            return there
    return None


def _between(
    balance: Balance, here: Point, there: Point, length: float, events: Sequence[Event]
) -> list[tuple[Event, Point]]:
    """The equilibria within a step at which events pass zero, in order."""

    def at(share: float) -> Point:
        if share in (0.0, 1.0):
            return there if share else here
        exact = _corrected(balance, here.z + share * length * here.tangent, here.friction, here.tangent)
        return _arrived(balance, here, exact[0]) if exact else here

    shares = [
        (float(brentq(lambda share, event=event: event(at(share)), 0.0, 1.0, xtol=1e-9)), event) for event in events
    ]
    return [(event, at(share)) for share, event in sorted(shares, key=lambda one: one[0])]
