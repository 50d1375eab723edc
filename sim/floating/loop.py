"""Rates of many notes whose levers sit on one rail that moves, in one loop that Numba compiles once for all trains.

The notes' equations come as functions, which know the rail by its place and speed among their parameters. Behind the
states of all notes stand the rail's place, speed and slip in its guides, and three accounts of work: what the load
gave, what the guides' friction and what their damping took.

Half the mass of a rod rides on the lever that it hooks onto, and so goes with the rail as well: each such lever's
acceleration depends on the rail's and the other way round. With K the sum of mass x share x gradient over a lever's
rods and I its inertia, I a_lever + K a = G and (M + sum m share^2) a + sum (K a_lever + S) = Q; solved exactly.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from math import cos, sin

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Places = Sequence[NDArray[np.int64]]
Body = Sequence[Floats]
Rates = Sequence[Callable[..., None]]

AT, OF_P, OF_D = 0, 1, 2
"""Places: where each note's states, parameters and drive begin."""
PLACE, SPEED = 3, 4
"""Parameters that are the rail's place, and its speed."""
WAY, TURN, HOLD, WORK, ENDS = 5, 6, 7, 8, 9
"""Of every lever: its way, its speed, impulse on the rail, account of the rail's work; where its rods begin."""
RAIL, INERTIA, CROSS = 0, 1, 2
"""Body: the rail's figures in the order below; of every lever its own inertia, and room for what couples it."""
ARM, ANGLE, SHARE, MASS = 3, 4, 5, 6
"""Body: of every rod's end on a lever of the rail its arm, angle past square, way per way of the rail, and mass."""
M, LOAD, RATE, AHEAD, BEHIND, STOP, DAMPING, FRICTION, REACH, LAG = 0, 1, 2, 3, 4, 5, 6, 7, 8, 9

STEP = 1e-7
"""Share of a state, or of its scale, by which it is moved for a difference quotient."""


def linked(places: Places, y: Floats, p: Floats) -> None:
    """The rail's place and speed into the parameters of the notes."""
    whereabouts, speeds, first = places[PLACE], places[SPEED], places[AT][-1]
    for k in range(len(whereabouts)):
        p[whereabouts[k]] = y[first]
        p[speeds[k]] = y[first + 1]


def stopped(rail: Floats, place: float) -> float:
    """Force of the end stops towards the load."""
    return float(rail[STOP] * (max(0.0, -rail[BEHIND] - place) - max(0.0, place - rail[AHEAD])))


def rubbing(rail: Floats, speed: float, slip: float) -> float:
    """Dry friction of the guides against the speed: the law of `keyaction.models.algebra.laws.dry_friction`."""
    give = rail[LAG] * (speed - abs(speed) * slip) / (rail[REACH] + rail[LAG] * abs(speed))
    return float(rail[FRICTION] * (slip + give))


def of_rail(places: Places, body: Body, y: Floats, out: Floats) -> None:
    """Rates of the rail and its accounts, when those of the notes stand in `out` for a rail without acceleration."""
    way, turn, hold, work, ends = places[WAY], places[TURN], places[HOLD], places[WORK], places[ENDS]
    rail, inertia, cross = body[RAIL], body[INERTIA], body[CROSS]
    arm, angle, share, mass = body[ARM], body[ANGLE], body[SHARE], body[MASS]
    first = places[AT][-1]
    place, speed, slip = y[first], y[first + 1], y[first + 2]
    load, rubs = rail[LOAD] - rail[RATE] * place, rubbing(rail, speed, slip)
    net = load + stopped(rail, place) - rubs - rail[DAMPING] * speed
    whole = rail[M]
    for k in range(len(turn)):
        about, along, bends, carried = inertia[k], 0.0, 0.0, 0.0
        for j in range(ends[k], ends[k + 1]):
            gradient = arm[j] * cos(y[way[k]] + angle[j])
            about += mass[j] * gradient * gradient
            along += mass[j] * share[j] * gradient
            bends -= mass[j] * share[j] * arm[j] * sin(y[way[k]] + angle[j])
            carried += mass[j] * share[j] * share[j]
        cross[2 * k], cross[2 * k + 1] = along, along / about
        net -= out[hold[k]] + along * out[turn[k]] + bends * y[turn[k]] * y[turn[k]]
        whole += carried - along * along / about
    faster = net / whole
    for k in range(len(turn)):
        out[turn[k]] -= cross[2 * k + 1] * faster
        out[work[k]] -= cross[2 * k] * faster * y[turn[k]]
    out[first], out[first + 1] = speed, faster
    out[first + 2] = (speed - abs(speed) * slip) / rail[REACH]
    out[first + 3], out[first + 4], out[first + 5] = load * speed, rubs * speed, rail[DAMPING] * speed * speed


