"""What is read from the two ways of a slow press, in plain loops: for many designs, and for other machines' compilers.

Of trains with one pallet and one key. The definitions are those of `keyaction.sim.statics.press` and of the quantities;
a test holds both together. Those read a note with NumPy, which needs no compiler and is no slower to a player.
"""

from __future__ import annotations

from math import nan

from keyaction.sim.statics.feel_curve import (
    apart,
    highest,
    lowest_between,
    mean_force,
    met,
    place_of,
    value_at,
    work_along,
)
from keyaction.sim.statics.linear import Floats, Places, Table

JUST_PAST = 1e-3
"""m of key travel beyond the pluck point within which the pluck force is sought: well before the bottom felt."""
ON_FELT = 1e-7
"""m from the bottom felt's surface within which a way that ends there is on it: ten times what a path is off."""

KEY_TRAVEL, KEY_FORCE, GAP, LIFT, PRESSURE, ENERGY, PAD, BOTTOM = 0, 1, 2, 3, 4, 5, 6, 7
"""What stands in `columns`: numbers of observables."""
RODS, STAGES, BODIES, LISTED = 8, 9, 10, 11
"""After them how many rods there are up to the pallet, stages, coordinates; then the rods' forces, and the stages."""
REST, STIFFNESS, TAKEN_UP, LOADED = 0, 1, 2, 3
"""What stands in `given`: key travel at rest (m), the finger's stiffness (N/m), what a rod takes up before it carries
(N), and the share of the finger's way to the pluck at which vibrations are asked for."""
GIVEN = 4
"""How many figures are given."""
ROWS = 4
"""Rows of scratch, each as long as the longer way."""

FIGURES = (
    "key_dip", "lost_motion", "pluck_point", "pluck_force", "follow_through_force", "friction_at_key", "loop_work",
    "stored_energy", "steady_lift", "held_pressure", "rest_gap", "rest_pressure", "widest_gap", "left_gap",
    "left_pressure", "last_stage", "bottom_point",
)  # fmt: skip
"""What stands first in `out`, SI: gaps and pressures with the key at rest, held down and let go. After them of each
coordinate its largest absolute value on the way down, and its value at rest; then the state at a share of the way to
the pluck, and the one in which the finger leaves the key."""
DIP, LOST, PLUCK_POINT, PLUCK, FOLLOW, FRICTION, LOOP, STORED, STEADY = 0, 1, 2, 3, 4, 5, 6, 7, 8
HELD_PRESSURE, REST_GAP, REST_PRESSURE, WIDEST, LEFT_GAP, LEFT_PRESSURE, STAGE, FELT = 9, 10, 11, 12, 13, 14, 15, 16
READ = 17
"""Their places, and how many they are."""


def carries_from(seen: Table, count: int, rod: int, columns: Places, given: Floats) -> float:
    """Key travel from which on a rod carries: 0 if at once; that of the last of so many equilibria if never."""
    travel = columns[KEY_TRAVEL]
    level = seen[0, rod] + given[TAKEN_UP]
    i = count - 1
    while i >= 0 and not seen[i, rod] < level:
        i -= 1
    if i < 0:
        return 0.0
    if i + 1 == count:
        return float(seen[i, travel] - given[REST]) if i > 0 else 0.0
    if seen[i + 1, rod] == level:
        return float(seen[i + 1, travel] - given[REST])
    slope = (seen[i + 1, travel] - seen[i, travel]) / (seen[i + 1, rod] - seen[i, rod])
    return float(slope * (level - seen[i, rod]) + (seen[i, travel] - given[REST]))


def lost_motion(seen: Table, count: int, pluck: float, columns: Places, given: Floats) -> float:
    """Key travel from which on, up to the pluck, every rod carries; NaN without rods or a pluck."""
    if not pluck >= 0.0 or columns[RODS] == 0:
        return nan
    before = int(pluck) + 1
    if before - 1 < pluck:
        before += 1
    most = -1.0
    for k in range(columns[RODS]):
        carries = carries_from(seen, min(before, count), columns[LISTED + k], columns, given)
        most = max(most, carries)
    return most


