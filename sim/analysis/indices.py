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

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]

CONFIDENCE = 0.95
RESAMPLES = 1000
_STEADY = 1e-12
"""Standard deviation over largest value at or below which a quantity does not vary: rounding only."""
_SAME = 1e-9
"""Difference in the unit cube below which an input has not moved."""
_AT_ONCE = 1_000_000
"""Random numbers drawn at one time, to bound the memory."""


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
        Bootstrap samples of base points, with replacement. Points of a sequence that fills space evenly are
        taken as independent, so the interval is rather too wide than too narrow.
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
    points = y.reshape(-1, rows)
    whole = points[np.all(np.isfinite(points), axis=1)]
    dropped = len(points) - len(whole)
    pairs = np.triu_indices(n_inputs, 1) if second_order else None
    if len(whole) < 2 or not varies(whole[:, [0, -1]]):
        return _no_indices(n_inputs, second_order, len(whole), dropped)
    moments = _moments(whole, n_inputs, pairs)

    def shares(means: Floats) -> Floats:
        return _shares(means, n_inputs, pairs)

    estimate = _with_interval(moments, shares, confidence, resamples, seed)
    first, total, both = (
        Estimate(*(part[cut] for part in (estimate.value, estimate.low, estimate.high)))
        for cut in (slice(0, n_inputs), slice(n_inputs, 2 * n_inputs), slice(2 * n_inputs, None))
    )
    variance = float(np.var(whole[:, [0, -1]]))
    return SobolIndices(first, total, _square(both, n_inputs, pairs), variance, len(whole), dropped)


def varies(values: Floats) -> bool:
    """Whether values differ by more than rounding."""
    return bool(values.size and np.std(values) > _STEADY * np.max(np.abs(values)))


def _no_indices(k: int, second_order: bool, used: int, dropped: int) -> SobolIndices:
    none = Estimate(*(np.full(k, np.nan) for _ in range(3)))
    second = Estimate(*(np.full((k, k), np.nan) for _ in range(3))) if second_order else None
    return SobolIndices(none, none, second, 0.0 if used > 1 else float("nan"), used, dropped)


def _moments(points: Floats, k: int, pairs: tuple[NDArray[np.int64], ...] | None) -> Floats:
    """Terms of each base point whose means give the indices: 4 for the variance, then first, total, second order."""
    y = points - np.mean(points)
    a, b, ab = y[:, :1], y[:, -1:], y[:, 1 : k + 1]
    columns = [a, a**2, b, b**2, b * (ab - a), (a - ab) ** 2 / 2]
    if pairs is not None:
        ba = y[:, k + 1 : 2 * k + 1]
        columns.append(ba[:, pairs[0]] * ab[:, pairs[1]] - a * b)
    return np.hstack(columns)


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
    random, at_once = np.random.default_rng(seed), max(1, _AT_ONCE // count)
    for start in range(0, resamples, at_once):
        size = min(at_once, resamples - start)
        chosen = random.integers(count, size=(size, count)) + count * np.arange(size)[:, None]
        yield np.bincount(chosen.ravel(), minlength=size * count).reshape(size, count).astype(np.float64)


def _with_interval(
    terms: Floats, figure: Callable[[Floats], Floats], confidence: float, resamples: int, seed: int
) -> Estimate:
    """A figure of the terms' means, with the percentiles of its bootstrap distribution."""
    spread = np.concatenate([figure(draw @ terms / len(terms)) for draw in _draws(len(terms), resamples, seed)])
    there = np.any(np.isfinite(spread), axis=0)
    ends = np.full((2, spread.shape[1]), np.nan)
    ends[:, there] = np.nanquantile(spread[:, there], (0.5 - confidence / 2, 0.5 + confidence / 2), axis=0)
    return Estimate(figure(np.mean(terms, axis=0)), ends[0], ends[1])


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
    k = x.shape[1]
    steps = np.diff(x.reshape(-1, k + 1, k), axis=1)
    moved = np.abs(steps) > _SAME
    if not (np.all(moved.sum(axis=1) == 1) and np.all(moved.sum(axis=2) == 1)):
        wrong = int(np.flatnonzero(np.any(moved.sum(axis=1) != 1, axis=1) | np.any(moved.sum(axis=2) != 1, axis=1))[0])
        raise ValueError(f"trajectory {wrong}: its steps do not move each input once, one at a time")
    effects = np.diff(y.reshape(-1, k + 1), axis=1)[:, :, None] / np.where(moved, steps, np.nan)
    return np.asarray(np.take_along_axis(effects, np.argmax(moved, axis=1)[:, None, :], axis=1)[:, 0, :])


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
    r, k = effects.shape
    there = np.isfinite(effects)
    counts = there.sum(axis=0)
    known = np.where(there, effects, 0.0)
    middle = known.sum(axis=0) / np.maximum(counts, 1)
    off = np.where(there, known - middle, 0.0)
    terms = np.hstack([there, known, np.abs(known), off, off**2])

    def figures(means: Floats) -> Floats:
        return _mean_and_spread(means, k, r)

    if r:
        estimate = _with_interval(terms, figures, confidence, resamples, seed)
    else:
        estimate = Estimate(*(np.full(3 * k, np.nan) for _ in range(3)))
    mu, mu_star, sigma = (
        Estimate(*(part[i * k : (i + 1) * k] for part in (estimate.value, estimate.low, estimate.high)))
        for i in range(3)
    )
    return MorrisScreening(mu, mu_star, sigma, counts, int(there.size - counts.sum()))


def _mean_and_spread(means: Floats, k: int, r: int) -> Floats:
    """mu, mu* and sigma of every input from the means of the five terms, (..., 5 k)."""
    share, plain, size, off, square = (means[..., i * k : (i + 1) * k] for i in range(5))
    there = np.where(share > 0, share, np.nan)
    count = np.where(share * r > 1.5, share * r, np.nan)
    variance = np.maximum(square / there - (off / there) ** 2, 0.0) * count / (count - 1)
    return np.concatenate([plain / there, size / there, np.sqrt(variance)], axis=-1)
