"""A path of equilibria followed by its own length, over folds where the finger's way turns back.

H. B. Keller, "Numerical solution of bifurcation and nonlinear eigenvalue problems", in: Applications of Bifurcation
Theory, Academic Press 1977, 359-384 (from memory).

Numba compiles these functions once for all trains (`keyaction.sim.statics.compiled`): the equations come as functions.
The unknowns `z` are the coordinates, the groove's pressure and the finger's way, each as a share of what it goes
through in a whole press. `train` is what `follow` is given of the train, in a tuple. A point of a path is (z, u, far,
tangent): unknowns, slips, how far each slip's owner had gone when it was that, and the direction in which it goes on.
"""

from __future__ import annotations

from collections.abc import Callable
from math import exp, sqrt
from typing import Any

import numpy as np
from numpy.typing import NDArray

from keyaction.sim.statics.linear import Floats, bordered, copied, dot, largest_of, moved, put, solved

Places = NDArray[np.int64]
Equations = Callable[..., None]
Train = tuple[Any, ...]

LONGEST, FIRST, SHORTEST = 0.03, 1e-4, 1e-9
"""Steps along the path, as a share of the whole press."""
MOST, NEWTON, EXACT = 5000, 8, 1e-8
"""Most steps of a path; most corrections of a step; the correction, as a share of the whole press, that is none."""
SLIDING = 1e-3
"""What a bushing's friction may lack of its whole, as a share of it, where it slides."""
CORNER = 1e-6
"""Step round a corner, as a share of the whole press."""
STRAIGHT, QUICK, EASY = 0.98, 2, 4
"""Least cosine of the turn from one step to the next; corrections up to which the next step is much longer, longer."""
MUCH, MORE, LITTLE = 8.0, 2.0, 1e-5
"""Times as long; steps up to which the next may be much longer: more would leave too few points where a curve bends."""
FORWARD = 1e-7
"""m: step of the difference quotient over the finger's way."""
NEAR = 1e-6
"""Step along the path over which its slope is taken, as a share of the whole press."""
TOUCH = 1e-8
"""m that the finger is pressed in at the start of the way down and at the end of the way up."""
FOUND, FINE, TRIES = 1e-10, 1e-13, 60
"""Where an event is, as a share of the whole press; a value that is none; most trials."""
ARRIVED, BROKEN, ENDLESS, NOWHERE, FALLEN = 0, 1, 2, 3, 4
"""How a path ends: where it should; without an equilibrium beyond; after too many steps; before it begins; going down,
where the key falls away from the finger."""


def slipped(train: Train, sense: float, z: Floats, u: Floats, far: Floats) -> tuple[Floats, Floats]:
    """Slips at z, and their slopes: they follow the way that their owners go on.

    What slides already does so too where the path folds back; friction that still holds does so against both ways.
    """
    owner, reach = train[6], train[8]
    found, slope = u.copy(), np.zeros(len(u))
    for i in range(len(u)):
        ahead = sense * (z[owner[i]] - far[i]) / reach[i]
        if ahead > 0.0:
            found[i] = sense - (sense - u[i]) * exp(-ahead)
            slope[i] = (sense - found[i]) * sense / reach[i]
        elif abs(sense - u[i]) > SLIDING:
            found[i] = (sense + u[i]) * exp(ahead) - sense
            slope[i] = (sense + found[i]) * sense / reach[i]
    return found, slope


def placed(train: Train, z: Floats, u: Floats) -> Floats:
    """The full state, at rest; the drive is told where the finger is."""
    unknown, slips, scale, drive, x0 = train[3], train[5], train[7], train[2], train[10]
    y = np.zeros(train[9])
    for i in range(len(unknown)):
        y[unknown[i]] = z[i] * scale[i]
    for i in range(len(slips)):
        y[slips[i]] = u[i]
    drive[x0] = z[-1] * scale[-1]
    return y