def last_stage(seen: Table, count: int, pluck: float, columns: Places, given: Floats) -> float:
    """Key travel of the pluck, or where a further stage begins after it; NaN if the pallet does not open."""
    if not pluck >= 0.0:
        return nan
    found = float(value_at(seen, count, columns[KEY_TRAVEL], pluck) - given[REST])
    for k in range(columns[STAGES]):
        place = place_of(seen, count, columns[LISTED + columns[RODS] + k], 0.0)
        if place >= 0.0:
            begins = value_at(seen, count, columns[KEY_TRAVEL], place) - given[REST]
            found = max(found, begins)
    return found


def bottom_point(seen: Table, count: int, columns: Places, given: Floats) -> float:
    """Key travel at which the key touches the bottom felt, m; NaN if it never does."""
    place = place_of(seen, count, columns[BOTTOM], 0.0)
    if place >= 0.0:
        return float(value_at(seen, count, columns[KEY_TRAVEL], place) - given[REST])
    if seen[count - 1, columns[BOTTOM]] > -ON_FELT:
        return float(seen[count - 1, columns[KEY_TRAVEL]] - given[REST])
    return nan


def touch(work: Floats, room: int, down: int, up: int, up_end: float, stage: float, bottom: float, out: Floats) -> None:
    """Pluck force, follow-through force and friction, of `down` and `up` places that a finger meets on either way.

    `up_end` is the key travel at the end of the way up.
    """
    if not stage > -1.0:
        return
    felt = bottom > -1.0
    past = stage + JUST_PAST
    near = min(past, bottom)
    most = highest(work, room, down, max(stage, near) if felt else past)
    if most >= 0:
        out[PLUCK] = work[room + most]
    if not felt:
        return
    most = highest(work, room, down, near)
    start = max(stage, work[max(most, 0)])
    if start <= bottom:
        out[FOLLOW] = lowest_between(work, room, down, start, bottom)
    quarter = (bottom - stage) / 4
    if not up_end > stage + quarter:
        start = min(stage + quarter, bottom - quarter)
        end = max(stage + quarter, bottom - quarter)
        pressed = mean_force(work, room, 0, 1, down, start, end)
        out[FRICTION] = (pressed - mean_force(work, room, 2 * room + up - 1, -1, up, start, end)) / 2


def stored_energy(seen: Table, count: int, pluck: float, columns: Places, given: Floats) -> float:
    """Rise of the stored energy from rest to the pluck, the finger pad's own left out; NaN without a pluck."""
    if not pluck >= 0.0:
        return nan
    i = min(int(pluck), count - 1)
    j = min(i + 1, count - 1)
    here = own_energy(seen, i, columns, given)
    there = own_energy(seen, j, columns, given)
    return float((there - here) * (pluck - i) + here - own_energy(seen, 0, columns, given))


def own_energy(seen: Table, i: int, columns: Places, given: Floats) -> float:
    """Stored energy of the train without the finger's pad, J."""
    pad = max(seen[i, columns[PAD]], 0.0)
    return float(seen[i, columns[ENERGY]] - given[STIFFNESS] * (pad * pad) / 2)


def ends(seen: Table, count: int, up_seen: Table, up_count: int, columns: Places, given: Floats, out: Floats) -> None:
    """What is read at the ends of both ways, and the widest gap of the way down."""
    gap = columns[GAP]
    lift = columns[LIFT]
    pressure = columns[PRESSURE]
    last = count - 1
    out[DIP] = seen[last, columns[KEY_TRAVEL]] - given[REST]
    if seen[last, gap] > 0.0:
        out[STEADY] = seen[last, lift] - seen[0, lift] + seen[0, gap]
    out[HELD_PRESSURE] = seen[last, pressure]
    out[REST_GAP] = seen[0, gap]
    out[REST_PRESSURE] = seen[0, pressure]
    widest = seen[0, gap]
    for i in range(count):
        widest = max(widest, seen[i, gap])
    out[WIDEST] = widest
    out[LEFT_GAP] = up_seen[up_count - 1, gap]
    out[LEFT_PRESSURE] = up_seen[up_count - 1, pressure]


