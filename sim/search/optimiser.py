"""Who proposes designs: an evolutionary optimiser, or all that there are where they are few."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Protocol

import numpy as np
from numpy.typing import NDArray

from keyaction.cases.study.inputs import Input, word
from keyaction.cases.study.spans import Choices, Range

Floats = NDArray[np.float64]
MISSING = 'search needs pymoo: pip install "keyaction[search]"'
STEPS = 1000
"""Steps of a range that has no levels of its own: a thousandth of it is finer than a workshop works."""


class NoOptimiser(RuntimeError):
    """The library that optimises is not there."""

    def __init__(self) -> None:
        super().__init__(MISSING)


@dataclass(frozen=True)
class Axis:
    """One thing that may vary.

    Attributes
    ----------
    values : int
        How many it has.
    order : bool
        Whether they stand in an order.
    own : int, optional
        Which of them the case has.
    fine : bool
        Whether they stand for a range without steps.
    """

    values: int
    order: bool = True
    own: int | None = None
    fine: bool = False

    def places(self, numbers: Any) -> Floats:
        """Positions between 0 and 1, as of a plan, of its values by number."""
        found = np.asarray(numbers, dtype=np.float64)
        return found / max(self.values - 1, 1) if self.order else (found + 0.5) / self.values


def axis_of(one: Input, own: float | str) -> Axis:
    """The axis of an input of a search, with what the case itself has; NaN where that is no single value."""
    if isinstance(one.span, Choices):
        values = [word(value) if one.chosen else value for value in one.span.values]
        return Axis(len(values), False, next((i for i, value in enumerate(values) if value == own), None))
    count = one.levels or STEPS + 1
    low, high = one.span.ends
    if isinstance(own, str) or not low <= own <= high:
        return Axis(count, fine=not one.levels)
    log = isinstance(one.span, Range) and one.span.log
    share = np.log(own / low) / np.log(high / low) if log else (own - low) / (high - low)
    return Axis(count, own=round(float(share) * (count - 1)), fine=not one.levels)


class Proposer(Protocol):
    """Proposes designs, generation by generation, and is told what came of them."""

    def ask(self) -> Floats:
        """Positions of the next designs (n, inputs); none when there are no more."""

    def tell(self, costs: Floats, short: Floats) -> None:
        """What came of those: costs (n, aims), and by how much each falls short of the limits (n,)."""


class Everything:
    """All designs that there are, in order."""

    def __init__(self, axes: Sequence[Axis], size: int) -> None:
        self._axes, self._size, self._next = axes, size, 0
        self._counts = tuple(one.values for one in axes)

    @property
    def count(self) -> int:
        """How many designs there are."""
        return math.prod(self._counts)

    def ask(self) -> Floats:
        first, self._next = self._next, min(self._next + self._size, self.count)
        numbers = np.unravel_index(np.arange(first, self._next), self._counts)
        return np.column_stack([one.places(found) for one, found in zip(self._axes, numbers, strict=True)])

    def tell(self, costs: Floats, short: Floats) -> None:
        pass


class Evolution:
    """NSGA-II, what holds before what does not.

    K. Deb, A. Pratap, S. Agarwal and T. Meyarivan, "A fast and elitist multiobjective genetic algorithm: NSGA-II", IEEE
    Transactions on Evolutionary Computation 6 (2002) 182-197.

    Values in an order are crossed and changed as numbers, others as names. The first design is the case itself, as far
    as it is among the values. The same seed proposes the same designs.
    """

    def __init__(self, axes: Sequence[Axis], aims: int, size: int, seed: int) -> None:
        try:
            from pymoo.algorithms.moo.nsga2 import RankAndCrowding, binary_tournament
            from pymoo.config import Config
            from pymoo.core.mixed import MixedVariableDuplicateElimination, MixedVariableGA, MixedVariableMating
            from pymoo.core.problem import Problem
            from pymoo.core.variable import Choice, Integer
            from pymoo.operators.selection.tournament import TournamentSelection
            from pymoo.termination.max_gen import MaximumGenerationTermination
        except ImportError:
            raise NoOptimiser from None
        Config.warnings["not_compiled"] = False  # it would be printed among what is found
        self._axes, self._names = axes, [f"{k:06d}" for k in range(len(axes))]
        kinds = [
            Integer(bounds=(0, one.values - 1)) if one.order else Choice(options=list(range(one.values)))
            for one in axes
        ]
        self._problem = Problem(vars=dict(zip(self._names, kinds, strict=True)), n_obj=aims, n_ieq_constr=1)
        same = MixedVariableDuplicateElimination()
        mating = MixedVariableMating(TournamentSelection(func_comp=binary_tournament), eliminate_duplicates=same)
        self._algorithm = MixedVariableGA(
            pop_size=size, survival=RankAndCrowding(), mating=mating, eliminate_duplicates=same, seed=seed
        )
        self._algorithm.tournament_type = "comp_by_dom_and_crowding"
        self._algorithm.advance_after_initial_infill = True  # ranks the first generation, which mates by rank
        self._algorithm.setup(self._problem, termination=MaximumGenerationTermination(10**9))
        self._asked: Any = None

    def _as_drawn(self) -> None:
        """Let the first design be the case's own."""
        own = {name: one.own for name, one in zip(self._names, self._axes, strict=True) if one.own is not None}
        self._asked[0].X = {**self._asked[0].X, **own}

    def ask(self) -> Floats:
        first = self._asked is None
        self._asked = self._algorithm.infill()
        if self._asked is None:
            return np.empty((0, len(self._axes)))
        if first:
            self._as_drawn()
        numbers = [[one.X[name] for one in self._asked] for name in self._names]
        return np.column_stack([one.places(found) for one, found in zip(self._axes, numbers, strict=True)])

    def tell(self, costs: Floats, short: Floats) -> None:
        from pymoo.problems.static import StaticProblem

        large = np.where(np.isfinite(costs), costs, 1e30)
        known = StaticProblem(self._problem, F=large, G=short[:, None])
        self._algorithm.evaluator.eval(known, self._asked)
        self._algorithm.advance(infills=self._asked)


def proposer(axes: Sequence[Axis], aims: int, size: int, generations: int, seed: int) -> Proposer:
    """All designs where they are no more than would be looked at and no range is without steps; else an optimiser.

    Raises
    ------
    NoOptimiser
        When the library is missing.
    """
    whole = Everything(axes, size)
    few = whole.count <= size * generations and not any(one.fine for one in axes)
    return whole if few else Evolution(axes, aims, size, seed)