def residual(
    rates: Equations, slopes: Equations, train: Train, sense: float, z: Floats, u: Floats, far: Floats
) -> tuple[Floats, Floats]:
    """What is out of balance (n,), and its derivative (n, n + 1); each row over its own largest entry."""
    p, d, unknown, rows, slips, owner, scale, x0 = (
        train[1], train[2], train[3], train[4], train[5], train[6], train[7], train[10]
    )  # fmt: skip
    n = len(rows)
    now, give = slipped(train, sense, z, u, far)
    y = placed(train, z, now)
    size = len(y)
    out, ahead, whole = np.zeros(size), np.zeros(size), np.zeros((size, size))
    rates(0.0, y, p, d, out)
    slopes(0.0, y, p, d, whole)
    d[x0] += FORWARD
    rates(0.0, y, p, d, ahead)
    d[x0] -= FORWARD
    off, table = np.empty(n), np.zeros((n, n + 1))
    for i in range(n):
        row = rows[i]
        for j in range(n):
            table[i, j] = whole[row, unknown[j]] * scale[j]
        for k in range(len(slips)):
            table[i, owner[k]] += whole[row, slips[k]] * give[k]
        table[i, n] = (ahead[row] - out[row]) / FORWARD * scale[n]
        largest = largest_of(table[i])
        if largest == 0.0:
            largest = 1.0
        for j in range(n + 1):
            table[i, j] /= largest
        off[i] = out[row] / largest
    return off, table


def direction(table: Floats, before: Floats) -> Floats:
    """Unit vector along the path, on from `before`."""
    wanted = np.zeros(len(before))
    wanted[-1] = 1.0
    found = solved(bordered(table, before), wanted)
    return moved(np.zeros(len(found)), 1 / sqrt(dot(found, found)), found)


def corrected(
    rates: Equations,
    slopes: Equations,
    train: Train,
    sense: float,
    guess: Floats,
    u: Floats,
    far: Floats,
    normal: Floats,
) -> tuple[Floats, int, Floats]:
    """Newton's method in the plane through `guess` square to `normal`: where it ends, in how many turns, the slopes.

    No turns where it does not end. The slopes (n, n + 1) are those of the last turn, nearer than `EXACT` to the end.
    """
    z = guess.copy()
    wanted = np.empty(len(z))
    table = np.empty((len(z) - 1, len(z)))
    for turn in range(1, NEWTON + 1):
        off, table = residual(rates, slopes, train, sense, z, u, far)
        for i in range(len(off)):
            wanted[i] = -off[i]
        wanted[-1] = -dot(normal, moved(z, -1.0, guess))
        move = solved(bordered(table, normal), wanted)
        largest = largest_of(move)
        if not largest <= 1.0:
            return z, 0, table
        z = moved(z, 1.0, move)
        if largest < EXACT:
            return z, turn, table
    return z, 0, table


def arrived(
    train: Train, sense: float, z: Floats, u: Floats, far: Floats, table: Floats, before: Floats
) -> tuple[Floats, Floats, Floats]:
    """Slips, ways of their owners and direction at an equilibrium that the path has come to, from its slopes."""
    owner = train[6]
    further = far.copy()
    for i in range(len(far)):
        back = sense * (far[i] - z[owner[i]]) > 0.0
        further[i] = far[i] if back and abs(sense - u[i]) < SLIDING else z[owner[i]]
    now, _ = slipped(train, sense, z, u, far)
    return now, further, direction(table, before)


def seen_at(observe: Equations, train: Train, sense: float, z: Floats, u: Floats, far: Floats) -> Floats:
    """Observables at z."""
    now, _ = slipped(train, sense, z, u, far)
    states, found = np.empty((1, train[9])), np.zeros((1, train[11]))
    put(states, 0, placed(train, z, now))
    observe(np.zeros(1), states, train[1], train[2], found)
    return found


def events(
    observe: Equations, train: Train, wanted: Floats, sense: float, z: Floats, u: Floats, far: Floats, tangent: Floats
) -> Floats:
    """What passes zero at a place of its own.

    The seat left, the bottom felt touched, a fold of the finger's way, the highest and lowest key force, and the end:
    going down the dip force on the bottom felt, going up the finger leaving the key, or what is sought before it.
    After these five how far the finger is pressed in.
    """
    gap, bottom, pad, force = train[12], train[13], train[14], train[15]
    dip_force, stiffness, column, level = wanted
    here = seen_at(observe, train, sense, z, u, far)
    ahead = seen_at(observe, train, sense, moved(z, NEAR, tangent), u, far)
    found = np.empty(6)
    found[0], found[1], found[2], found[3] = here[0, gap], here[0, bottom], tangent[-1], ahead[0, pad] - here[0, pad]
    if sense > 0.0:
        found[4] = min(here[0, force] - dip_force, stiffness * here[0, bottom])
    else:
        found[4] = TOUCH - here[0, pad]
    if column >= 0:
        found[4] = max(found[4], sense * (here[0, int(column)] - level))
    found[5] = here[0, pad]
    return found


