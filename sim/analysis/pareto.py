"""Pareto fronts: the designs that no other design beats in every chosen quantity."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from keyaction.sim.figures.columns import QUANTITIES

Sense = Literal["min", "max"]


def usual_sense(quantity: str) -> Sense:
    """Whether much or little of a quantity is usually wanted; of what is wanted neither way, or is no quantity, little.

    Common practice; a user may turn it.
    """
    return "max" if quantity in QUANTITIES and QUANTITIES[quantity].sense == "more" else "min"


def pareto_front(values: ArrayLike, senses: Sequence[Sense]) -> NDArray[np.int64]:
    """Find the designs that no other one beats.

    One design beats another if it is at least as good in every quantity and better in one; designs that are
    equal in all stand on the front together.

    Parameters
    ----------
    values : (n, q) array
        Quantities of the designs; a design with a NaN is no candidate.
    senses : sequence of {"min", "max"}
        For each quantity what is wanted.

    Returns
    -------
    (f,) array of int
        Rows on the front, by rising first quantity.

    Raises
    ------
    ValueError
        If senses and quantities do not match, or a sense is not known.
    """
    table = np.asarray(values, dtype=np.float64)
    if table.ndim != 2 or table.shape[1] != len(senses):
        raise ValueError(f"{len(senses)} senses do not fit values of shape {table.shape}")
    front = Front(senses)
    front.add(0, table)
    return front.rows


class Front:
    """The designs that none beats, of designs that come piece by piece; memory is taken by these only.

    Parameters
    ----------
    senses : sequence of {"min", "max"}

    Attributes
    ----------
    candidates : int
        Designs with all quantities.

    Raises
    ------
    ValueError
        If there are no senses, or one is not known.
    """

    def __init__(self, senses: Sequence[Sense]) -> None:
        unknown = [sense for sense in senses if sense not in ("min", "max")]
        if unknown:
            raise ValueError(f"sense '{unknown[0]}' is not known; 'min' or 'max'")
        if not senses:
            raise ValueError("0 senses do not fit any values")
        self._signs = np.array([1.0 if sense == "min" else -1.0 for sense in senses])
        self._costs, self._rows = np.empty((0, len(senses))), np.empty(0, dtype=np.int64)
        self.candidates = 0

    @property
    def rows(self) -> NDArray[np.int64]:
        """Rows on the front, by rising first quantity."""
        return np.asarray(self._rows[self._order])

    @property
    def values(self) -> NDArray[np.float64]:
        """(f, q): quantities of these rows."""
        return np.asarray(self._costs[self._order] * self._signs + 0.0)

    @property
    def _order(self) -> NDArray[np.int64]:
        return np.lexsort((self._rows, self._costs[:, 0] * self._signs[0]))

    def add(self, first: int, values: NDArray[np.float64]) -> None:
        """Take the next piece, whose first row has the number `first`."""
        costs = values * self._signs
        there = np.all(np.isfinite(costs), axis=1)
        self.candidates += int(np.count_nonzero(there))
        for strong in self._costs[np.linspace(0, len(self._costs) - 1, min(len(self._costs), _STRONG)).astype(int)]:
            there &= np.any(costs < strong, axis=1) | np.all(costs == strong, axis=1)
        rows = np.flatnonzero(there)
        costs, rows = np.concatenate([self._costs, costs[rows]]), np.concatenate([self._rows, first + rows])
        if len(rows):
            kinds, kind_of = np.unique(costs, axis=0, return_inverse=True)
            kept = np.isin(kind_of.ravel(), _unbeaten(kinds))
            self._costs, self._rows = costs[kept], rows[kept]


_STRONG = 16
"""Designs of the front by which a piece is thinned out first."""


def _unbeaten(costs: NDArray[np.float64]) -> NDArray[np.int64]:
    """Rows that none beats, of different rows sorted by their columns: a row can only be beaten by an earlier one."""
    if costs.shape[1] == 1:
        return np.array([0])
    if costs.shape[1] == 2:
        least = np.minimum.accumulate(costs[:, 1])
        return np.flatnonzero(np.r_[True, costs[1:, 1] < least[:-1]])
    reach, kept = np.ptp(costs, axis=0), list[int]()
    left = np.argsort(np.sum(costs / np.where(reach > 0, reach, 1.0), axis=1), kind="stable")
    while len(left):  # whoever has the least sum of those that are left is beaten by none of them
        kept.append(int(left[0]))
        left = left[np.any(costs[left] < costs[left[0]], axis=1)]
    return np.array(kept)
