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
    if table.ndim != 2 or table.shape[1] != len(senses) or not senses:
        raise ValueError(f"{len(senses)} senses do not fit values of shape {table.shape}")
    unknown = [sense for sense in senses if sense not in ("min", "max")]
    if unknown:
        raise ValueError(f"sense '{unknown[0]}' is not known; 'min' or 'max'")
    costs = table * np.array([1.0 if sense == "min" else -1.0 for sense in senses])
    rows = np.flatnonzero(np.all(np.isfinite(costs), axis=1))
    if not len(rows):
        return rows
    kinds, kind_of = np.unique(costs[rows], axis=0, return_inverse=True)
    kept = _unbeaten(kinds)
    rows = rows[np.isin(kind_of.ravel(), kept)]
    return np.asarray(rows[np.lexsort((rows, table[rows, 0]))])


def _unbeaten(costs: NDArray[np.float64]) -> list[int]:
    """Rows that none beats, of different rows sorted by their columns: a row can only be beaten by an earlier one."""
    kept: list[int] = []
    front = np.empty((0, costs.shape[1]))
    for i, cost in enumerate(costs):
        if not np.any(np.all(front <= cost, axis=1)):
            kept.append(i)
            front = np.vstack([front, cost])
    return kept