def onward(
    rates: Equations,
    slopes: Equations,
    train: Train,
    sense: float,
    z: Floats,
    u: Floats,
    far: Floats,
    tangent: Floats,
    length: float,
) -> tuple[int, Floats, Floats, Floats, Floats, float, float]:
    """The next equilibrium: (code, z, u, far, tangent, the step's length, the length to try next)."""
    while length > SHORTEST:
        there, turns, table = corrected(rates, slopes, train, sense, moved(z, length, tangent), u, far, tangent)
        if turns:
            if length < 10 * LITTLE:  # near a corner the last turn may have been before it
                _, table = residual(rates, slopes, train, sense, there, u, far)
            now, further, ahead = arrived(train, sense, there, u, far, table, tangent)
            straight = dot(tangent, ahead) > STRAIGHT
            if not straight and length < 100 * SHORTEST:  # behind a corner it may have been taken in the wrong sense
                guess = moved(there, CORNER, ahead)
                on, more, slope = corrected(rates, slopes, train, sense, guess, now, further, ahead)
                if more:
                    _, _, beyond = arrived(train, sense, on, now, further, slope, ahead)
                    straight = dot(beyond, ahead) > STRAIGHT
            if straight:
                grown = MUCH if turns <= QUICK and length < LITTLE else MORE if turns <= EASY else 1.0
                return ARRIVED, there, now, further, ahead, length, min(grown * length, LONGEST)
        length /= 2
    # A corner of more than a right angle, where a contact or a valve begins to act: the direction behind it is that
    # of the equations a little further on; of its two senses the one in which they hold.
    _, table = residual(rates, slopes, train, sense, moved(z, 10 * CORNER, tangent), u, far)
    behind = direction(table, tangent)
    for turned in (1.0, -1.0):
        there, turns, table = corrected(rates, slopes, train, sense, moved(z, CORNER * turned, behind), u, far, behind)
        if turns:
            now, further, ahead = arrived(train, sense, there, u, far, table, moved(np.zeros(len(z)), turned, behind))
            if abs(dot(ahead, tangent)) < STRAIGHT:
                return ARRIVED, there, now, further, ahead, CORNER, FIRST
    return BROKEN, z, u, far, tangent, length, length


def within(
    rates: Equations,
    slopes: Equations,
    train: Train,
    sense: float,
    z: Floats,
    u: Floats,
    far: Floats,
    tangent: Floats,
    length: float,
    share: float,
) -> tuple[Floats, Floats, Floats, Floats]:
    """The equilibrium at a share of the step from z: (z, u, far, tangent); z itself where there is none."""
    there, turns, table = corrected(rates, slopes, train, sense, moved(z, share * length, tangent), u, far, tangent)
    if not turns:
        return z, u, far, tangent
    now, further, ahead = arrived(train, sense, there, u, far, table, tangent)
    return there, now, further, ahead


def share_of(
    rates: Equations,
    slopes: Equations,
    observe: Equations,
    train: Train,
    wanted: Floats,
    sense: float,
    z: Floats,
    u: Floats,
    far: Floats,
    tangent: Floats,
    length: float,
    event: int,
    before: float,
    after: float,
) -> float:
    """Share of the step at which an event passes zero: false position that halves the weight of a lasting end."""
    low, high, at_low, at_high, kept, share = 0.0, 1.0, before, after, 0, 1.0
    for _ in range(TRIES):
        share = (low * at_high - high * at_low) / (at_high - at_low)
        there, now, further, ahead = within(rates, slopes, train, sense, z, u, far, tangent, length, share)
        value = events(observe, train, wanted, sense, there, now, further, ahead)[event]
        if abs(value) < FINE:
            break
        if (value > 0.0) == (at_high > 0.0):
            high, at_high = share, value
            if kept == 1:
                at_low /= 2
            kept = 1
        else:
            low, at_low = share, value
            if kept == -1:
                at_high /= 2
            kept = -1
        if (high - low) * length < FOUND:
            break
    return share


