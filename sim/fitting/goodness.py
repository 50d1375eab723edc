"""Whether what remains of a fit is chance: its size, and whether it comes in runs of one sign."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from scipy import stats

from keyaction.sim.fitting.least import Floats

ODDS = 1e-3
"""Odds below which chance is not believed."""
_LEFT_OUT = 1e-9
"""Residuals that are nothing have no sign."""


@dataclass(frozen=True)
class Stretch:
    """Residuals of one sign side by side that stand out: places of the first and the last, and their mean."""

    first: int
    last: int
    mean: float


@dataclass(frozen=True)
class Goodness:
    """What is to be said of the residuals of a fit.

    Attributes
    ----------
    squares : float
        Their sum of squares.
    freedom : float
    odds : float
        Of so great a sum by chance, where errors are stated; NaN else.
    runs, expected : float
        Runs of one sign in the residuals, and how many chance makes.
    run_odds : float
        Of so few runs by chance; NaN where there are too few residuals.
    worst : Stretch, optional
        Where it is worst.
    """

    squares: float
    freedom: float
    odds: float
    runs: float
    expected: float
    run_odds: float
    worst: Stretch | None

    @property
    def good(self) -> bool:
        """Whether chance explains what remains."""
        return not any(odds < ODDS for odds in (self.odds, self.run_odds))


def goodness(residuals: Floats, freedom: float, stated: bool, ordered: Floats | None = None) -> Goodness:
    """Judge residuals by their sum of squares and their runs.

    Runs: A. Wald and J. Wolfowitz, Ann. Math. Statist. 11 (1940) 147-162 (from memory); the normal approximation, from
    20 residuals on.

    Parameters
    ----------
    residuals : (n,) array
        All of them, each over its error.
    freedom : float
        Residuals beyond the unknowns.
    stated : bool
        Whether those errors are known.
    ordered : (m,) array, optional
        Those that have an order, in it; none by default.
    """
    squares = float(residuals @ residuals)
    odds = float(stats.chi2.sf(squares, freedom)) if stated and freedom > 0 else math.nan
    signs = np.array([]) if ordered is None else ordered
    runs, expected, run_odds = _runs(signs)
    return Goodness(squares, freedom, odds, runs, expected, run_odds, _worst(signs))


def _runs(ordered: Floats) -> tuple[float, float, float]:
    signs = np.sign(ordered[np.abs(ordered) > _LEFT_OUT])
    up, down = int(np.sum(signs > 0)), int(np.sum(signs < 0))
    n = up + down
    if n < 20:
        return math.nan, math.nan, math.nan
    runs = 1 + int(np.sum(signs[1:] != signs[:-1]))
    expected = 1 + 2 * up * down / n
    variance = (expected - 1) * (expected - 2) / (n - 1)
    if variance <= 0:
        return float(runs), expected, 0.0
    return float(runs), expected, float(stats.norm.cdf((runs + 0.5 - expected) / math.sqrt(variance)))


def _worst(ordered: Floats) -> Stretch | None:
    """The stretch of residuals whose sum over the root of its length is greatest."""
    n = len(ordered)
    if n < 2:
        return None
    sums = np.concatenate([[0.0], np.cumsum(ordered)])
    best, place = 0.0, (0, 0)
    for length in range(1, max(n // 2, 1) + 1):
        along = np.abs(sums[length:] - sums[:-length]) / math.sqrt(length)
        i = int(np.argmax(along))
        if along[i] > best:
            best, place = float(along[i]), (i, i + length - 1)
    first, last = place
    return Stretch(first, last, float(np.mean(ordered[first : last + 1])))
