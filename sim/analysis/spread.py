"""Least, middle and largest value of a quantity that is read piece by piece."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from keyaction.sim.analysis.indices import STEADY

Floats = NDArray[np.float64]

KEPT = 1 << 17
"""Values up to which the median is that of all of them together, and above which they are counted in steps."""
STEPS = 1 << 13
"""Steps in which the values about the median are counted."""
_ABOUT = 0.1
"""Share of a sample on each side of its median within which the median of all is looked for first."""


@dataclass(frozen=True)
class Spread:
    """How a quantity spreads over designs, SI; NaN where no design has a value.

    Attributes
    ----------
    least, median, largest : float
        The median of more than 131072 values is the mean of those within a step of about 1 / 8192 of the middle fifth.
    count : int
        Designs with a value.
    varies : bool
        Whether the values differ by more than rounding.
    """

    least: float
    median: float
    largest: float
    count: int
    varies: bool


class SpreadSums:
    """What is kept of the pieces."""

    def __init__(self) -> None:
        self.count = 0
        self.least, self.largest = np.inf, -np.inf
        self._base = self._sum = self._squares = 0.0
        self._kept: list[Floats] = []

    def add(self, values: Floats) -> None:
        """Take the next piece; NaN is no value."""
        there = values[np.isfinite(values)]
        if not len(there):
            return
        if not self.count:
            self._base = float(there[0])
        self.count += len(there)
        self.least, self.largest = min(self.least, float(there.min())), max(self.largest, float(there.max()))
        off = there - self._base
        self._sum += float(off.sum())
        self._squares += float(np.sum(np.square(off, out=off)))
        if self.count <= KEPT:
            self._kept.append(there)
        else:
            self._kept.clear()

    @property
    def varies(self) -> bool:
        """Whether the values differ by more than rounding."""
        if not self.count:
            return False
        variance = max(self._squares / self.count - (self._sum / self.count) ** 2, 0.0)
        return bool(np.sqrt(variance) > STEADY * max(abs(self.least), abs(self.largest)))

    @property
    def kept(self) -> Floats | None:
        """All values, if they are few."""
        return np.concatenate(self._kept) if self._kept else None

    def spread(self, median: float) -> Spread:
        """The figures, with a median."""
        if not self.count:
            return Spread(np.nan, np.nan, np.nan, 0, False)
        return Spread(self.least, median, self.largest, self.count, self.varies)


class MedianSteps:
    """The median of many values: those below a bracket are counted, those within it counted in steps.

    Parameters
    ----------
    low, high : float
        The bracket.
    """

    def __init__(self, low: float, high: float) -> None:
        self.low, self.high = low, high
        self.below = self.count = 0
        self._counts, self._sums = np.zeros(STEPS, dtype=np.int64), np.zeros(STEPS)

    def add(self, values: Floats) -> None:
        """Take the next piece."""
        there = values[np.isfinite(values)]
        self.count += len(there)
        self.below += int(np.count_nonzero(there < self.low))
        inside = there[(there >= self.low) & (there <= self.high)]
        off = inside - self.low
        share = off / (self.high - self.low) if self.high > self.low else np.zeros(len(inside))
        step = np.minimum((share * STEPS).astype(np.int64), STEPS - 1)
        self._counts += np.bincount(step, minlength=STEPS)
        self._sums += np.bincount(step, off, minlength=STEPS)

    @property
    def _ranks(self) -> tuple[int, int]:
        """Numbers of the one or two values in the middle, in rising order."""
        return (self.count - 1) // 2, self.count // 2

    def outside(self) -> int:
        """-1 or 1 if the median lies below or above the bracket."""
        first, last = self._ranks
        if first < self.below:
            return -1
        return 1 if last >= self.below + int(self._counts.sum()) else 0

    def median(self) -> float:
        """The median, if it lies within the bracket."""
        ends = self.below + np.cumsum(self._counts)
        at = [int(np.searchsorted(ends, rank, side="right")) for rank in self._ranks]
        return float(self.low + np.mean([self._sums[i] / self._counts[i] for i in at]))


def bracket(sample: Floats) -> tuple[float, float]:
    """Where the median is looked for first, from some of the values."""
    there = sample[np.isfinite(sample)]
    if not len(there):
        return 0.0, 0.0
    low, high = np.quantile(there, (0.5 - _ABOUT, 0.5 + _ABOUT))
    return float(low), float(high)