def follow(
    rates: Equations,
    slopes: Equations,
    observe: Equations,
    p: Floats,
    d: Floats,
    unknown: Places,
    rows: Places,
    slips: Places,
    owner: Places,
    scale: Floats,
    reach: Floats,
    places: Places,
    wanted: Floats,
    sense: float,
    z: Floats,
    u: Floats,
    far: Floats,
    tangent: Floats,
) -> tuple[Any, ...]:
    """Equilibria from z to the end, those at every event among them.

    Parameters
    ----------
    rates, slopes, observe : functions (t, y, p, d, out)
        Of the train; the last over many instants.
    p, d : arrays
        Parameters, drive.
    unknown, rows, slips, owner : int arrays
        Where unknowns, their equations and slips stand among the states; the unknown that each slip goes with.
    scale, reach : arrays
        Of the unknowns; scaled way in which a slip builds up.
    places : (7,) int array
        Number of states; place of the finger's way in the drive; number of observables; among them gap, bottom felt,
        finger's pad, key force.
    wanted : (4,) array
        Dip force (N); stiffness (N/m) that turns the bottom felt's squeeze into a force; an observable sought (-1 for
        none) and the level at which the path then ends.
    sense : float
        +1 down, -1 up.
    z, u, far, tangent : arrays
        Where it begins: `z` near an equilibrium.

    Returns
    -------
    code, (N, n + 1), (N, s), (N, s), (N, n + 1), (N, states), (N, observables)
        How it ended; z, u, far, tangent along the path; states and what is seen there.
    """
    train = (
        0, p, d, unknown, rows, slips, owner, scale, reach, places[0], places[1], places[2], places[3], places[4],
        places[5], places[6],
    )  # fmt: skip
    n, s, room = len(z), len(u), 512
    zs, us, fars, tangents = np.empty((room, n)), np.empty((room, s)), np.empty((room, s)), np.empty((room, n))
    code = ENDLESS
    begun, turns, table = corrected(rates, slopes, train, sense, z, u, far, tangent)
    if turns:
        now, further, ahead = arrived(train, sense, begun, u, far, table, tangent)
    else:
        now, further, ahead, code = u.copy(), far.copy(), tangent.copy(), NOWHERE
        begun = z.copy()
    put(zs, 0, begun)
    put(us, 0, now)
    put(fars, 0, further)
    put(tangents, 0, ahead)
    count = 1
    before = events(observe, train, wanted, sense, begun, now, further, ahead)
    length = FIRST
    here, u, far, tangent = begun, now, further, ahead
    for _ in range(MOST if code == ENDLESS else 0):
        if before[4] >= 0.0 and count == 1:
            code = ARRIVED
            break
        told, there, now, further, ahead, length, following = onward(
            rates, slopes, train, sense, here, u, far, tangent, length
        )
        if told != ARRIVED:
            code = told
            break
        after = events(observe, train, wanted, sense, there, now, further, ahead)
        shares = np.full(5, 2.0)
        for event in range(5):
            if before[event] * after[event] < 0.0:
                shares[event] = share_of(
                    rates, slopes, observe, train, wanted, sense, here, u, far, tangent, length, event,
                    before[event], after[event],
                )  # fmt: skip
        if count + 6 > room:
            room *= 2
            zs, us = copied(zs, count, room), copied(us, count, room)
            fars, tangents = copied(fars, count, room), copied(tangents, count, room)
        for _ in range(5):
            event = 0
            for other in range(5):
                if shares[other] < shares[event]:
                    event = other
            if shares[event] > 1.0:
                break
            share, shares[event] = shares[event], 2.0
            at, now_at, further_at, ahead_at = within(rates, slopes, train, sense, here, u, far, tangent, length, share)
            put(zs, count, at)
            put(us, count, now_at)
            put(fars, count, further_at)
            put(tangents, count, ahead_at)
            count += 1
            if event == 4 and after[4] >= 0.0:
                code = ARRIVED
                break
        if code == ARRIVED:
            break
        put(zs, count, there)
        put(us, count, now)
        put(fars, count, further)
        put(tangents, count, ahead)
        count += 1
        if after[4] >= 0.0:
            code = ARRIVED
            break
        if sense > 0.0 and after[5] < 0.0:
            code = FALLEN
            break
        before, length = after, following
        here, u, far, tangent = there, now, further, ahead
    states, seen = np.empty((count, places[0])), np.empty((count, places[2]))
    state, there_seen = np.empty((1, places[0])), np.zeros((1, places[2]))
    for i in range(count):
        put(state, 0, placed(train, zs[i], us[i]))
        observe(np.zeros(1), state, p, d, there_seen)
        put(states, i, state[0])
        put(seen, i, there_seen[0])
    return (
        code, copied(zs, count, count), copied(us, count, count), copied(fars, count, count),
        copied(tangents, count, count), states, seen,
    )  # fmt: skip


COMPILED = (
    "slipped", "placed", "residual", "direction", "corrected", "arrived", "seen_at", "events", "onward", "within",
    "share_of", "follow",
)  # fmt: skip
"""What Numba compiles, in this order."""
