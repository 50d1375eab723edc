"""What an input of a study may be: a range, a normal distribution, or a list of choices."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr, ndtri

from keyaction.models.fields.values import Scalar

Floats = NDArray[np.float64]
NORMAL_CUT = 3.0
"""Standard deviations at which a stated normal distribution is cut off."""
SPREAD_CUT = 2.0
"""Standard deviations at which the spread of a material or of an assumption is cut off."""


def _cut_normal(u: Floats, cut: float) -> Floats:
    """Standard normal values of shares `u`, cut off at `cut` on both sides."""
    outside = ndtr(-cut)
    return np.asarray(np.clip(ndtri(outside + np.asarray(u) * (1 - 2 * outside)), -cut, cut))


@dataclass(frozen=True)
class Range:
    """Evenly spread between two ends, over the values or over their logarithms."""

    low: float
    high: float
    log: bool = False

    def at(self, u: Floats) -> Floats:
        """Values at the shares `u` (0 to 1) of the range."""
        u = np.asarray(u, dtype=float)
        found = self.low ** (1 - u) * self.high**u if self.log else self.low + u * (self.high - self.low)
        return np.clip(found, self.low, self.high)

    @property
    def ends(self) -> tuple[float, float]:
        """Lowest and highest value."""
        return self.low, self.high


@dataclass(frozen=True)
class Normal:
    """A normal distribution, cut off at three standard deviations."""

    mean: float
    sd: float

    def at(self, u: Floats) -> Floats:
        """Values below which the share `u` (0 to 1) lies."""
        return self.mean + self.sd * _cut_normal(u, NORMAL_CUT)

    @property
    def ends(self) -> tuple[float, float]:
        """Lowest and highest value."""
        return self.mean - NORMAL_CUT * self.sd, self.mean + NORMAL_CUT * self.sd


@dataclass(frozen=True)
class Spread:
    """A factor with median 1 whose logarithm is normal, cut off at two standard deviations.

    For small spreads this is the normal distribution about 1; a spread of 60 % would take that below zero,
    which no stiffness or friction can be.
    """

    share: float

    def at(self, u: Floats) -> Floats:
        """Factors below which the share `u` (0 to 1) lies."""
        return np.asarray(np.exp(np.sqrt(np.log1p(self.share**2)) * _cut_normal(u, SPREAD_CUT)))

    @property
    def ends(self) -> tuple[float, float]:
        """Lowest and highest factor."""
        low, high = self.at(np.array([0.0, 1.0]))
        return float(low), float(high)


@dataclass(frozen=True)
class Choices:
    """One of several values, or of several named sets of values, all alike in weight."""

    values: tuple[Scalar, ...]

    def at(self, u: Floats) -> NDArray[np.int64]:
        """Numbers of the choices at the shares `u` (0 to 1)."""
        count = len(self.values)
        return np.minimum((np.asarray(u) * count).astype(np.int64), count - 1)


Span = Range | Normal | Spread | Choices