def loaded_state(finger: Floats, states: Table, count: int, way: float, first: int, out: Floats) -> None:
    """The state with the finger at a place of its way (m), among those that it meets going on."""
    low = -1
    high = -1
    furthest = finger[0]
    for i in range(count):
        if finger[i] >= furthest:
            furthest = finger[i]
            if finger[i] > way:
                high = i
                break
            low = i
    for k in range(states.shape[1]):
        if low < 0:
            out[first + k] = states[0, k]
        elif high < 0 or finger[low] == way:
            out[first + k] = states[low, k]
        else:
            slope = (states[high, k] - states[low, k]) / (finger[high] - finger[low])
            out[first + k] = slope * (way - finger[low]) + states[low, k]


def turns(states: Table, count: int, bodies: int, first: int, out: Floats) -> None:
    """Of each coordinate its largest absolute value along the path, then its value at rest."""
    for k in range(bodies):
        widest = 0.0
        for i in range(count):
            widest = max(widest, abs(states[i, k]))
        out[first + k] = widest
        out[first + bodies + k] = states[0, k]


def read_press(
    down_finger: Floats,
    down_states: Table,
    down_seen: Table,
    down_extreme: Floats,
    down_count: int,
    up_finger: Floats,
    up_states: Table,
    up_seen: Table,
    up_extreme: Floats,
    up_count: int,
    columns: Places,
    given: Floats,
    work: Floats,
    out: Floats,
) -> None:
    """All that is read from a press: `FIGURES`, widest turns, rest, the loaded state, the state that is left.

    Parameters
    ----------
    down_finger, up_finger : arrays
        The finger's way along each path, m.
    down_states, up_states, down_seen, up_seen : tables
        States and observables along them.
    down_extreme, up_extreme : arrays
        1 where an equilibrium is there for an extreme force alone, else 0.
    down_count, up_count : int
        How many equilibria each has; without any all is NaN.
    columns, given : arrays
        What stands where, and what is known of the design; see above.
    work : array
        Scratch, `ROWS` times the larger count.
    out : array
        `READ` figures, two for each coordinate, two for each state.
    """
    for i in range(len(out)):
        out[i] = nan
    if down_count < 1 or up_count < 1:
        return
    travel = columns[KEY_TRAVEL]
    force = columns[KEY_FORCE]
    rest = given[REST]
    room = max(down_count, up_count)
    down = met(down_finger, down_seen, down_extreme, down_count, 1.0, 1, travel, force, rest, work, 0, room)
    down = apart(work, down, room)
    pressed = work_along(work, down, room)
    up = met(up_finger, up_seen, up_extreme, up_count, -1.0, 1, travel, force, rest, work, 0, room)
    up = apart(work, up, room)
    out[LOOP] = pressed + work_along(work, up, room)
    down = met(down_finger, down_seen, down_extreme, down_count, 1.0, 0, travel, force, rest, work, 0, room)
    up = met(up_finger, up_seen, up_extreme, up_count, -1.0, 0, travel, force, rest, work, 2 * room, room)
    pluck = place_of(down_seen, down_count, columns[GAP], 0.0)
    out[LOST] = lost_motion(down_seen, down_count, pluck, columns, given)
    out[PLUCK_POINT] = value_at(down_seen, down_count, travel, pluck) - rest
    out[STORED] = stored_energy(down_seen, down_count, pluck, columns, given)
    out[STAGE] = last_stage(down_seen, down_count, pluck, columns, given)
    out[FELT] = bottom_point(down_seen, down_count, columns, given)
    ends(down_seen, down_count, up_seen, up_count, columns, given, out)
    up_end = up_seen[up_count - 1, travel] - rest
    touch(work, room, down, up, up_end, out[STAGE], out[FELT], out)
    bodies = columns[BODIES]
    turns(down_states, down_count, bodies, READ, out)
    first = READ + 2 * bodies
    size = down_states.shape[1]
    if pluck >= 0.0:
        i = min(int(pluck), down_count - 1)
        j = min(i + 1, down_count - 1)
        there = (down_finger[j] - down_finger[i]) * (pluck - i) + down_finger[i]
        loaded_state(
            down_finger, down_states, down_count,
            down_finger[0] + given[LOADED] * (there - down_finger[0]), first, out,
        )  # fmt: skip
    for k in range(size):
        out[first + size + k] = up_states[up_count - 1, k]


COMPILED = (
    "carries_from", "lost_motion", "last_stage", "bottom_point", "touch", "own_energy", "stored_energy", "ends",
    "loaded_state", "turns", "read_press",
)  # fmt: skip
"""What is compiled, in this order."""
