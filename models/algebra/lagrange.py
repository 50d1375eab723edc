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
    """Solve ``M a = forces`` for the accelerations, coordinates that no inertia couples one by one."""
    found: list[Expr] = [sp.S.Zero] * len(forces)
    for block in coupled(mass):
        if len(block) == 1:
            found[block[0]] = forces[block[0]] / mass[block[0], block[0]]
            continue
        solved = mass.extract(block, block).LUsolve(sp.Matrix([forces[i] for i in block]))
        for i, one in zip(block, solved, strict=True):
            found[i] = one
    return found


def coupled(mass: Any) -> list[list[int]]:
    """Numbers of the coordinates that the mass matrix couples, in groups; most stand alone."""
    groups: list[list[int]] = []
    for i in range(mass.rows):
        joined = [group for group in groups if any(mass[i, j] != 0 for j in group)]
        groups = [group for group in groups if group not in joined]
        groups.append([j for group in joined for j in group] + [i])
    return sorted(groups)


def free_inertia(mass: Any, group: Sequence[int], i: int) -> Expr:
    """Inertia of coordinate `i` with the others of its group free to move: one over its entry of the inverse."""
    if len(group) == 1:
        return mass[i, i]
    block = mass.extract(list(group), list(group))
    others = [k for k, j in enumerate(group) if j != i]
    return block.det(method="berkowitz") / block.extract(others, others).det(method="berkowitz")
