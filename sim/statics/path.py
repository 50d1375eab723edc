"""A path of equilibria followed by its own length, over folds where the finger's way turns back.

H. B. Keller, "Numerical solution of bifurcation and nonlinear eigenvalue problems", in: Applications of Bifurcation
Theory, Academic Press 1977, 359-384 (from memory).

These loops are one text for all: Numba compiles them once for all trains (`keyaction.sim.statics.compiled`), the
equations coming as functions; `keyaction.sim.code.loops_text` writes them as C, the equations being those of one
structure. Every turn of the loop in `walk` is one correction of Newton's, whatever it is for: so designs that a GPU
follows side by side wait for each other at the end of the path only.

The unknowns `z` are the coordinates, the groove's pressure and the finger's way, each as a share of what it goes
through in a whole press. `u` are the slips, `far` how far each slip's owner had gone when it was that, the tangent is
the direction in which the path goes on.
"""

from __future__ import annotations

from math import sqrt

from keyaction.sim.statics.equilibria import Equations, further_on, residual, slipped
from keyaction.sim.statics.events import (
    END,
    EVENTS,
    EXTREME,
    PRESSED,
    bracketed,
    crossing,
    events,
    first_trial,
    narrowed,
    seen_beside,
    trial,
)
from keyaction.sim.statics.linear import (
    Floats,
    Given,
    Kept,
    Places,
    Quick,
    Table,
    copied,
    dot,
    largest_of,
    moved,
    solved,
)

LONGEST, FIRST, SHORTEST = 0.03, 1e-4, 1e-9
"""Steps along the path, as a share of the whole press."""
MOST, NEWTON, EXACT = 5000, 8, 1e-8
"""Most steps of a path; most corrections of a step; the correction, as a share of the whole press, that is none."""
CORNER = 1e-6
"""Step round a corner, as a share of the whole press."""
BENT, SHORT = 0.03, 1e-3
"""N by which the key force after a step may be off the straight line of the step before; the step, as a share of the
whole press, that is short enough however the force bends: so felts that begin to press have points enough."""
STRAIGHT, QUICK, EASY = 0.98, 2, 4
"""Least cosine of the turn from one step to the next; corrections up to which the next step is much longer, longer."""
MUCH, MORE, LITTLE = 8.0, 2.0, 1e-5
"""Times as long; steps up to which the next may be much longer: more would leave too few points where a curve bends."""
ARRIVED, BROKEN, ENDLESS, NOWHERE, FALLEN, FULL = 0, 1, 2, 3, 4, 5
"""How a path ends: where it should; without an equilibrium beyond; after too many steps; before it begins; going down,
where the key falls away from the finger; where there is no room for more of it."""
BEGIN, STEP, AGAIN, BEYOND, BEHIND, CORNERED, SOUGHT = 0, 1, 2, 3, 4, 5, 6
"""What a correction is for: the first equilibrium; the next; near a corner its slopes once more (the last turn may have
been before it); whether the path goes on there in the right sense; the direction behind a corner; the equilibrium
there; an event's."""
HERE, TANGENT, AT, GUESS, NORMAL, THERE, AHEAD, NEXT, ONWARD, MOVE, ALONG, CLOSE, SPAN = range(13)
"""Rows of `v`, as long as the unknowns; how many."""
SLIP, FAR, HELD, GONE, NOW, FURTHER, NEXT_SLIP, NEXT_FAR, BUILT, GIVE, SLIPS = range(11)
"""Rows of `w`, as long as the slips; how many."""
BEFORE, AFTER, VALUE, TESTS = 0, 1, 2, 3
"""Rows of `tests`, as long as what is told of events; how many."""
WANTED, MEANWHILE, BRACKETS = 0, 1, 2
"""Rows of `brackets`: of the event that is sought, of the extreme force while others are; how many."""


def noted(table: Kept, place: int, z: Floats, u: Floats, tangent: Floats, extreme: int) -> None:
    """A point of the path as a row: unknowns, slips, direction, whether it is there for an extreme force alone.

    Where a force is flat, its extreme lies no better than the last digits say: no work hangs on such a point.
    """
    n = len(z)
    s = len(u)
    for i in range(n):
        table[place, i] = z[i]
    for i in range(s):
        table[place, n + i] = u[i]
    for i in range(n):
        table[place, n + s + i] = tangent[i]
    table[place, 2 * n + s] = float(extreme)


