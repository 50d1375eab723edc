"""A feel curve in plain loops: what a finger meets that only goes on, work under it, forces and places on it.

For many designs, and for other machines' compilers: written in little of the language, with arrays that are given,
numbers, loops, and one result. Rows of `work`, each `room` long, hold key travel and force from `first` on.
"""

from __future__ import annotations

from math import nan, sqrt

from keyaction.sim.statics.linear import Floats, Table

WAY, FORCE = 0.01, 1.0
"""m and N that count alike along a feel curve: a key's whole way, and about its pluck."""
SAME = 1e-6
"""Way along it within which two places are one: between places beside an event that is found to 1e-10 the slope is
noise, which the last digits of a rest would carry on into the work of a loop."""
FINER = 8
"""Points for each equilibrium, of the smooth curve under which work is counted."""
LINE_SQUARE, LINE_CUBE = 1 / 3 + 1 / (6 * FINER**2), 1 / 4 + 1 / (4 * FINER**2)
SQUARE_CUBE = 2 / 5 + 1 / (6 * FINER**2) - 1 / (15 * FINER**4)
"""Trapezoids of t**2 over t, of t**3 over t, of t**3 over t**2, from 0 to 1 with so many steps."""
COMPARED = 101
"""Key travels at which the forces down and up are compared for friction."""


def place_of(seen: Table, count: int, column: int, level: float) -> float:
    """Where along a path an observable first passes a level, as a number of equilibria; NaN if it never does."""
    for i in range(count - 1):
        here = seen[i, column] - level
        ahead = seen[i + 1, column] - level
        if here * ahead <= 0.0:
            step = ahead - here
            if step == 0.0:
                return float(i)
            return float(i - here / step)
    return nan


def value_at(seen: Table, count: int, column: int, place: float) -> float:
    """An observable at a place along the path; NaN at NaN."""
    if not place >= 0.0:
        return nan
    i = int(place)
    if i >= count - 1:
        return float(seen[count - 1, column])
    return float((seen[i + 1, column] - seen[i, column]) * (place - i) + seen[i, column])


def met(
    finger: Floats,
    seen: Table,
    extreme: Floats,
    count: int,
    sense: float,
    landings: int,
    travel: int,
    force: int,
    rest: float,
    work: Floats,
    first: int,
    room: int,
) -> int:
    """Key travel from `rest` and force that a finger meets which only goes on, into two rows; how many they are.

    The other equilibria lie within a snap. With `landings` (0 or 1) the place is met too where the finger, having
    jumped, lands between two of them, and equilibria that are there for an extreme force alone are left out, but where
    it jumps. `travel` and `force` are numbers of observables.
    """
    k = 0
    last = 0
    left_out = 0
    furthest = sense * finger[0]
    for i in range(count):
        if sense * finger[i] >= furthest:
            furthest = sense * finger[i]
            if landings == 1 and i > last + 1:
                if left_out == 1:
                    work[first + k] = seen[last, travel] - rest
                    work[first + room + k] = seen[last, force]
                    k += 1
                place = i - 1 + (finger[last] - finger[i - 1]) / (finger[i] - finger[i - 1])
                work[first + k] = value_at(seen, count, travel, place) - rest
                work[first + room + k] = value_at(seen, count, force, place)
                k += 1
            left_out = 0
            if landings == 1 and extreme[i] > 0.0:
                left_out = 1
            else:
                work[first + k] = seen[i, travel] - rest
                work[first + room + k] = seen[i, force]
                k += 1
            last = i
    return k


def apart(work: Floats, count: int, room: int) -> int:
    """Leave out of a curve what is in one place, and fill a third row with the way along it; how many are left."""
    k = 1
    along = 0.0
    before_travel = work[0]
    before_force = work[room]
    work[2 * room] = 0.0
    for i in range(1, count):
        travel = work[i]
        force = work[room + i]
        x = (travel - before_travel) / WAY
        y = (force - before_force) / FORCE
        further = along + sqrt(x * x + y * y)
        if further - along > SAME:
            work[k] = travel
            work[room + k] = force
            work[2 * room + k] = further
            k += 1
        along = further
        before_travel = travel
        before_force = force
    return k


def inner_slope(h: float, next_h: float, slope: float, next_slope: float) -> float:
    """Slope of a monotone cubic curve at a point, from the two steps beside it and the chords' slopes there.

    See Fritsch and Carlson, "Monotone piecewise cubic interpolation", SIAM J. Numer. Anal. 17 (1980).
    """
    both = slope * next_slope
    if both <= 0.0:
        return 0.0
    w = 2 * next_h + h
    v = next_h + 2 * h
    return (w + v) * both / (w * next_slope + v * slope)


