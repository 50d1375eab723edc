"""Stiffness over mass of many designs at their states, in plain loops, which Numba compiles once for all trains."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


def stiffness_by_mass(
    slopes: Callable[..., None], states: Floats, parameters: Floats, drives: Floats, bodies: int, out: Floats
) -> None:
    """Fill in how much a way of each coordinate takes from the acceleration of each, of every design.

    Parameters
    ----------
    slopes : function (t, y, p, d, out)
        The train's Jacobian.
    states, parameters, drives : tables
        A row for each design.
    bodies : int
        How many coordinates there are; their ways stand first in a state, their speeds after them.
    out : (N, bodies, bodies) array
    """
    size = states.shape[1]
    whole = np.empty((size, size))
    for i in range(len(states)):
        whole[:] = 0.0
        slopes(0.0, states[i], parameters[i], drives[i], whole)
        for j in range(bodies):
            for k in range(bodies):
                out[i, j, k] = -whole[bodies + j, k]
