"""Rates of many notes that share boxes, in one loop that Numba compiles once for all trains.

The equations of the trains come as functions; `places` and `air` are lists of arrays, in the order below: lists, since
every array that is handed over by itself costs as much as a note's rates. Behind the states of all notes stand pressure
and trunk's flow of every box, and three accounts of work: what the reservoirs gave, what trunks and reservoirs lost,
what the air lost in openings.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from math import sqrt

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Places = Sequence[NDArray[np.int64]]
Air = Sequence[Floats]
Rates = Sequence[Callable[..., None]]

AT, OF_P, OF_D = 0, 1, 2
"""Places: where each note's states, parameters and drive begin."""
LINKS, BOXED = 3, 4
"""Parameters that are pressures of boxes, and which box each is."""
WORKS, STATE, OF_BOX, KIND = 5, 6, 7, 8
"""Each note's account of the wind; each groove's pressure and box; how each box is fed."""
CAP, LEAVING, DOUBLE, SMOOTH = 0, 1, 2, 3
"""Air of grooves: capacity, toes and leak, root of 2 over the density, drop below which flow creeps."""
CAPACITY, INERTANCE, SOURCE, FALL, RESISTANCE = 4, 5, 6, 7, 8
"""Air of boxes."""

STEP = 1e-7
"""Share of a state, or of its scale, by which it is moved for a difference quotient."""


def escaping(area: float, drop: float, double: float, smooth: float) -> float:
    """Flow (m3/s) through toes and leak; `double` is the root of 2 over the density: the law of the grooves."""
    return area * double * drop / sqrt(sqrt(drop * drop + smooth * smooth))


def linked(places: Places, y: Floats, p: Floats) -> None:
    """The boxes' pressures into the parameters of the notes."""
    links, boxed, first = places[LINKS], places[BOXED], places[AT][-1]
    for k in range(len(links)):
        p[links[k]] = y[first + 2 * boxed[k]]


def of_air(places: Places, air: Air, y: Floats, out: Floats) -> None:
    """Rates of boxes and their accounts, when those of the notes stand in `out`.

    What a groove takes less what its pallet sweeps is what fills it and what leaves it.
    """
    works, state, of_box, kind = places[WORKS], places[STATE], places[OF_BOX], places[KIND]
    cap, leaving, double, smooth = air[CAP], air[LEAVING], air[DOUBLE], air[SMOOTH]
    capacity, inertance, source, fall, resistance = (
        air[CAPACITY], air[INERTANCE], air[SOURCE], air[FALL], air[RESISTANCE]
    )  # fmt: skip
    first, boxes = places[AT][-1], len(kind)
    end = first + 2 * boxes
    given = lost = openings = 0.0
    for b in range(boxes):
        out[first + 2 * b] = 0.0  # what is taken from it is summed here
    for g in range(len(state)):
        pressure, box = y[state[g]], y[first + 2 * of_box[g]]
        away = escaping(leaving[g], pressure, double[g], smooth[g])
        net = cap[g] * out[state[g]] + away
        out[first + 2 * of_box[g]] += net
        openings += (box - pressure) * net + pressure * away
    for i in range(len(works)):
        openings -= out[works[i]]
    for b in range(boxes):
        box, flow, taken = y[first + 2 * b], y[first + 2 * b + 1], out[first + 2 * b]
        out[first + 2 * b], out[first + 2 * b + 1] = 0.0, 0.0
        if kind[b] == 0:
            flow = taken
        elif kind[b] == 1:
            flow = (source[b] - box) / fall[b]
        else:
            drag = fall[b] * flow + resistance[b] * abs(flow) * flow
            out[first + 2 * b + 1] = (source[b] - drag - box) / inertance[b]
        if kind[b] != 0:
            out[first + 2 * b] = (flow - taken) / capacity[b]
        given += source[b] * flow
        lost += fall[b] * flow * flow + resistance[b] * abs(flow) * flow * flow
    out[end], out[end + 1], out[end + 2] = given, lost, openings


def together(fills: Rates, places: Places, air: Air, t: float, y: Floats, p: Floats, d: Floats, out: Floats) -> None:
    """All rates."""
    at, of_p, of_d = places[AT], places[OF_P], places[OF_D]
    linked(places, y, p)
    for i in range(len(fills)):
        a, b = at[i], at[i + 1]
        fills[i](t, y[a:b], p[of_p[i] : of_p[i + 1]], d[of_d[i] : of_d[i + 1]], out[a:b])
    of_air(places, air, y, out)


def slopes(
    fills: Rates,
    places: Places,
    air: Air,
    t: float,
    y: Floats,
    p: Floats,
    d: Floats,
    scale: Floats,
    wide: int,
    band: Floats,
) -> None:
    """Slopes of the rates within a band `wide` above and below the diagonal: ``band[i - j + wide, j]``.

    Those of every note by its own states, and of boxes by theirs; between note and box they are left out, which a
    solver corrects. A state without a scale, an account, moves nothing.
    """
    at, of_p, of_d, boxes = places[AT], places[OF_P], places[OF_D], len(places[KIND])
    n, tail = len(y), at[-1]
    now, ahead, moved = np.zeros(n), np.zeros(n), y.copy()
    together(fills, places, air, t, y, p, d, now)
    for i in range(len(fills)):
        a, b, fill = at[i], at[i + 1], fills[i]
        own, driven = p[of_p[i] : of_p[i + 1]], d[of_d[i] : of_d[i + 1]]
        for j in range(a, b):
            if scale[j] == 0.0:
                continue
            step = STEP * max(abs(y[j]), scale[j])
            moved[j] = y[j] + step
            fill(t, moved[a:b], own, driven, ahead[a:b])
            moved[j] = y[j]
            for row in range(a, b):
                band[row - j + wide, j] = (ahead[row] - now[row]) / step
    for j in range(tail, tail + 2 * boxes):
        step = STEP * max(abs(y[j]), scale[j])
        moved[j] = y[j] + step
        together(fills, places, air, t, moved, p, d, ahead)
        moved[j] = y[j]
        for row in range(tail, n):
            if abs(row - j) <= wide:
                band[row - j + wide, j] = (ahead[row] - now[row]) / step


def watch(watches: Rates, places: Places, i: int, t: Floats, y: Floats, p: Floats, d: Floats, seen: Floats) -> None:
    """Observables of the i-th note at every instant, its boxes at their pressures: a row each."""
    at, of_p, of_d = places[AT], places[OF_P], places[OF_D]
    own, driven, note = p[of_p[i] : of_p[i + 1]], d[of_d[i] : of_d[i + 1]], watches[i]
    states = np.empty((1, at[i + 1] - at[i]))
    for row in range(len(t)):
        linked(places, y[row], p)
        for j in range(at[i + 1] - at[i]):
            states[0, j] = y[row, at[i] + j]
        note(t[row : row + 1], states, own, driven, seen[row : row + 1])
