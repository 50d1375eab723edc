"""The loop of a search: designs are proposed and looked at, and what came of them is told, until the front stands."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np

from keyaction.sim.analysis.pareto import Front
from keyaction.sim.search.hypervolume import hypervolume
from keyaction.sim.search.optimiser import Everything, Floats, Proposer

STILL, GAIN = 10, 1e-3
"""A search ends when its front gained less than this share of what it covers over so many generations."""

Look = Callable[[int, Floats], tuple[Floats, Floats]]
"""Of a generation's number and positions (n, inputs) the costs (n, aims) and by how much each falls short (n,)."""


@dataclass(frozen=True)
class Turn:
    """One generation: its number from 0, the costs of the front so far (f, aims), and whether the search is over.

    `cut` says whether it is so for its number of generations alone, while the front may still move.
    """

    number: int
    front: Floats
    over: bool
    cut: bool = False


def drive(by: Proposer, look: Look, most: int) -> Iterator[Turn]:
    """Go on for at most so many generations."""
    front: Front | None = None
    fronts: list[Floats] = []
    for number in range(most):
        rows = by.ask()
        if not len(rows):
            return
        costs, short = look(number, rows)
        by.tell(costs, short)
        front = front or Front(["min"] * costs.shape[1])
        front.add(number * len(rows), np.where((short > 0.0)[:, None], np.nan, costs))
        fronts.append(front.values)
        whole, last = isinstance(by, Everything), number == most - 1
        still = not whole and stands_still(fronts)
        yield Turn(number, front.values, still or last, last and not still and not whole)
        if still:
            return


def stands_still(fronts: list[Floats]) -> bool:
    """Whether the front of the last generation covers hardly more than that some generations ago."""
    if len(fronts) <= STILL or not len(fronts[-1 - STILL]):
        return False
    before, now = fronts[-1 - STILL], fronts[-1]
    least, most = now.min(axis=0), np.maximum(now.max(axis=0), before.max(axis=0))
    scale = np.where(most > least, most - least, np.maximum(np.abs(least), 1e-30))
    covered = [hypervolume((one - least) / scale, np.full(len(least), 1.1)) for one in (before, now)]
    return covered[1] <= covered[0] * (1.0 + GAIN)
