"""How well none, one or two faults explain the figures of one note: marginal likelihoods on grids of amounts.

A note that is well regulated scatters about its drawing, by what `keyaction.sim.measuring.knobs.KINDS` calls good; the
readings add their errors. Both together are the covariance against which every fault is weighed.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray
from scipy.special import logsumexp

from keyaction.sim.diagnosis.curves import UNKNOWN, Curve
from keyaction.sim.motion.integrate import Floats

UNREAD = -6.0
"""Logarithm of how likely a figure is read off at a note that, as supposed, does not have it (assumed)."""
MISREAD = 8.0
"""Errors by which a figure that is misread is off, as a standard deviation (assumed)."""
_HEARD = np.log(
    np.array([
        # speaks, weak, hangs, mute, ciphers as heard; a row for each as supposed
        [0.955, 0.030, 0.006, 0.002, 0.007],
        [0.390, 0.550, 0.010, 0.040, 0.010],
        [0.150, 0.010, 0.750, 0.010, 0.080],
        [0.020, 0.120, 0.010, 0.840, 0.010],
        [0.150, 0.020, 0.070, 0.010, 0.750],
    ])
)  # fmt: skip
"""Logarithms of how likely a word stands in the sheet for what a note does: a faint cipher is missed, a weak note
passes (assumed)."""


@dataclass(frozen=True)
class Seen:
    """What one note shows.

    Attributes
    ----------
    left : (figures,) array
        What was read less what is computed, SI; NaN where either is not known.
    scatter : (figures, figures) array
        Its covariance in a well regulated action, errors of the readings included.
    error : (figures,) array
        Of the readings.
    heard : int
        What the note does as the sheet has it, by `keyaction.sim.diagnosis.curves.CODE`.
    speaks : int
        What it would do as drawn.
    """

    left: Floats
    scatter: Floats
    error: Floats
    heard: int
    speaks: int

    @cached_property
    def there(self) -> NDArray[np.bool_]:
        """Which figures are known."""
        return np.isfinite(self.left)

    @cached_property
    def whiten(self) -> Floats:
        """What makes known figures uncorrelated, of unit variance."""
        part = self.scatter[np.ix_(self.there, self.there)]
        return np.linalg.inv(np.linalg.cholesky(part)) if part.size else np.zeros((0, 0))

    @cached_property
    def z(self) -> Floats:
        """What is left in standard deviations, decorrelated."""
        return self.whiten @ self.left[self.there]

    @cached_property
    def squared(self) -> float:
        """Its sum of squares, chi-squared of as many degrees as there are figures in a note without a fault."""
        return float(self.z @ self.z)

    @cached_property
    def log_norm(self) -> float:
        """Logarithm of the density's factor."""
        return float(np.sum(np.log(np.diag(self.whiten)))) - 0.5 * len(self.z) * math.log(2.0 * math.pi)

    def whitened(self, change: Floats) -> tuple[Floats, Floats]:
        """Changes (m, figures) as `z` is, and the logarithm (m,) of what they cost by figures that should not be there.

        A figure that is read although it should not be there counts as met otherwise.
        """
        known = change[:, self.there]
        odd = ~np.isfinite(known)
        filled = np.where(odd, self.left[self.there], known)
        return filled @ self.whiten.T, UNREAD * np.sum(odd, axis=1)

    def hears(self, codes: NDArray[np.int64]) -> Floats:
        """Logarithm of how likely the word of the sheet is for what a note would do."""
        if self.heard == UNKNOWN:
            return np.zeros(codes.shape)
        found = _HEARD[np.maximum(codes, 0), self.heard]
        return np.where(codes == UNKNOWN, -math.log(len(_HEARD)), found)

    def without(self, figure: int) -> Seen:
        """The same with one figure misread by no one knows how much."""
        scatter = self.scatter.copy()
        scatter[figure, figure] += (MISREAD * self.error[figure]) ** 2
        return replace(self, scatter=scatter)


@dataclass(frozen=True)
class Evidence:
    """Logarithms of marginal likelihoods; of faults in the order of the curves.

    Attributes
    ----------
    none : float
        Without a fault.
    one : (h,) array
    two : (h, h) array
        Symmetric; -inf where both count as one cause.
    misread : (figures,) array
        Without a fault, one figure misread; -inf where it was not read.
    misread_one : (figures, h) array
        The same with a fault.
    """

    none: float
    one: Floats
    two: Floats
    misread: Floats
    misread_one: Floats


