"""The springs of all notes at once: as near to their targets as bounds and evenness allow."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.optimize import linprog, minimize

from keyaction.sim.motion.integrate import Floats


@dataclass(frozen=True)
class Line:
    """Pluck as a line of the spring's force, p = p0 + slope (f - f0), for each note; arrays (n,)."""

    force: Floats
    pluck: Floats
    slope: Floats

    def at(self, force: Floats) -> Floats:
        """Pluck at a force."""
        return np.asarray(self.pluck + self.slope * (force - self.force))

    def inverse(self, pluck: Floats) -> Floats:
        """Force that gives a pluck."""
        return np.asarray(self.force + (pluck - self.pluck) / self.slope)


def steps(notes: Floats, even: Floats, target: Floats) -> Floats:
    """Rows of the condition that no pluck is more than `even` of the mean of two above its neighbour's.

    Parameters
    ----------
    notes, even, target : (n,) arrays
        Semitones, rising; largest step into each note; target pluck.

    Returns
    -------
    (m, n) array
        ``rows @ share <= 0`` for plucks given as shares of their targets, two rows for each pair of neighbours.
    """
    rows = []
    for i in range(1, len(notes)):
        if notes[i] - notes[i - 1] != 1 or not np.isfinite(even[i]):
            continue
        half = min(even[i], 1.0) / 2
        for up, down in ((i, i - 1), (i - 1, i)):
            row = np.zeros(len(notes))
            row[up], row[down] = (1 - half) * target[up], -(1 + half) * target[down]
            rows.append(row / np.mean(target))
    return np.array(rows).reshape(len(rows), len(notes))


def nearest(line: Line, target: Floats, low: Floats, high: Floats, rows: Floats) -> tuple[Floats, Floats]:
    """Forces that bring the plucks nearest to their targets, in the mean square of the shares missed.

    Parameters
    ----------
    line : Line
    target, low, high : (n,) arrays
        Target pluck, and bounds of the force.
    rows : (m, n) array
        From `steps`.

    Returns
    -------
    forces : (n,) array
    excess : (m,) array
        By how much each row must be exceeded, because bounds and rows contradict each other; else zero.
    """
    share_low, share_high = line.at(low) / target, line.at(high) / target
    excess = _least_excess(rows, share_low, share_high)
    start = np.clip(np.ones(len(target)), share_low, share_high)
    if len(rows) and np.any(rows @ start > 0.0):
        found = minimize(
            lambda share: float(np.sum((share - 1) ** 2)),
            start,
            jac=lambda share: 2 * (share - 1),
            bounds=list(zip(share_low, share_high, strict=True)),
            constraints={"type": "ineq", "fun": lambda share: excess - rows @ share, "jac": lambda _: -rows},
            method="SLSQP",
            options={"ftol": 1e-14, "maxiter": 500},
        )
        start = np.clip(found.x, share_low, share_high)
    return np.clip(line.inverse(start * target), low, high), excess


def _least_excess(rows: Floats, low: Floats, high: Floats) -> Floats:
    """The least sum of excesses with which rows and bounds can be met at all."""
    m, n = rows.shape
    if not m:
        return np.zeros(0)
    found = linprog(
        np.concatenate([np.zeros(n), np.ones(m)]),
        A_ub=np.hstack([rows, -np.eye(m)]),
        b_ub=np.zeros(m),
        bounds=[*zip(low, high, strict=True), *[(0.0, None)] * m],
    )
    return np.where(found.x[n:] > 1e-9, found.x[n:] * (1 + 1e-9), 0.0)