def end_slope(h: float, next_h: float, slope: float, next_slope: float) -> float:
    """Slope at an end of such a curve: that of a parabola, bounded so that the curve stays monotone."""
    found = ((2 * h + next_h) * slope - h * next_slope) / (h + next_h)
    if found * slope <= 0.0:
        return 0.0
    if slope * next_slope <= 0.0 and abs(found) > 3 * abs(slope):
        return 3 * slope
    return found


def work_along(work: Floats, count: int, room: int) -> float:
    """Force times way under the smooth curve through points that `apart` left, J.

    What trapezoids of `FINER` places a step give, added up beforehand. That of two powers and of the same two exchanged
    are one together, and those of a power with itself a half.
    """
    if count < 2:
        return 0.0
    total = 0.0
    before = 0.0
    travel_before = 0.0
    force_before = 0.0
    h = work[2 * room + 1] - work[2 * room]
    travel = work[1] - work[0]
    force = work[room + 1] - work[room]
    travel_slope = travel / h
    force_slope = force / h
    for i in range(1, count):
        chord = travel / h
        force_chord = force / h
        next_h = 0.0
        next_travel = 0.0
        next_force = 0.0
        next_travel_slope = chord
        next_force_slope = force_chord
        if i + 1 < count:
            next_h = work[2 * room + i + 1] - work[2 * room + i]
            next_travel = work[i + 1] - work[i]
            next_force = work[room + i + 1] - work[room + i]
            next_travel_slope = inner_slope(h, next_h, chord, next_travel / next_h)
            next_force_slope = inner_slope(h, next_h, force_chord, next_force / next_h)
            if i == 1:
                travel_slope = end_slope(h, next_h, chord, next_travel / next_h)
                force_slope = end_slope(h, next_h, force_chord, next_force / next_h)
        elif count > 2:
            next_travel_slope = end_slope(h, before, chord, travel_before / before)
            next_force_slope = end_slope(h, before, force_chord, force_before / before)
        line = h * travel_slope
        cube = line + h * next_travel_slope - 2 * travel
        square = travel - line - cube
        force_line = h * force_slope
        force_cube = force_line + h * next_force_slope - 2 * force
        force_square = force - force_line - force_cube
        total += travel * (work[room + i - 1] + force / 2)
        total += (LINE_SQUARE - 0.5) * (line * force_square - square * force_line)
        total += (LINE_CUBE - 0.5) * (line * force_cube - cube * force_line)
        total += (SQUARE_CUBE - 0.5) * (square * force_cube - cube * force_square)
        before = h
        travel_before = travel
        force_before = force
        h = next_h
        travel = next_travel
        force = next_force
        travel_slope = next_travel_slope
        force_slope = next_force_slope
    return total


def mean_force(work: Floats, room: int, here: int, onward: int, count: int, start: float, end: float) -> float:
    """Mean key force at evenly spaced key travels of what `met` filled in, N.

    `here` is the place of the least travel, `onward` (1 or -1) says where the next one stands.
    """
    step = (end - start) / (COMPARED - 1)
    total = 0.0
    left = count - 1
    for k in range(COMPARED):
        x = start + k * step
        while left > 0 and work[here + onward] <= x:
            here += onward
            left -= 1
        if left == 0 or x <= work[here]:
            total += work[room + here]
        else:
            ahead = here + onward
            slope = (work[room + ahead] - work[room + here]) / (work[ahead] - work[here])
            total += slope * (x - work[here]) + work[room + here]
    return total / COMPARED


def highest(work: Floats, room: int, count: int, end: float) -> int:
    """Which of what `met` filled in has the highest key force up to a key travel; -1 where none is."""
    found = -1
    for i in range(count):
        if work[i] <= end and (found < 0 or work[room + i] > work[room + found]):
            found = i
    return found


def force_at(work: Floats, room: int, count: int, x: float) -> float:
    """Key force at a key travel, N, of a way down that `met` filled in."""
    i = 0
    while i + 1 < count and work[i + 1] <= x:
        i += 1
    if i + 1 == count or x <= work[i]:
        return float(work[room + i])
    slope = (work[room + i + 1] - work[room + i]) / (work[i + 1] - work[i])
    return float(slope * (x - work[i]) + work[room + i])


def lowest_between(work: Floats, room: int, count: int, start: float, end: float) -> float:
    """Lowest key force between two key travels, N, of a way down that `met` filled in; both ends are of it."""
    lowest = min(force_at(work, room, count, start), force_at(work, room, count, end))
    for i in range(count):
        if work[i] > start and work[i] < end:
            lowest = min(lowest, work[room + i])
    return float(lowest)


COMPILED = (
    "place_of", "value_at", "met", "apart", "inner_slope", "end_slope", "work_along", "mean_force", "highest",
    "force_at", "lowest_between",
)  # fmt: skip
"""What is compiled, in this order."""