@dataclass(frozen=True)
class Weighed:
    """The curves of a note against what it shows; whitened points of all curves in one table."""

    seen: Seen
    curves: Sequence[Curve]

    @cached_property
    def starts(self) -> NDArray[np.int64]:
        """Where each curve begins in the tables."""
        return np.cumsum([0, *(len(one.amounts) for one in self.curves)])[:-1]

    @cached_property
    def prior(self) -> Floats:
        """Logarithms of how likely every amount is beforehand."""
        return np.concatenate([one.hypothesis.log_prior() for one in self.curves])

    @cached_property
    def codes(self) -> NDArray[np.int64]:
        """Speech at every amount."""
        return np.concatenate([one.speech for one in self.curves])

    @cached_property
    def change(self) -> Floats:
        """Change of every figure at every amount."""
        return np.vstack([one.change for one in self.curves])

    def single(self, seen: Seen) -> Floats:
        """Logarithm of likelihood times prior of every amount alone."""
        points, cost = seen.whitened(self.change)
        apart = seen.z - points
        fit = seen.log_norm - 0.5 * np.einsum("ij,ij->i", apart, apart)
        return np.asarray(fit + cost + seen.hears(self.codes) + self.prior)

    def double(self) -> Floats:
        """The same of every two amounts at once, their changes added: (points, points)."""
        seen = self.seen
        points, cost = seen.whitened(self.change)
        alone = -0.5 * np.einsum("ij,ij->i", points, points) + points @ seen.z + cost + self.prior
        both = alone[:, None] + alone[None, :] - points @ points.T
        both += seen.log_norm - 0.5 * seen.squared
        if len(set(self.codes.tolist())) == 1:
            return np.asarray(both + float(seen.hears(self.codes[:1])[0]))
        return np.asarray(both + seen.hears(np.maximum(self.codes[:, None], self.codes[None, :])))

    def evidence(self, pairs: bool = True) -> Evidence:
        """All marginal likelihoods; of two faults at once where they are asked for."""
        seen, figures = self.seen, len(self.seen.left)
        plain = np.array([seen.speaks])
        none = seen.log_norm - 0.5 * seen.squared + float(seen.hears(plain)[0])
        misread, with_one = np.full(figures, -np.inf), np.full((figures, len(self.curves)), -np.inf)
        for k in np.flatnonzero(seen.there):
            other = seen.without(int(k))
            misread[k] = other.log_norm - 0.5 * other.squared + float(other.hears(plain)[0])
            with_one[k] = self._summed(self.single(other))
        two = self._pairs() if pairs else np.full((len(self.curves), len(self.curves)), -np.inf)
        return Evidence(none, self._summed(self.single(seen)), two, misread, with_one)

    def _summed(self, points: Floats) -> Floats:
        top = float(np.max(points))
        return np.asarray(_log(np.add.reduceat(np.exp(points - top), self.starts)) + top)

    def _pairs(self) -> Floats:
        both = self.double()
        top = float(np.max(both))
        parts = np.exp(both - top)
        found = _log(np.add.reduceat(np.add.reduceat(parts, self.starts, axis=0), self.starts, axis=1)) + top
        cause = np.array([one.hypothesis.fault.cause for one in self.curves])
        found[cause[:, None] == cause[None, :]] = -np.inf
        return np.asarray(found)

    def block(self, i: int) -> slice:
        """Where a curve stands in the tables."""
        start = int(self.starts[i])
        return slice(start, start + len(self.curves[i].amounts))

    def best_pair(self, i: int, j: int) -> tuple[float, float]:
        """Amounts of two faults at once that fit best."""
        a, b = Weighed(self.seen, [self.curves[i], self.curves[j]]), len(self.curves[i].amounts)
        both = a.double()[:b, b:]
        row, column = np.unravel_index(int(np.argmax(both)), both.shape)
        return float(self.curves[i].amounts[row]), float(self.curves[j].amounts[column])


def _log(found: Floats) -> Floats:
    with np.errstate(divide="ignore"):
        return np.asarray(np.log(found))


def total(parts: Sequence[float] | Floats) -> float:
    """Logarithm of a sum of what is given as logarithms; -inf of none."""
    return float(logsumexp(parts)) if len(parts) else -math.inf
