"""Steps of a figure between neighbours under all tolerances: by first order and normal distributions, and drawn.

A note's own parts make steps, what all notes share does not, but for what it does to one more than to the other. The
steps of the case as it is drawn are in them.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

from keyaction.cases.study.spreads import Uncertain
from keyaction.sim.figures.limits import NO_FORCE
from keyaction.sim.motion.integrate import Floats
from keyaction.sim.tolerances.figures import BY_NAME, KeyFigure
from keyaction.sim.tolerances.sensitivity import Sensitivity

DRAWS = 100_000
"""Draws of the linear model unless it is said."""
CHUNK = 5_000
"""Draws in memory at one time."""
APART = 10
"""Tolerances whose own parts are drawn each in its own form; the others, many and small, are one normal part."""


@dataclass(frozen=True)
class Lineal:
    """One figure of a compass as a straight line of everything that deviates.

    Attributes
    ----------
    figure : KeyFigure
    notes : (n,) array of int
    values : (n,) array
        SI, as drawn.
    common, own : (n, tolerances) arrays
        SI, of one standard deviation.
    even : (tolerances, 2) array of bool
        Whether the common and the own part lie evenly in a range; else they are normal.
    limit : float
        Step that counts: a share of the mean of both notes, or SI.
    """

    figure: KeyFigure
    notes: NDArray[np.int64]
    values: Floats
    common: Floats
    own: Floats
    even: NDArray[np.bool_]
    limit: float

    @classmethod
    def of(cls, found: Sensitivity, figure: str, limit: float = math.nan) -> Lineal:
        """One figure of what was found; its usual limit unless another is given."""
        values, common, own = found.of(figure)
        about = BY_NAME[figure]
        even = np.array([_forms(one) for one in found.doubts], dtype=bool).reshape(len(found.doubts), 2)
        there = np.isfinite(values)
        common, own = (np.where(there[:, None], np.nan_to_num(part), np.nan) for part in (common, own))
        kept = limit if math.isfinite(limit) else about.limit
        return cls(about, np.array(found.notes), values, common, own, even, kept)

    @cached_property
    def pairs(self) -> NDArray[np.int64]:
        """Rows of neighbours that both have the figure, the lower first: (pairs, 2)."""
        i = np.arange(1, len(self.notes))
        mean = (self.values[i] + self.values[i - 1]) / 2
        least = NO_FORCE if self.figure.relative else -math.inf
        kept = i[(np.diff(self.notes) == 1) & (mean > least)] if len(i) else i
        return np.stack([kept - 1, kept], axis=1)

    def steps(self, values: Floats) -> Floats:
        """Steps of all pairs, (..., pairs), of values (..., n): shares of their mean, or SI."""
        low, high = values[..., self.pairs[:, 0]], values[..., self.pairs[:, 1]]
        apart = np.asarray(high - low)
        return apart / ((high + low) / 2) if self.figure.relative else apart

    @cached_property
    def drawn(self) -> Floats:
        """Steps of the case itself, (pairs,)."""
        return self.steps(self.values)

    @cached_property
    def variances(self) -> Floats:
        """What each tolerance adds to the variance of each step, to first order: (pairs, tolerances)."""
        a, b = self.pairs.T
        low, high = self.values[a], self.values[b]
        lower, upper = (-np.ones(len(a)), np.ones(len(a)))
        if self.figure.relative:
            lower, upper = -4 * high / (low + high) ** 2, 4 * low / (low + high) ** 2
        shared = lower[:, None] * self.common[a] + upper[:, None] * self.common[b]
        alone = (lower[:, None] * self.own[a]) ** 2 + (upper[:, None] * self.own[b]) ** 2
        return np.asarray(shared**2 + alone)

    def beyond(self, factors: Floats | float = 1.0) -> Floats:
        """Probability that each step exceeds the limit, (pairs,), tolerances times (tolerances,) factors; normal."""
        sds = np.sqrt(self.variances @ (np.ones(self.variances.shape[1]) * factors) ** 2)
        return share_beyond(self.drawn, sds, self.limit)

    def share(self, factors: Floats | float = 1.0) -> float:
        """The same of all steps together; NaN without neighbours."""
        return float(np.mean(self.beyond(factors))) if len(self.pairs) else math.nan


def _forms(one: Uncertain) -> tuple[bool, bool]:
    return one.common.even, bool(one.pieces) and not one.pieces[0].material and one.pieces[0].deviation.even


def share_beyond(middle: Floats, sd: Floats, limit: float) -> Floats:
    """Probability that a normal figure lies further than a limit from 0, in either sense.

    Parameters
    ----------
    middle, sd : (n,) arrays
    limit : float
    """
    wide = np.maximum(sd, 1e-300)
    return np.asarray(ndtr((middle - limit) / wide) + ndtr((-limit - middle) / wide))


@dataclass(frozen=True)
class Scatter:
    """What draws say of steps.

    Attributes
    ----------
    count : int
        Draws.
    pairs : (pairs,) array
        Share of the draws in which each step exceeds the limit.
    share, share_error : float
        Of all steps of all draws, and its standard error: draws are independent, steps of one draw are not.
    number : (3,) array
        Steps beyond the limit in a good, a middling and a bad draw: 5, 50 and 95 %.
    none, none_error : float
        Share of the draws without any, and its standard error.
    """

    count: int
    pairs: Floats
    share: float
    share_error: float
    number: Floats
    none: float
    none_error: float

    @property
    def expected(self) -> float:
        """Steps beyond the limit on average."""
        return float(np.sum(self.pairs))

    @property
    def bounded_error(self) -> float:
        """The error of the share, no less than that of as many single steps with two more of either kind: never 0.

        Draws that happen to agree say nothing of how far draws differ.
        """
        steps = self.count * len(self.pairs)
        held = (self.share * steps + 2.0) / (steps + 4.0)
        return max(self.share_error, math.sqrt(held * (1.0 - held) / (steps + 4.0)))

    @classmethod
    def of(cls, felt: NDArray[np.bool_], known: NDArray[np.bool_] | None = None) -> Scatter:
        """From what each draw has, (draws, pairs); `known` where not every draw has every step."""
        there = np.ones_like(felt) if known is None else known
        return cls.counted(
            felt.sum(axis=1), there.sum(axis=1), felt.sum(axis=0) / np.maximum(there.sum(axis=0), 1), len(felt)
        )

    @classmethod
    def counted(cls, felt: NDArray[np.int64], known: NDArray[np.int64], pairs: Floats, count: int) -> Scatter:
        """From counts of each draw, (draws,): steps that are felt and that there are."""
        total = float(np.sum(known))
        share = float(np.sum(felt)) / total if total else math.nan
        rest = felt - share * known
        error = math.sqrt(float(rest @ rest)) / total if total else math.nan
        none = float(np.mean(felt == 0)) if total else math.nan
        # Of a share that is 0 or 1 in all draws the error is that of half a draw more: never nothing.
        held = (none * count + 0.5) / (count + 1)
        return cls(
            count, pairs, share, error, np.quantile(felt, (0.05, 0.5, 0.95)), none, math.sqrt(held * (1 - held) / count)
        )


@dataclass(frozen=True)
class Drawn:
    """Steps that were drawn: as they are, and with one tolerance times a factor at a time: (tolerance, factor)."""

    all: Scatter
    changed: dict[tuple[int, float], Scatter]


def draw_steps(
    line: Lineal, draws: int = DRAWS, seed: int = 1, changed: Sequence[tuple[int, float]] = ()
) -> Drawn | None:
    """Draw the straight line of everything that deviates, each part in its own form.

    Parameters
    ----------
    line : Lineal
    draws : int
    seed : int
    changed : sequence of (int, float)
        Tolerances and factors, each tried alone with the same draws.

    Returns
    -------
    Drawn or None
        None where there are no neighbours.
    """
    if not len(line.pairs):
        return None
    cases: list[tuple[int, float]] = [(-1, 1.0), *changed]
    felt = [list[NDArray[np.int64]]() for _ in cases]
    sums = np.zeros((len(cases), len(line.pairs)))
    for values, parts in _chunks(line, draws, seed, sorted({number for number, _ in changed})):
        for row, (number, factor) in enumerate(cases):
            moved = values if number < 0 else values + (factor - 1.0) * parts[number]
            beyond = np.abs(line.steps(moved)) > line.limit
            felt[row].append(beyond.sum(axis=1))
            sums[row] += beyond.sum(axis=0)
    known = np.full(draws, len(line.pairs))
    made = [
        Scatter.counted(np.concatenate(each), known, row / draws, draws) for each, row in zip(felt, sums, strict=True)
    ]
    return Drawn(made[0], dict(zip(cases[1:], made[1:], strict=True)))


def _chunks(line: Lineal, draws: int, seed: int, wanted: Sequence[int]) -> Iterator[tuple[Floats, dict[int, Floats]]]:
    """Values (draws, n) of some draws, and in them the part of each wanted tolerance."""
    there = np.isfinite(line.values)
    values, common, own = line.values[there], line.common[there], line.own[there]
    rows = np.cumsum(there) - 1
    spread = np.sum(own**2, axis=0)
    apart = sorted({*np.argsort(-spread, kind="stable")[:APART].tolist(), *wanted} & set(np.flatnonzero(spread)))
    rest = np.sqrt(np.maximum(np.sum(own**2, axis=1) - np.sum(own[:, apart] ** 2, axis=1), 0.0))
    random = np.random.default_rng(seed)
    for start in range(0, draws, CHUNK):
        size = min(CHUNK, draws - start)
        shared = _deviates(random, (size, common.shape[1]), line.even[:, 0])
        parts = {k: shared[:, [k]] * common[:, k] for k in wanted}
        found = values + shared @ common.T + random.standard_normal((size, len(values))) * rest
        for k in apart:
            alone = _deviates(random, (size, len(values)), line.even[k, 1]) * own[:, k]
            found += alone
            if k in parts:
                parts[k] = parts[k] + alone
        yield found[:, rows], {k: part[:, rows] for k, part in parts.items()}


def _deviates(random: np.random.Generator, shape: tuple[int, int], even: NDArray[np.bool_] | np.bool_) -> Floats:
    """Deviates of variance 1, normal or (by column) evenly spread."""
    if even.ndim == 0:
        return random.uniform(-math.sqrt(3.0), math.sqrt(3.0), shape) if even else random.standard_normal(shape)
    found = random.standard_normal(shape)
    found[:, even] = random.uniform(-math.sqrt(3.0), math.sqrt(3.0), (shape[0], int(np.sum(even))))
    return found
