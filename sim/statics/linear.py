"""Linear algebra of a few unknowns, in plain loops, which Numba compiles many times faster than slices."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

SINGULAR = 1e-14
"""Pivot, beside rows of size one, below which nothing is left that settles an unknown."""


def dot(a: Floats, b: Floats) -> float:
    """Inner product."""
    total = 0.0
    for i in range(len(a)):
        total += a[i] * b[i]
    return total


def moved(z: Floats, by: float, along: Floats) -> Floats:
    """z + by * along."""
    found = np.empty(len(z))
    for i in range(len(z)):
        found[i] = z[i] + by * along[i]
    return found


def largest_of(row: Floats) -> float:
    """Largest absolute value; NaN where one is."""
    found = 0.0
    for one in row:
        if not abs(one) <= found:
            found = abs(one)
    return found


def put(table: Floats, i: int, row: Floats) -> None:
    """Fill a row of a table."""
    for j in range(len(row)):
        table[i, j] = row[j]


def copied(table: Floats, count: int, room: int) -> Floats:
    """The first rows of a table, in one of `room` rows."""
    found = np.empty((room, table.shape[1]))
    for i in range(count):
        for j in range(table.shape[1]):
            found[i, j] = table[i, j]
    return found


def solved(a: Floats, b: Floats) -> Floats:
    """A solution of a x = b, of which the last row is a border.

    By elimination with the largest pivot of the rows above it. Unknowns that these leave free (one, unless something
    hangs slack) share what the border asks of them: the least that does it.
    """
    n = len(b)
    m, order = np.empty((n, n + 1)), np.empty(n, dtype=np.int64)
    for i in range(n):
        order[i] = i
        m[i, n] = b[i]
        for j in range(n):
            m[i, j] = a[i, j]
    rank = 0
    while rank < n - 1:
        row, column, largest = rank, rank, 0.0
        for i in range(rank, n - 1):
            for j in range(rank, n):
                if abs(m[i, j]) > largest:
                    row, column, largest = i, j, abs(m[i, j])
        if not largest > SINGULAR:
            break
        for j in range(n + 1):
            m[rank, j], m[row, j] = m[row, j], m[rank, j]
        for i in range(n):
            m[i, rank], m[i, column] = m[i, column], m[i, rank]
        order[rank], order[column] = order[column], order[rank]
        for i in range(n):
            share = m[i, rank] / m[rank, rank]
            if i != rank and share != 0.0:
                for j in range(rank, n + 1):
                    m[i, j] -= share * m[rank, j]
        rank += 1
    square = 0.0
    for j in range(rank, n):
        square += m[n - 1, j] ** 2
    x = np.zeros(n)
    if square > 0.0:
        for j in range(rank, n):
            x[order[j]] = m[n - 1, j] * m[n - 1, n] / square
    for i in range(rank):
        rest = m[i, n]
        for j in range(rank, n):
            rest -= m[i, j] * x[order[j]]
        x[order[i]] = rest / m[i, i]
    return x


def bordered(table: Floats, row: Floats) -> Floats:
    """A table with one row more."""
    n = len(row)
    whole = np.empty((n, n))
    for j in range(n):
        for i in range(n - 1):
            whole[i, j] = table[i, j]
        whole[n - 1, j] = row[j]
    return whole


COMPILED = ("dot", "moved", "largest_of", "put", "copied", "solved", "bordered")
"""What Numba compiles, in this order."""
