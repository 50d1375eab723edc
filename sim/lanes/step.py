"""Fastest vibration of a train from its masses and stiffnesses, and the time step that it allows."""

from __future__ import annotations

from functools import lru_cache
from typing import Any

import numpy as np
import sympy as sp

from keyaction.models.algebra.laws import Felt
from keyaction.models.train.equations import derived
from keyaction.models.train.structure import Structure
from keyaction.sim.motion.integrate import Floats

SHARE = 0.75
"""Step times fastest angular frequency. The leapfrog is stable up to 2; its phase error is a 24th of the square."""
LONGEST, SHORTEST = 150e-6, 5e-6
"""s: bounds of the step, whatever the train."""
FELT_SQUEEZE = 0.5e-3
"""m of squeeze at which a felt's stiffness is taken."""


@lru_cache(maxsize=32)
def _matrices(structure: Structure) -> tuple[Any, Any]:
    """Numpy functions of the parameters: inertias (n) and stiffness matrix (n, n) of the train, all taut, at rest."""
    system = derived(structure)
    q = [c.q for c in system.coordinates]
    zero = dict.fromkeys(q, 0)
    n = len(q)
    index = {s: i for i, s in enumerate(q)}
    stiff = sp.zeros(n, n)
    for element in system.elements:
        if element.kind == "finger":
            continue
        slope = [sp.S.Zero] * n
        for port, sign in element.ends:
            slope[index[port.coordinate.q]] += sign * port.gradient.subs(zero)
        k = (
            sp.Rational(3, 2) * element.law.k * sp.sqrt(FELT_SQUEEZE)
            if isinstance(element.law, Felt)
            else element.law.k
        )
        for i in range(n):
            for j in range(n):
                stiff[i, j] += k * slope[i] * slope[j]
    params = [p.symbol for p in system.params]
    inertias = [system.mass[i, i].subs(zero) for i in range(n)]
    return sp.lambdify([params], inertias, "numpy", cse=True), sp.lambdify(
        [params], [list(stiff.row(i)) for i in range(n)], "numpy", cse=True
    )


def fastest(structure: Structure, parameters: Floats) -> Floats:
    """Highest angular frequency (rad/s) of each design, every rod taut and every felt squeezed by half a millimetre.

    Parameters
    ----------
    parameters : (N, np) array

    Returns
    -------
    (N,) array
    """
    inertias, stiffness = _matrices(structure)
    count = len(parameters)
    columns = list(np.asarray(parameters).T)
    m = np.stack([np.broadcast_to(row, (count,)) for row in inertias(columns)], axis=1)
    k = np.stack([np.stack([np.broadcast_to(x, (count,)) for x in row], axis=1) for row in stiffness(columns)], axis=1)
    scale = 1 / np.sqrt(m)
    return np.sqrt(np.linalg.eigvalsh(k * scale[:, :, None] * scale[:, None, :])[:, -1])


def longest_step(structure: Structure, parameters: Floats) -> float:
    """Time step (s) for a batch: a set share of the shortest vibration of its stiffest design, rounded down to 1 us."""
    step = SHARE / float(np.max(fastest(structure, parameters)))
    return float(np.clip(np.floor(step * 1e6) * 1e-6, SHORTEST, LONGEST))
