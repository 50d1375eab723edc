"""How much a front covers: the volume that is beaten by one of its designs, up to a reference."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


def hypervolume(costs: Floats, reference: Floats) -> float:
    """Volume between costs (n, m), of which little is wanted, and a reference point (m,); m is 1 to 3.

    After E. Zitzler and L. Thiele, "Multiobjective evolutionary algorithms: a comparative case study and the strength
    Pareto approach", IEEE Transactions on Evolutionary Computation 3 (1999) 257-271; summed in slices of the last cost.
    """
    inside = costs[np.all(costs < reference, axis=1)]
    if not len(inside):
        return 0.0
    if costs.shape[1] == 1:
        return float(reference[0] - inside.min())
    if costs.shape[1] == 2:
        return _area(inside, reference)
    order = inside[np.argsort(inside[:, 2], kind="stable")]
    ends = np.r_[order[1:, 2], reference[2]]
    sizes = ends - order[:, 2]
    return float(sum(size * _area(order[: i + 1, :2], reference[:2]) for i, size in enumerate(sizes) if size > 0.0))


def _area(costs: Floats, reference: Floats) -> float:
    """The same of two costs."""
    order = costs[np.lexsort((costs[:, 1], costs[:, 0]))]
    least = np.minimum.accumulate(order[:, 1])
    ends = np.r_[order[1:, 0], reference[0]]
    return float(np.sum((ends - order[:, 0]) * (reference[1] - least)))
