"""What an input of a study may be: a range, a normal distribution, or a list of choices."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cached_property, lru_cache
from statistics import NormalDist
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr, ndtri

from keyaction.models.fields.values import Scalar

Floats = NDArray[np.float64]
NORMAL_CUT = 3.0
"""Standard deviations at which a stated normal distribution is cut off."""
_STANDARD = NormalDist()
_BELOW = _STANDARD.cdf(-NORMAL_CUT)
_KEPT = math.sqrt(1.0 - 2.0 * NORMAL_CUT * _STANDARD.pdf(NORMAL_CUT) / (1.0 - 2.0 * _BELOW))
"""Standard deviation that a standard normal distribution keeps when it is cut off."""
_FINE = 4000


def _cut_normal(u: Floats, cut: float) -> Floats:
    """Standard normal values of shares `u`, cut off at `cut` on both sides."""
    outside = ndtr(-cut)
    return np.asarray(np.clip(ndtri(outside + np.asarray(u) * (1 - 2 * outside)), -cut, cut))


def _each(function: Callable[[float], float], values: Floats) -> Floats:
    """A function of plain numbers of each value."""
    return np.fromiter(map(function, values.ravel().tolist()), np.float64, values.size).reshape(values.shape)


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
class Deviation:
    """How far a figure is from what the case gives: a factor about 1, or a difference about 0.

    A normal factor has a normal logarithm, so that no stiffness or friction falls below zero; for small sizes that is
    the normal distribution about 1. Normal ones are cut off at three standard deviations and widened so that the
    standard deviation is the size that is stated.

    Parameters
    ----------
    size : float
        Standard deviation, or half the width of an even one; a share, or in SI units.
    factor, even : bool
    least, most : float
        Ends beyond which none lies: those of a field's allowed range.
    """

    size: float
    factor: bool = False
    even: bool = False
    least: float = -math.inf
    most: float = math.inf

    def at(self, u: Floats) -> Floats:
        """Deviations below which the share `u` (0 to 1) lies."""
        u = np.asarray(u, dtype=float)
        least, most = self.least, self.most
        if self.size == 0.0 or self._free(least, most):
            return self.several(u, least, most)
        low, high = self._share_below(least), self._share_below(most)
        found = self._of_each(low + u * (high - low))
        found = np.where(least > found, least, found)
        return np.where(most < found, most, found)

    def several(self, u: Floats, least: float | Floats, most: float | Floats) -> Floats:
        """As `one` of each share `u`, with ends of its own."""
        if self.size == 0.0:
            return np.full(u.shape, self.middle)
        free = np.broadcast_to(self._free(least, most), u.shape)
        if free.all():
            return self._of_each(u)
        found, ends = self._of_each(u), np.broadcast_arrays(u, least, most)
        for i in zip(*np.nonzero(~free), strict=True):
            share, *own = (float(one[i]) for one in ends)
            found[i] = self.one(share, (own[0], own[1]))
        return found

    def one(self, u: float, ends: tuple[float, float] | None = None) -> float:
        """The deviation below which the share `u` lies; `ends` in place of its own."""
        least, most = ends or (self.least, self.most)
        if self.size == 0.0:
            return self.middle
        if self._free(least, most):
            return self._of(u)
        low, high = self._share_below(least), self._share_below(most)
        return min(max(self._of(low + u * (high - low)), least), most)

    @property
    def middle(self) -> float:
        """No deviation: 1 of a factor, 0 of a difference."""
        return 1.0 if self.factor else 0.0

    @property
    def ends(self) -> tuple[float, float]:
        """Lowest and highest."""
        return self.one(0.0), self.one(1.0)

    @property
    def sd(self) -> float:
        """Its standard deviation, as a share or in SI units."""
        return _standard_deviation(self)

    @property
    def around(self) -> tuple[float, float, float]:
        """A standard deviation below the middle and above it, inside the ends; what half their distance must be
        multiplied by to be the standard deviation.
        """
        step = self.size / math.sqrt(3.0) if self.even else self._width if self.factor else self.size
        ends = [math.exp(s * step) if self.factor and not self.even else self.middle + s * step for s in (-1.0, 1.0)]
        low, high = (min(max(end, self.least), self.most) for end in ends)
        return low, high, 1.0 if self._free(self.least, self.most) or high <= low else self.sd / ((high - low) / 2.0)

    def within(self, least: float, most: float) -> Deviation:
        """The same with other ends."""
        return replace(self, least=least, most=most)

    def _free(self, least: Any, most: Any) -> Any:
        """Whether ends lie beyond where it ends by itself; of arrays which of them."""
        return (least <= self._reach[0]) & (self._reach[1] <= most)

    def _of_each(self, u: Floats) -> Floats:
        """`_of` of each share, to the last bit."""
        if self.even:
            return self.middle + self.size * (2.0 * u - 1.0)
        cut = np.clip(_BELOW + u * (1.0 - 2.0 * _BELOW), _BELOW, 1.0 - _BELOW)
        z = _each(_STANDARD.inv_cdf, cut) / _KEPT
        return _each(math.exp, self._width * z) if self.factor else self.size * z

    def _of(self, u: float) -> float:
        """Without regard to the ends."""
        if self.even:
            return self.middle + self.size * (2.0 * u - 1.0)
        cut = _BELOW + u * (1.0 - 2.0 * _BELOW)
        z = _STANDARD.inv_cdf(min(max(cut, _BELOW), 1.0 - _BELOW)) / _KEPT
        return math.exp(self._width * z) if self.factor else self.size * z

    def _share_below(self, end: float) -> float:
        """The share `u` at which `_of` reaches an end."""
        if math.isinf(end):
            return 0.0 if end < 0.0 else 1.0
        if self.even:
            found = ((end - self.middle) / self.size + 1.0) / 2.0
        elif self.factor and end <= 0.0:
            return 0.0
        else:
            z = math.log(end) / self._width if self.factor else end / self.size
            found = (_STANDARD.cdf(z * _KEPT) - _BELOW) / (1.0 - 2.0 * _BELOW)
        return min(max(found, 0.0), 1.0)

    @cached_property
    def _reach(self) -> tuple[float, float]:
        """Where it ends by itself."""
        return self._of(0.0), self._of(1.0)

    @cached_property
    def _width(self) -> float:
        """Standard deviation of the logarithm of a normal factor."""
        return math.sqrt(math.log1p(self.size**2))


@lru_cache(maxsize=10_000)
def _standard_deviation(one: Deviation) -> float:
    """Many tolerances are of one size, and every process and question asks again."""
    return float(np.std(one.at((np.arange(_FINE) + 0.5) / _FINE)))


@dataclass(frozen=True)
class Choices:
    """One of several values, or of several named sets of values, all alike in weight."""

    values: tuple[Scalar, ...]

    def at(self, u: Floats) -> NDArray[np.int64]:
        """Numbers of the choices at the shares `u` (0 to 1)."""
        count = len(self.values)
        return np.minimum((np.asarray(u) * count).astype(np.int64), count - 1)


Span = Range | Normal | Deviation | Choices