def in_order(points: Kept, count: int, found: Kept, shares: Floats, ending: int) -> int:
    """The points of the events of a step, as they lie along it, added to the path; how many points it then has.

    The event that ends the path, where it does so, is the last.
    """
    for _ in range(EVENTS):
        event = 0
        for other in range(EVENTS):
            if shares[other] < shares[event]:
                event = other
        if shares[event] > 1.0:
            break
        shares[event] = 2.0
        for j in range(points.shape[1]):
            points[count, j] = found[event, j]
        count += 1
        if event == END and ending == 1:
            break
    return count


def grown(length: float, turns: int) -> float:
    """The step to try after one that took so many turns."""
    if turns <= QUICK and length < LITTLE:
        return min(MUCH * length, LONGEST)
    if turns <= EASY:
        return min(MORE * length, LONGEST)
    return min(length, LONGEST)


def walk(
    rates: Equations,
    slopes: Equations,
    observe: Equations,
    p: Given,
    d: Given,
    x0: int,
    unknown: Places,
    rows: Places,
    slips: Places,
    owner: Places,
    scale: Floats,
    reach: Floats,
    columns: Places,
    wanted: Floats,
    sense: float,
    v: Table,
    w: Table,
    order: Places,
    m: Quick,
    y: Floats,
    out: Floats,
    out_ahead: Floats,
    whole: Table,
    off: Floats,
    off_along: Floats,
    by: Table,
    states: Table,
    row: Table,
    instant: Floats,
    look: Floats,
    tests: Table,
    brackets: Table,
    shares: Floats,
    found: Kept,
    points: Kept,
    counts: Places,
) -> int:
    """Equilibria along a path to its end, into `points`; how it ended.

    The rows HERE and TANGENT of `v`, SLIP and FAR of `w` say where it begins, HERE near an equilibrium; they are used
    up. `counts` takes how many points there are and how many turns were taken. What
    `keyaction.sim.statics.following.follow` is not given is room for the work.
    """
    here, tangent, at, guess, normal = v[HERE], v[TANGENT], v[AT], v[GUESS], v[NORMAL]
    there, ahead, move, along = v[THERE], v[AHEAD], v[MOVE], v[ALONG]
    u, far, held, gone, now, further = w[SLIP], w[FAR], w[HELD], w[GONE], w[NOW], w[FURTHER]
    built, give = w[BUILT], w[GIVE]
    before, after, value = tests[BEFORE], tests[AFTER], tests[VALUE]
    bracket, beside = brackets[WANTED], brackets[MEANWHILE]
    n = len(here) - 1
    code, aim = ENDLESS, BEGIN
    turn, turns, count, steps, event = 0, 0, 0, 0, 0
    length, following, share, turned, slope = 0.0, FIRST, 0.0, 1.0, 0.0
    copied(here, at)
    copied(here, guess)
    copied(tangent, normal)
    copied(u, held)
    copied(far, gone)
    counts[1] = 0
    while steps < MOST:
        counts[1] += 1
        residual(
            rates, slopes, p, d, x0, unknown, rows, slips, owner, scale, reach, sense, at, held, gone, built, give, y,
            out, out_ahead, whole, off, off_along, by, m,
        )  # fmt: skip
        rest = 0.0
        for j in range(n + 1):
            m[n, j] = normal[j]
            rest += normal[j] * (at[j] - guess[j])
        m[n, n + 1] = -rest
        solved(m, order, move, along)
        good = 1
        if aim not in (AGAIN, BEHIND):
            turn += 1
            largest = largest_of(move)
            if largest <= 1.0:
                moved(at, 1.0, move, at)
            if not largest < EXACT:
                if largest <= 1.0 and turn < NEWTON:
                    continue
                good = 0
            if good == 1 and aim == STEP and length < 10 * LITTLE:
                aim = AGAIN
                continue

        # An equilibrium, or none.
        if good == 1:
            size = turned / sqrt(dot(along, along))
            for j in range(n + 1):
                along[j] = size * along[j]
            if aim not in (BEYOND, BEHIND):
                copied(at, there)
                copied(along, ahead)
                slipped(sense, at, held, gone, owner, reach, now, give)
                further_on(sense, at, held, gone, owner, further)
        elif aim in (SOUGHT, BEGIN):
            copied(here, there)
            copied(tangent, ahead)
            copied(u, now)
            copied(far, further)
            if aim == BEGIN:
                code = NOWHERE
                noted(points, 0, there, now, ahead, 0)
                count = 1
                break

        # Is it the next of the path?
        accepted, shorter, afresh = 0, 0, 1
        away = length
        if aim in (STEP, AGAIN):
            turns = turn
            if good == 1 and dot(tangent, ahead) > STRAIGHT:
                accepted = 1
            elif good == 1 and length < 100 * SHORTEST:  # behind a corner it may have been taken in the wrong sense
                aim, afresh = BEYOND, 0
                moved(there, CORNER, ahead, guess)
                copied(ahead, normal)
                copied(now, held)
                copied(further, gone)
            else:
                shorter = 1
        elif aim == BEYOND:
            if good == 1 and dot(along, ahead) > STRAIGHT:
                accepted = 1
            else:
                shorter = 1
        elif aim == BEHIND:
            # A corner of more than a right angle, where a contact or a valve begins to act: the direction behind it is
            # that of the equations a little further on; of its two senses the one in which they hold.
            aim, afresh = CORNERED, 0
            copied(along, normal)
            moved(here, CORNER, normal, guess)
        elif aim == CORNERED:
            if good == 1 and abs(dot(ahead, tangent)) < STRAIGHT:
                accepted = 1
            elif turned > 0.0:
                turned, afresh = -1.0, 0
                moved(here, CORNER * turned, normal, guess)
            else:
                code = BROKEN
                break
        if accepted == 1:
            following = grown(length, turns)
            if aim == CORNERED:
                length, following, turned = CORNER, FIRST, 1.0
        if shorter == 1:
            length /= 2
            away = length
            aim = STEP
            if not length > SHORTEST:
                away = 10 * CORNER
                aim = BEHIND

        # What passes zero on the way to it?
        if accepted == 1 or aim in (SOUGHT, BEGIN):
            events(
                observe, p, d, x0, unknown, slips, owner, scale, reach, columns, wanted, sense, there, now, further,
                ahead, v[CLOSE], built, give, y, states, row, instant, look, value,
            )  # fmt: skip
            bent = 0
            if aim in (STEP, AGAIN) and length > SHORT:
                off_line = value[PRESSED] - before[PRESSED] - slope * length
                if wanted[1] * abs(off_line) > BENT:
                    bent = 1
            if bent == 1:
                length /= 2
            elif aim == SOUGHT:
                seen_beside(beside, share, value[EXTREME])
                if narrowed(bracket, share, value[event], length) == 1:
                    shares[event] = share
                    extreme = 0
                    if event == EXTREME:
                        extreme = 1
                    noted(found, event, there, now, ahead, extreme)
                    event = crossing(before, after, event + 1)
                    if event < EVENTS:
                        share = first_trial(event, before, after, beside, bracket)
                else:
                    share = trial(bracket)
            else:
                copied(there, v[NEXT])
                copied(ahead, v[ONWARD])
                copied(now, w[NEXT_SLIP])
                copied(further, w[NEXT_FAR])
                copied(value, after)
                event = EVENTS
                if aim != BEGIN:
                    for i in range(EVENTS):
                        shares[i] = 2.0
                    bracketed(before[EXTREME], after[EXTREME], beside)
                    event = crossing(before, after, 0)
                    if event < EVENTS:
                        share = first_trial(event, before, after, beside, bracket)
            away = share * length
            if bent == 1:
                away = length
                aim = STEP
            elif event == EVENTS:
                if count + EVENTS + 1 > points.shape[0]:
                    code = FULL
                    break
                ending, ended = 0, 0
                if after[END] >= 0.0:
                    ending = 1
                if aim != BEGIN:
                    if ending == 1 and shares[END] <= 1.0:
                        ended = 1
                    count = in_order(points, count, found, shares, ending)
                    steps += 1
                    slope = (after[PRESSED] - before[PRESSED]) / length
                else:
                    following = FIRST
                if ended == 0:
                    noted(points, count, v[NEXT], w[NEXT_SLIP], v[ONWARD], 0)
                    count += 1
                if ending == 1:
                    code = ARRIVED
                    break
                if aim != BEGIN and sense > 0.0 and after[PRESSED] < 0.0:
                    code = FALLEN
                    break
                copied(v[NEXT], here)
                copied(v[ONWARD], tangent)
                copied(w[NEXT_SLIP], u)
                copied(w[NEXT_FAR], far)
                copied(after, before)
                length = following
                away = length
                aim = STEP
            else:
                aim = SOUGHT

        # What is tried next.
        if afresh == 1:
            moved(here, away, tangent, guess)
            copied(tangent, normal)
            copied(u, held)
            copied(far, gone)
        copied(guess, at)
        turn = 0
    counts[0] = count
    return code


COMPILED = ("noted", "in_order", "grown", "walk")
"""What Numba compiles, in this order."""
