"""A bar in bending and shear as a row of finite elements: another way to what the program has in closed form."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np


def _element(long: float, bending: float, shearing: float) -> np.ndarray:
    """Stiffness of a Timoshenko beam element; exact for forces at its ends."""
    p = 12 * bending / (shearing * long**2)
    row = np.array(
        [
            [12, 6 * long, -12, 6 * long],
            [6 * long, (4 + p) * long**2, -6 * long, (2 - p) * long**2],
            [-12, -6 * long, 12, -6 * long],
            [6 * long, (2 - p) * long**2, -6 * long, (4 + p) * long**2],
        ]
    )
    return bending / (long**3 * (1 + p)) * row


def deflections(
    places: Sequence[float],
    bending: float,
    shearing: float,
    held: Sequence[int],
    forces: Mapping[int, float],
    clamped: Sequence[int] = (),
) -> np.ndarray:
    """Deflection (m) at every place of a bar.

    Parameters
    ----------
    places : sequence of float
        Nodes along the bar, rising, m.
    bending, shearing : float
        E I (N m2), and G A over the form factor (N).
    held : sequence of int
        Nodes that cannot move.
    forces : mapping of int to float
        N at nodes.
    clamped : sequence of int
        Nodes that cannot turn.
    """
    n = len(places)
    stiffness, load = np.zeros((2 * n, 2 * n)), np.zeros(2 * n)
    for i in range(n - 1):
        here = slice(2 * i, 2 * i + 4)
        stiffness[here, here] += _element(places[i + 1] - places[i], bending, shearing)
    for node, force in forces.items():
        load[2 * node] += force
    fixed = {2 * node for node in held} | {2 * node + 1 for node in clamped}
    free = [i for i in range(2 * n) if i not in fixed]
    found = np.zeros(2 * n)
    found[free] = np.linalg.solve(stiffness[np.ix_(free, free)], load[free])
    return found[::2]


def pulled_board(length: float, at: float, bending: float, shearing: float, parts: int = 400) -> float:
    """Way (m) at the place of a pull of 1 N on a board hinged at one end, against an even pressure over its length.

    Its turn is the one that the pressure works by: the pressure's mean way over its mean distance from the hinge.
    """
    node = max(round(parts * at / length), 1)
    places = np.linspace(0.0, at, node + 1)
    if node < parts:
        places = np.append(places, np.linspace(at, length, parts - node + 1)[1:])
    half = np.diff(places) / 2
    widths = np.append(half, 0.0) + np.append(0.0, half)
    pressure = -widths / widths.dot(places) * at
    forces = {i: float(one) for i, one in enumerate(pressure)}
    forces[node] += 1.0
    way = deflections(places, bending, shearing, (0,), forces, (0,))
    return float(way[node] - widths.dot(way) / widths.dot(places) * at)
