"""Closed loops: the program's derivation of the open tree, closed by constraints and their multipliers.

Trains of a key action are trees of bodies with one coordinate each, and so is everything that the program builds.
Benchmarks of multibody dynamics have loops. Here the mass matrix and inertia forces come from the program's own
`lagrange`; the loop's constraints, differentiated twice, are solved with them for accelerations and multipliers.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import sympy as sp
from scipy.integrate import solve_ivp

from keyaction.models.algebra.lagrange import lagrange
from keyaction.sim.code.kernel import Floats

Expr = Any
TIME = sp.Symbol("t", real=True)
"""For constraints that are moved from outside."""


@dataclass(frozen=True)
class Loop:
    """Equations of motion of a closed mechanism.

    Attributes
    ----------
    solve : callable (t, y) -> (n + m,) array
        Accelerations of the n coordinates and the m multipliers at a state of 2 n ways and speeds.
    count : int
        Number of coordinates n.
    """

    solve: Callable[[float, Floats], Floats]
    count: int

    def end(self, start: Sequence[float], duration: float, relative: float = 1e-10) -> Floats:
        """Ways, speeds and multipliers, (2 n + m,), after so many seconds from a start that fits the constraints."""
        n = self.count

        def rates(t: float, y: Floats) -> Floats:
            return np.concatenate([y[n:], self.solve(t, y)[:n]])

        found = solve_ivp(rates, (0.0, duration), start, method="DOP853", rtol=relative, atol=1e-2 * relative)
        last: Floats = found.y[:, -1]
        return np.concatenate([last, self.solve(duration, last)[n:]])


def speeds(expr: Expr, q: Sequence[Expr], v: Sequence[Expr]) -> Expr:
    """Rate of an expression of the coordinates."""
    return sum((sp.diff(expr, a) * b for a, b in zip(q, v, strict=True)), sp.S.Zero)


def close(
    kinetic: Sequence[Expr],
    potential: Expr,
    constraints: Sequence[Expr],
    q: Sequence[Expr],
    v: Sequence[Expr],
    values: Mapping[Expr, float],
    rolling: Sequence[Expr] = (),
) -> Loop:
    """Close a tree.

    Parameters
    ----------
    kinetic : sequence of expressions
        Kinetic energy of the open tree, term by term.
    potential : expression
        Its potential energy; a force that does not depend on the motion is a term of it.
    constraints : sequence of m expressions
        Zero where the loop is closed; of coordinates and `TIME`.
    q, v : sequences of n symbols
    values : mapping of symbol to float
        Of all other symbols.
    rolling : sequence of expressions
        Speeds, linear in `v`, that are zero where a wheel touches the ground: conditions that no way fulfils.

    Returns
    -------
    Loop
        Of M a + h + dV/dq + J' lambda = 0 and J a + gamma = 0.
    """
    mass, inertia_forces = lagrange(kinetic, q, v)
    forces = sp.Matrix([-h - sp.diff(potential, a) for h, a in zip(inertia_forces, q, strict=True)])
    closing = sp.Matrix(len(constraints), 1, list(constraints))
    rate = closing.jacobian(list(q)) * sp.Matrix(list(v)) + closing.diff(TIME)
    rate = rate.col_join(sp.Matrix(len(rolling), 1, list(rolling)))
    slopes = rate.jacobian(list(v))
    turning = rate.jacobian(list(q)) * sp.Matrix(list(v)) + rate.diff(TIME)
    numbers = {symbol: sp.Float(value) for symbol, value in values.items()}
    terms = [matrix.xreplace(numbers) for matrix in (mass, forces, slopes, turning)]
    function = sp.lambdify([TIME, list(q), list(v)], terms, modules="numpy", cse=True)
    n, m = len(q), len(constraints) + len(rolling)

    def solve(t: float, y: Floats) -> Floats:
        inertia, force, slope, turn = function(t, y[:n], y[n : 2 * n])
        system = np.zeros((n + m, n + m))
        system[:n, :n], system[:n, n:], system[n:, :n] = inertia, np.transpose(slope), slope
        return np.linalg.solve(system, np.concatenate([np.ravel(force), -np.ravel(turn)]))

    return Loop(solve, n)
