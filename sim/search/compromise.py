"""What a front has to give: which of its differences can be told, the design that gives up least, designs far apart."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from keyaction.cases.study.search import EVENNESS, Figure
from keyaction.sim.figures.columns import forces_felt
from keyaction.sim.figures.evenness import JUST_NOTICEABLE
from keyaction.sim.lanes.judge import ALLOWED
from keyaction.sim.search.scores import resolution_of

Floats = NDArray[np.float64]
FELT = (*forces_felt(), "friction_at_key", "peak_force", EVENNESS)
"""What a finger feels as a force; of all else a difference counts that a check does not allow."""
ALIKE = {True: f"less than the {JUST_NOTICEABLE:.0%} that a finger can tell", False: "less than is told apart"}
"""Why a difference does not count, by whether a finger feels it."""


def noticeable(name: str, one: float, other: float) -> bool:
    """Whether a player, or else a check, tells two values of a figure apart; steps that cannot be felt are alike."""
    if name in FELT:
        least = JUST_NOTICEABLE if name == EVENNESS else 0.0
        low, high = sorted((max(one, least), max(other, least)))
        return high - low > JUST_NOTICEABLE * abs(low)
    return resolution_of(name).difference(one, other) > ALLOWED


def counting(aims: Sequence[Figure], values: Floats) -> NDArray[np.bool_]:
    """(aims,): of which aims the best and the worst of a front, its values (n, aims), are told apart."""
    ends = zip(aims, values.min(axis=0), values.max(axis=0), strict=True)
    return np.array([noticeable(one.name, float(low), float(high)) for one, low, high in ends])


def placed(costs: Floats) -> Floats:
    """Costs (n, aims) as shares of the way from the best to the worst of each aim."""
    reach = np.ptp(costs, axis=0)
    return np.asarray((costs - costs.min(axis=0)) / np.where(reach > 0.0, reach, 1.0))


def compromise(costs: Floats, counts: NDArray[np.bool_] | None = None) -> int | None:
    """The row whose worst aim gives up least of the way between the best and the worst of the front.

    None where each gives up all of some aim, or none gives up anything; `counts` says which aims are looked at.
    """
    shares = placed(costs)
    worst = shares[:, np.ones(costs.shape[1], dtype=bool) if counts is None else counts].max(axis=1, initial=0.0)
    if len(costs) > 1 and (worst.min() == 1.0 or worst.max() == 0.0):
        return None
    return int(np.lexsort((shares.sum(axis=1), worst))[0])


def spread(costs: Floats, most: int) -> list[int]:
    """Rows of a front that stand far apart: the ends, then again and again the one furthest from those taken."""
    if len(costs) <= most:
        return list(range(len(costs)))
    shares, middle = placed(costs), compromise(costs)
    taken = list(dict.fromkeys(int(i) for i in [*np.argmin(shares, axis=0), *([] if middle is None else [middle])]))
    taken = taken[:most]
    while len(taken) < most:
        apart = np.min(np.linalg.norm(shares[:, None] - shares[None, taken], axis=2), axis=1)
        taken.append(int(np.argmax(apart)))
    return sorted(taken)
