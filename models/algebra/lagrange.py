"""Lagrange's equations of a system of coordinates from its kinetic energy."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import sympy as sp

Expr = Any


def lagrange(kinetic: Sequence[Expr], q: Sequence[Expr], v: Sequence[Expr]) -> tuple[Any, list[Expr]]:
    """Mass matrix and inertia forces: ``M a + h = Q``.

    Parameters
    ----------
    kinetic : sequence of expressions
        The kinetic energy as a list of terms (kept apart so that each derivative stays small).
    q, v : sequences of symbols
        Coordinates and their speeds, n of each.

    Returns
    -------
    mass : sympy.Matrix, shape (n, n)
    inertia_forces : list of n expressions
        h_i = sum_j d2T/(dv_i dq_j) v_j - dT/dq_i.

    Notes
    -----
    d/dt (dT/dv_i) - dT/dq_i = Q_i, with T quadratic in v (a mechanism without prescribed motion).
    """
    n = len(q)
    mass = sp.zeros(n, n)
    forces: list[Expr] = [sp.S.Zero] * n
    index = {symbol: i for i, symbol in enumerate([*q, *v])}
    for term in kinetic:
        touched = sorted({index[s] % n for s in term.free_symbols if s in index})
        for i in touched:
            momentum = sp.diff(term, v[i])
            forces[i] -= sp.diff(term, q[i])
            for j in touched:
                mass[i, j] += sp.diff(momentum, v[j])
                forces[i] += sp.diff(momentum, q[j]) * v[j]
    return mass, forces


def accelerations(mass: Any, forces: Sequence[Expr]) -> list[Expr]:
    """Solve ``M a = forces`` for the accelerations, coordinate by coordinate where M is diagonal."""
    if mass.is_diagonal():
        return [force / mass[i, i] for i, force in enumerate(forces)]
    return list(mass.LUsolve(sp.Matrix(list(forces))))
