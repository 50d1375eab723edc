"""Which inputs a quantity depends on: Sobol' indices and Morris screening, with bootstrap confidence.

Sources: I. M. Sobol', "Sensitivity estimates for nonlinear mathematical models", Mathematical Modelling and
Computational Experiment 1 (1993) 407-414; M. J. W. Jansen, "Analysis of variance designs for model output",
Computer Physics Communications 117 (1999) 35-43; A. Saltelli, "Making best use of model evaluations to compute
sensitivity indices", Computer Physics Communications 145 (2002) 280-297; A. Saltelli, P. Annoni, I. Azzini,
F. Campolongo, M. Ratto and S. Tarantola, "Variance based sensitivity analysis of model output", Computer Physics
Communications 181 (2010) 259-270, table 2; M. D. Morris, "Factorial sampling plans for preliminary computational
experiments", Technometrics 33 (1991) 161-174; F. Campolongo, J. Cariboni and A. Saltelli, "An effective screening
design for sensitivity analysis of large models", Environmental Modelling & Software 22 (2007) 1509-1518 (mu*).
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]

CONFIDENCE = 0.95
RESAMPLES = 1000
STEADY = 1e-12
"""Standard deviation over largest value at or below which a quantity does not vary: rounding only."""
_SAME = 1e-9
"""Difference in the unit cube below which an input has not moved."""
_AT_ONCE = 1_000_000
"""Random numbers drawn at one time, to bound the memory."""
GROUPS = 1024
"""Base points, or trajectories, that the bootstrap draws one by one; more are put into so many groups at random."""


@dataclass(frozen=True)
class Estimate:
    """Estimates with their confidence interval, all of one shape; NaN where there is none."""

    value: Floats
    low: Floats
    high: Floats


@dataclass(frozen=True)
class SobolIndices:
    """Shares of a quantity's variance.

    Attributes
    ----------
    first, total : Estimate
        (k,): of each input alone, and with all its interactions.
    second : Estimate or None
        (k, k): interaction of two inputs, above the diagonal; NaN elsewhere.
    variance : float
        Of the quantity, its unit squared.
    used, dropped : int
        Base points that served, and those that did not because a design of theirs has no value.
    """

    first: Estimate
    total: Estimate
    second: Estimate | None
    variance: float
    used: int
    dropped: int


FEW = 32
"""Base points below which percentiles of a bootstrap are themselves guesses (assumed)."""
WIDE = 0.2
"""Width of an interval, as a share of the variance, from which on inputs are not ranked by it (assumed)."""
_ABOVE = 0.02
"""How far a first order must lie above its total to be told (assumed): by less, both are called equal."""


def doubts(found: SobolIndices, names: Sequence[str]) -> list[str]:
    """What speaks against believing the indices, in words; empty where nothing does.

    Parameters
    ----------
    found : SobolIndices
    names : (k,) sequence of str
        Of the inputs.
    """
    told = []
    if found.used < FEW:
        points = f"{found.used} base point{'' if found.used == 1 else 's'}"
        told.append(f"only {points}: neither the indices nor their intervals can be trusted (256 is usual)")
    widths = np.concatenate([part.high - part.low for part in (found.first, found.total)])
    if found.used >= FEW and np.any(widths > WIDE):
        told.append(f"intervals are up to {np.nanmax(widths):.2f} wide: more base points before inputs are ranked")
    above = np.flatnonzero(found.first.value > found.total.value + _ABOVE)
    if len(above):
        named = ", ".join(names[int(i)] for i in above[:3]) + (" and others" if len(above) > 3 else "")
        told.append(f"first order above total, which only chance makes: {named}")
    if found.dropped:
        share = found.dropped / (found.used + found.dropped)
        told.append(
            f"{found.dropped} of {found.used + found.dropped} base points ({share:.0%}) are left out, as a design of "
            "theirs has no value: the indices hold for the others"
        )
    return told


@dataclass(frozen=True)
class MorrisScreening:
    """Elementary effects: change of the quantity per whole range of an input.

    Attributes
    ----------
    mu, mu_star, sigma : Estimate
        (k,): mean, mean size and standard deviation of the effects, the quantity's unit.
    effects : (k,) array of int
        Effects that served for each input.
    dropped : int
        Effects, of all inputs together, that a design without a value spoils.
    """

    mu: Estimate
    mu_star: Estimate
    sigma: Estimate
    effects: NDArray[np.int64]
    dropped: int


def sobol_rows(n_inputs: int, second_order: bool = False) -> int:
    """Rows of one base point: A, AB^1 ... AB^k, (BA^1 ... BA^k,) B."""
    return (2 if second_order else 1) * n_inputs + 2


def sobol_indices(
    values: ArrayLike,
    n_inputs: int,
    second_order: bool = False,
    confidence: float = CONFIDENCE,
    resamples: int = RESAMPLES,
    seed: int = 0,
) -> SobolIndices:
    """Estimate the Sobol' indices of one quantity.

    Parameters
    ----------
    values : (rows,) array
        The quantity in the order of the plan: for each base point A, AB^1 ... AB^k, B, where AB^i is A with
        its i-th input from B; with `second_order` BA^1 ... BA^k stand before B. NaN for a design that failed.
    n_inputs : int
        k.
    second_order : bool
        Whether the plan has the rows BA^i.
    confidence : float
        Share of the bootstrap distribution between low and high.
    resamples : int
        Bootstrap samples of base points, with replacement; of more than 1024 points, of 1024 groups of them. Points of
        a sequence that fills space evenly are taken as independent, so the interval is rather too wide than too narrow.
    seed : int

    Returns
    -------
    SobolIndices
        First order as (b), total as (f) in table 2 of Saltelli et al. 2010 (the latter is Jansen's); second order
        as Saltelli 2002. All NaN if fewer than two base points are whole or the quantity does not vary.

    Raises
    ------
    ValueError
        If the rows are no whole number of base points.
    """
    rows = sobol_rows(n_inputs, second_order)
    y = np.asarray(values, dtype=np.float64)
    if n_inputs < 1 or y.ndim != 1 or y.size % rows:
        raise ValueError(f"{y.size} values are no whole number of base points of {rows} rows ({n_inputs} inputs)")
    sums = SobolSums(n_inputs, second_order, y.size // rows)
    sums.add(y)
    return sums.indices(confidence, resamples, seed)


class SobolSums:
    """Sobol' indices of a quantity that is read piece by piece.

    Parameters
    ----------
    n_inputs, second_order
        As for `sobol_indices`.
    points : int
        Base points of all pieces.
    """

    def __init__(self, n_inputs: int, second_order: bool, points: int) -> None:
        self._k, self._second = n_inputs, second_order
        self._rows = sobol_rows(n_inputs, second_order)
        self._groups, self._dropped = _Groups(points), 0
        self._products = np.zeros((self._groups.count, self._rows + 1, self._rows + 1))
        self._first = float("nan")

    def add(self, values: Floats) -> None:
        """Take the next piece: whole base points, in the order of the plan."""
        points = values.reshape(-1, self._rows)
        whole = np.all(np.isfinite(points), axis=1)
        self._dropped += int(len(whole) - whole.sum())
        if np.isnan(self._first) and np.any(whole):
            self._first = float(points[np.argmax(whole), 0])
        base = float(np.nan_to_num(self._first))
        if not np.all(whole):
            points = np.where(whole[:, None], points, base)
        k, table = self._k, np.empty((len(points), self._rows + 1))
        table[:, 0] = whole
        table[:, 1], table[:, -1] = points[:, 0] - base, points[:, -1] - base
        np.subtract(points[:, 1 : k + 1], points[:, :1], out=table[:, 2 : k + 2])
        if self._second:
            np.subtract(points[:, k + 1 : 2 * k + 1], points[:, -1:], out=table[:, k + 2 : 2 * k + 2])
        grouped = self._groups.split(table)
        self._products += np.matmul(grouped.transpose(0, 2, 1), grouped)

    def indices(self, confidence: float = CONFIDENCE, resamples: int = RESAMPLES, seed: int = 0) -> SobolIndices:
        """What the pieces tell, as `sobol_indices` gives it."""
        k, pairs = self._k, np.triu_indices(self._k, 1) if self._second else None
        whole = self._products.sum(axis=0)
        used = round(float(whole[0, 0]))
        size = abs(self._first) + (np.sqrt(max(float(whole[1, 1] + whole[-1, -1]), 0.0)) if used else 0.0)
        variance = self._variance(whole)
        if used < 2 or not np.sqrt(variance) > STEADY * size:
            return _no_indices(k, self._second, used, self._dropped)
        moments = self._moments(self._mean(whole), pairs)

        def shares(sums: Floats) -> Floats:
            return _shares(sums[..., 1:] / sums[..., :1], k, pairs)

        estimate = _with_interval(moments, shares, confidence, resamples, seed)
        first, total, both = (
            Estimate(*(part[cut] for part in (estimate.value, estimate.low, estimate.high)))
            for cut in (slice(0, k), slice(k, 2 * k), slice(2 * k, None))
        )
        return SobolIndices(first, total, _square(both, k, pairs), variance, used, self._dropped)

    @staticmethod
    def _variance(whole: Floats) -> float:
        """Of the rows A and B together."""
        count = 2 * max(float(whole[0, 0]), 1.0)
        mean = float(whole[0, 1] + whole[0, -1]) / count
        return max(float(whole[1, 1] + whole[-1, -1]) / count - mean**2, 0.0)

    def _mean(self, whole: Floats) -> float:
        """Of all rows, less the first value."""
        sides = 1 + self._k if self._second else 1
        sums = (self._k + 1) * whole[0, 1] + sides * whole[0, -1] + whole[0, 2:-1].sum()
        return float(sums / whole[0, 0] / self._rows)

    def _moments(self, mean: float, pairs: tuple[NDArray[np.int64], ...] | None) -> Floats:
        """Sums of each group whose ratios give the indices: the count, 4 for the variance, first, total, second order.

        The products are of A, B and the differences AB - A, BA - B; here they are centred.
        """
        m, k = self._products[self._products[:, 0, 0] > 0], self._k
        count, moves = m[:, 0, :1], slice(2, k + 2)
        a, b = (m[:, 0, i, None] - mean * count for i in (1, -1))
        squares = [m[:, i, i, None] - 2 * mean * m[:, 0, i, None] + mean**2 * count for i in (1, -1)]
        by_b = m[:, -1, moves] - mean * m[:, 0, moves]
        columns = [count, a, squares[0], b, squares[1], by_b, np.diagonal(m, axis1=1, axis2=2)[:, moves] / 2]
        if pairs is not None:
            back = k + 2 + pairs[0]
            by_a = m[:, 1, back] - mean * m[:, 0, back]
            columns.append(m[:, back, 2 + pairs[1]] + by_a + by_b[:, pairs[1]])
        return np.hstack(columns)


class _Groups:
    """Members put into groups at random, piece by piece; each is a group of its own where they are few."""

    def __init__(self, members: int) -> None:
        self.single = members <= GROUPS
        self.count = members if self.single else GROUPS
        self._pieces = self._done = 0

    def split(self, table: Floats) -> Floats:
        """The rows of the next piece, (groups, members, columns), with zeros where there are none."""
        n = len(table)
        if self.single:
            found = np.zeros((self.count, 1, table.shape[1]))
            found[self._done : self._done + n, 0] = table
            self._done += n
            return found
        each = -(-n // self.count)
        order = _shuffled(each * self.count, self._pieces)
        self._pieces += 1
        if n < len(order):
            table = np.concatenate([table, np.zeros((len(order) - n, table.shape[1]))])
        return table[order].reshape(self.count, each, -1)


@lru_cache(maxsize=2)
def _shuffled(count: int, piece: int) -> NDArray[np.int64]:
    return np.random.default_rng([count, piece]).permutation(count)


def varies(values: Floats) -> bool:
    """Whether values differ by more than rounding."""
    return bool(values.size and np.std(values) > STEADY * np.max(np.abs(values)))


def _no_indices(k: int, second_order: bool, used: int, dropped: int) -> SobolIndices:
    none = Estimate(*(np.full(k, np.nan) for _ in range(3)))
    second = Estimate(*(np.full((k, k), np.nan) for _ in range(3))) if second_order else None
    return SobolIndices(none, none, second, 0.0 if used > 1 else float("nan"), used, dropped)


def _shares(means: Floats, k: int, pairs: tuple[NDArray[np.int64], ...] | None) -> Floats:
    """Indices from means of the terms, (..., terms)."""
    variance = (means[..., 1] + means[..., 3]) / 2 - ((means[..., 0] + means[..., 2]) / 2) ** 2
    found = means[..., 4:] / np.where(variance > 0, variance, np.nan)[..., None]
    if pairs is not None:
        found[..., 2 * k :] -= found[..., pairs[0]] + found[..., pairs[1]]
    return found


def _square(flat: Estimate, k: int, pairs: tuple[NDArray[np.int64], ...] | None) -> Estimate | None:
    if pairs is None:
        return None
    parts = []
    for values in (flat.value, flat.low, flat.high):
        square = np.full((k, k), np.nan)
        square[pairs] = values
        parts.append(square)
    return Estimate(*parts)


def _draws(count: int, resamples: int, seed: int) -> Iterator[Floats]:
    """How often each of `count` members is in each bootstrap sample, some samples at a time."""
    at_once = max(1, _AT_ONCE // count)
    for part, start in enumerate(range(0, resamples, at_once)):
        yield _drawn(count, min(at_once, resamples - start), seed, part)


@lru_cache(maxsize=4)
def _drawn(count: int, size: int, seed: int, part: int) -> Floats:
    """The samples of a part: the same for every quantity."""
    chosen = np.random.default_rng([seed, part]).integers(count, size=(size, count)) + count * np.arange(size)[:, None]
    return np.bincount(chosen.ravel(), minlength=size * count).reshape(size, count).astype(np.float64)


def _with_interval(
    sums: Floats, figure: Callable[[Floats], Floats], confidence: float, resamples: int, seed: int
) -> Estimate:
    """A figure of the sums over all groups, with the percentiles of its bootstrap distribution."""
    spread = np.concatenate([figure(draw @ sums) for draw in _draws(len(sums), resamples, seed)])
    there = np.any(np.isfinite(spread), axis=0)
    ends = np.full((2, spread.shape[1]), np.nan)
    ends[:, there] = np.nanquantile(spread[:, there], (0.5 - confidence / 2, 0.5 + confidence / 2), axis=0)
    return Estimate(figure(np.sum(sums, axis=0)), ends[0], ends[1])


def elementary_effects(values: ArrayLike, points: ArrayLike) -> Floats:
    """Elementary effects of each trajectory.

    Parameters
    ----------
    values : (r * (k + 1),) array
        The quantity, trajectory by trajectory; NaN for a design that failed.
    points : (r * (k + 1), k) array
        Where the designs lie in the unit cube; from one to the next of a trajectory one input moves.

    Returns
    -------
    (r, k) array
        Change of the quantity over the step in the unit range; NaN where a design at either end failed.

    Raises
    ------
    ValueError
        If the shapes do not fit, or a step moves none or several inputs, or an input twice.
    """
    y, x = np.asarray(values, dtype=np.float64), np.asarray(points, dtype=np.float64)
    if x.ndim != 2 or y.shape != x.shape[:1] or len(y) % (x.shape[1] + 1):
        raise ValueError(f"{y.shape} values at {x.shape} points are no whole number of trajectories")
    return Steps(x).effects(y)


class Steps:
    """Which input moves how far at each step of trajectories.

    Parameters
    ----------
    points : (r * (k + 1), k) array
        As for `elementary_effects`; NaN in trajectories that are not whole, which have no effects.

    Raises
    ------
    ValueError
        If a step moves none or several inputs, or an input twice.
    """

    def __init__(self, points: Floats) -> None:
        k = points.shape[1]
        steps = np.diff(points.reshape(-1, k + 1, k), axis=1)
        self.whole = np.all(np.isfinite(steps), axis=(1, 2))
        steps = steps[self.whole]
        moved = np.abs(steps) > _SAME
        wrong = np.any(moved.sum(axis=1) != 1, axis=1) | np.any(moved.sum(axis=2) != 1, axis=1)
        if np.any(wrong):
            number = int(np.flatnonzero(self.whole)[np.argmax(wrong)])
            raise ValueError(f"trajectory {number}: its steps do not move each input once, one at a time")
        self._which = np.argmax(moved, axis=1)
        self._lengths = np.take_along_axis(steps, self._which[:, None, :], axis=1)[:, 0, :]

    def effects(self, values: Floats) -> Floats:
        """Elementary effects of the whole trajectories, as `elementary_effects` gives them."""
        k = self._which.shape[1]
        changes = np.diff(values.reshape(-1, k + 1)[self.whole], axis=1)
        return np.asarray(np.take_along_axis(changes, self._which, axis=1) / self._lengths)


def morris_screening(
    values: ArrayLike,
    points: ArrayLike,
    confidence: float = CONFIDENCE,
    resamples: int = RESAMPLES,
    seed: int = 0,
) -> MorrisScreening:
    """Screen the inputs of one quantity by their elementary effects.

    Parameters
    ----------
    values, points
        As for `elementary_effects`.
    confidence, resamples, seed
        As for `sobol_indices`; whole trajectories are drawn.

    Returns
    -------
    MorrisScreening
        NaN for an input with no effect left; no `sigma` with fewer than two.

    Raises
    ------
    ValueError
        As `elementary_effects`.
    """
    effects = elementary_effects(values, points)
    sums = MorrisSums(effects.shape[1], len(effects))
    sums.add(effects)
    return sums.screening(confidence, resamples, seed)


class MorrisSums:
    """Morris screening of a quantity whose elementary effects come piece by piece.

    Parameters
    ----------
    n_inputs, trajectories : int
        k; trajectories of all pieces, at most.
    """

    def __init__(self, n_inputs: int, trajectories: int) -> None:
        self._k, self._groups = n_inputs, _Groups(trajectories)
        self._sums = np.zeros((self._groups.count, 1 + 5 * n_inputs))
        self._dropped, self._middle = 0, np.full(n_inputs, np.nan)

    def add(self, effects: Floats) -> None:
        """Take the effects of the next trajectories, (r, k)."""
        there = np.isfinite(effects)
        counts = there.sum(axis=0)
        self._dropped += int(there.size - counts.sum())
        known = np.where(there, effects, 0.0)
        fresh = np.isnan(self._middle) & (counts > 0)
        self._middle[fresh] = (known.sum(axis=0) / np.maximum(counts, 1))[fresh]
        off = np.where(there, known - self._middle, 0.0)
        terms = [np.ones((len(effects), 1)), there, known, np.abs(known), off, off**2]
        self._sums += self._groups.split(np.hstack(terms)).sum(axis=1)

    def screening(self, confidence: float = CONFIDENCE, resamples: int = RESAMPLES, seed: int = 0) -> MorrisScreening:
        """What the pieces tell, as `morris_screening` gives it."""
        k, sums = self._k, self._sums[self._sums[:, 0] > 0, 1:]

        def figures(sums: Floats) -> Floats:
            return _mean_and_spread(sums, k)

        if len(sums):
            estimate = _with_interval(sums, figures, confidence, resamples, seed)
        else:
            estimate = Estimate(*(np.full(3 * k, np.nan) for _ in range(3)))
        mu, mu_star, sigma = (
            Estimate(*(part[i * k : (i + 1) * k] for part in (estimate.value, estimate.low, estimate.high)))
            for i in range(3)
        )
        counts = np.round(sums[:, :k].sum(axis=0)).astype(np.int64)
        return MorrisScreening(mu, mu_star, sigma, counts, self._dropped)


def _mean_and_spread(sums: Floats, k: int) -> Floats:
    """mu, mu* and sigma of every input from the sums of the five terms, (..., 5 k)."""
    count, plain, size, off, square = (sums[..., i * k : (i + 1) * k] for i in range(5))
    there = np.where(count > 0, count, np.nan)
    several = np.where(count > 1.5, count, np.nan)
    variance = np.maximum(square / there - (off / there) ** 2, 0.0) * several / (several - 1)
    return np.concatenate([plain / there, size / there, np.sqrt(variance)], axis=-1)