def together(fills: Rates, places: Places, body: Body, t: float, y: Floats, p: Floats, d: Floats, out: Floats) -> None:
    """All rates."""
    at, of_p, of_d = places[AT], places[OF_P], places[OF_D]
    linked(places, y, p)
    for i in range(len(fills)):
        a, b = at[i], at[i + 1]
        fills[i](t, y[a:b], p[of_p[i] : of_p[i + 1]], d[of_d[i] : of_d[i + 1]], out[a:b])
    of_rail(places, body, y, out)


def slopes(
    fills: Rates,
    places: Places,
    body: Body,
    t: float,
    y: Floats,
    p: Floats,
    d: Floats,
    scale: Floats,
    wide: int,
    band: Floats,
) -> None:
    """Slopes of the rates within a band `wide` above and below the diagonal: ``band[i - j + wide, j]``.

    Those of every note by its own states as if the rail did not speed up, and of the rail by its own; what lies
    between is left out, which a solver corrects. A state without a scale, an account, moves nothing.
    """
    at, of_p, of_d = places[AT], places[OF_P], places[OF_D]
    n, tail = len(y), at[-1]
    now, ahead, moved = np.zeros(n), np.zeros(n), y.copy()
    linked(places, y, p)
    for i in range(len(fills)):
        a, b, fill = at[i], at[i + 1], fills[i]
        own, driven = p[of_p[i] : of_p[i + 1]], d[of_d[i] : of_d[i + 1]]
        fill(t, moved[a:b], own, driven, now[a:b])
        for j in range(a, b):
            if scale[j] == 0.0:
                continue
            step = STEP * max(abs(y[j]), scale[j])
            moved[j] = y[j] + step
            fill(t, moved[a:b], own, driven, ahead[a:b])
            moved[j] = y[j]
            for row in range(a, b):
                band[row - j + wide, j] = (ahead[row] - now[row]) / step
    together(fills, places, body, t, y, p, d, now)
    for j in range(tail, tail + 3):
        step = STEP * max(abs(y[j]), scale[j])
        moved[j] = y[j] + step
        together(fills, places, body, t, moved, p, d, ahead)
        moved[j] = y[j]
        for row in range(tail, n):
            band[row - j + wide, j] = (ahead[row] - now[row]) / step


def watch(watches: Rates, places: Places, i: int, t: Floats, y: Floats, p: Floats, d: Floats, seen: Floats) -> None:
    """Observables of the i-th note at every instant, the rail where it is then: a row each."""
    at, of_p, of_d = places[AT], places[OF_P], places[OF_D]
    own, driven, note = p[of_p[i] : of_p[i + 1]], d[of_d[i] : of_d[i + 1]], watches[i]
    states = np.empty((1, at[i + 1] - at[i]))
    for row in range(len(t)):
        linked(places, y[row], p)
        for j in range(at[i + 1] - at[i]):
            states[0, j] = y[row, at[i] + j]
        note(t[row : row + 1], states, own, driven, seen[row : row + 1])
