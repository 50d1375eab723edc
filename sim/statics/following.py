"""A path of equilibria in arrays of its own, for Numba: room for the loop of `keyaction.sim.statics.path`."""

from __future__ import annotations

import numpy as np

from keyaction.sim.statics.equilibria import Equations, placed
from keyaction.sim.statics.events import BRACKET, EVENTS
from keyaction.sim.statics.linear import Floats, Places, Table, copied
from keyaction.sim.statics.path import BRACKETS, FAR, HERE, SLIP, SLIPS, SPAN, TANGENT, TESTS, walk

ROOM = 2048
"""Points for which there is room at first."""


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
    columns: Places,
    wanted: Floats,
    sense: float,
    z: Floats,
    u: Floats,
    far: Floats,
    tangent: Floats,
    room: int,
) -> tuple[int, Table, Table, Table, Table, Table, Floats]:
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
    places : (3,) int array
        Number of states; place of the finger's way in the drive; number of observables.
    columns : (5,) int array
        Among the observables gap, bottom felt, finger's pad, key force, and one that is sought (-1 for none).
    wanted : (3,) array
        Dip force (N); stiffness (N/m) that turns the bottom felt's squeeze into a force; the level of what is sought,
        at which the path then ends.
    sense : float
        +1 down, -1 up.
    z, u, far, tangent : arrays
        Where it begins: `z` near an equilibrium.
    room : int
        Points for which there is room.

    Returns
    -------
    code, (N, n + 1), (N, s), (N, n + 1), (N, states), (N, observables), (N,)
        How it ended (see `keyaction.sim.statics.path`); z, u, tangent along the path; states and what is seen there;
        1 where a point is there for an extreme force alone, else 0.
    """
    n, s, size, x0 = len(z), len(u), places[0], places[1]
    v, w, order, m = np.empty((SPAN, n)), np.empty((SLIPS, s)), np.empty(n, np.int64), np.empty((n, n + 1))
    y, out, out_ahead, whole = np.zeros(size), np.zeros(size), np.zeros(size), np.zeros((size, size))
    off, off_along, by = np.empty(n - 1), np.empty(n - 1), np.empty((n - 1, n - 1 + s))
    states, row, instant, look = np.empty((1, size)), np.zeros((1, places[2])), np.zeros(1), np.empty(5)
    tests, brackets, shares = np.empty((TESTS, EVENTS + 1)), np.empty((BRACKETS, BRACKET)), np.full(EVENTS, 2.0)
    found, counts = np.empty((EVENTS, 2 * n + s + 1)), np.zeros(2, np.int64)
    points = np.empty((room, 2 * n + s + 1))
    copied(z, v[HERE])
    copied(tangent, v[TANGENT])
    copied(u, w[SLIP])
    copied(far, w[FAR])
    code = walk(
        rates, slopes, observe, p, d, x0, unknown, rows, slips, owner, scale, reach, columns, wanted, sense, v, w,
        order, m, y, out, out_ahead, whole, off, off_along, by, states, row, instant, look, tests, brackets, shares,
        found, points, counts,
    )  # fmt: skip
    count = counts[0]
    zs, us, tangents = np.empty((count, n)), np.empty((count, s)), np.empty((count, n))
    all_states, seen, extreme = np.zeros((count, size)), np.empty((count, places[2])), np.empty(count)
    for i in range(count):
        extreme[i] = points[i, 2 * n + s]
        for j in range(n):
            zs[i, j], tangents[i, j] = points[i, j], points[i, n + s + j]
        for j in range(s):
            us[i, j] = points[i, n + j]
        placed(zs[i], us[i], unknown, slips, scale, all_states[i])
        d[x0] = zs[i, n - 1] * scale[n - 1]
        copied(all_states[i], states[0])
        observe(instant, states, p, d, row)
        copied(row[0], seen[i])
    return code, zs, us, tangents, all_states, seen, extreme


COMPILED = ("follow",)
"""What Numba compiles."""
