"""Linear algebra of a few unknowns, in loops that Numba compiles and `keyaction.sim.code.loops_text` writes as C."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Table = NDArray[np.float64]
Places = NDArray[np.int64]
Kept = Table
"""As C, of one of many designs that lie side by side."""
Given = Floats
"""So too."""
Quick = Table
"""As C, in a GPU's quick memory."""

SINGULAR = 1e-14
"""Pivot, beside rows of size one, below which nothing is left that settles an unknown."""


def dot(a: Floats, b: Floats) -> float:
    """Inner product."""
    total = 0.0
    for i in range(len(a)):
        total += a[i] * b[i]
    return total


def moved(z: Floats, by: float, along: Floats, found: Floats) -> None:
    """z + by * along."""
    for i in range(len(z)):
        found[i] = z[i] + by * along[i]


def copied(a: Floats, found: Floats) -> None:
    """The same figures."""
    for i in range(len(a)):
        found[i] = a[i]


def largest_of(row: Floats) -> float:
    """Largest absolute value; never less than one that is not a number and stands last."""
    found = 0.0
    for i in range(len(row)):
        if not abs(row[i]) <= found:
            found = abs(row[i])
    return found


def solved(m: Quick, order: Places, x: Floats, along: Floats) -> None:
    """Solutions of a x = b, `m` being a with b as a further column, and of a x = (0, ..., 0, 1); `m` is used up.

    By elimination with the largest pivot of the rows above the last one, which is a border. Unknowns that these leave
    free (one, unless something hangs slack) share what the border asks of them: the least that does it.
    """
    n = len(x)
    for i in range(n):
        order[i] = i
    rank = n - 1
    for k in range(n - 1):
        row, column, largest = k, k, 0.0
        for i in range(k, n - 1):
            for j in range(k, n):
                if abs(m[i, j]) > largest:
                    row, column, largest = i, j, abs(m[i, j])
        if not largest > SINGULAR:
            rank = k
            break
        exchanged(m, order, k, row, column)
        for i in range(n):
            if i != k and m[i, k] != 0.0:
                share = m[i, k] / m[k, k]
                for j in range(k, n + 1):
                    m[i, j] -= share * m[k, j]
    square = 0.0
    for j in range(rank, n):
        square += m[n - 1, j] * m[n - 1, j]
    for j in range(n):
        x[j] = 0.0
        along[j] = 0.0
    if square > 0.0:
        for j in range(rank, n):
            x[order[j]] = m[n - 1, j] * m[n - 1, n] / square
            along[order[j]] = m[n - 1, j] / square
    for i in range(rank):
        rest = m[i, n]
        further = 0.0
        for j in range(rank, n):
            rest -= m[i, j] * x[order[j]]
            further -= m[i, j] * along[order[j]]
        x[order[i]] = rest / m[i, i]
        along[order[i]] = further / m[i, i]


def exchanged(m: Quick, order: Places, rank: int, row: int, column: int) -> None:
    """The pivot brought to its place: two rows exchanged, and two columns."""
    n = len(order)
    for j in range(n + 1):
        kept = m[rank, j]
        m[rank, j] = m[row, j]
        m[row, j] = kept
    for i in range(n):
        kept = m[i, rank]
        m[i, rank] = m[i, column]
        m[i, column] = kept
    place = order[rank]
    order[rank] = order[column]
    order[column] = place


COMPILED = ("dot", "moved", "copied", "largest_of", "exchanged", "solved")
"""What Numba compiles, in this order."""
