"""What the uncertainty of independent inputs makes of a result: first order, second order, drawn.

JCGM 100:2008 (GUM), 5.1 and G.4, and JCGM 101:2008, 7 (from memory). A model takes inputs as an array (inputs, n) and
gives (n,) results, so that all draws go through it at once.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from scipy.special import stdtrit

from keyaction.sim.propagation.inputs import Floats, Input

Model = Callable[[Floats], Floats]
MIXED = 1e-2
"""Of a standard deviation: the step of second and third derivatives."""


@dataclass(frozen=True)
class Propagated:
    """Draws of a result.

    Attributes
    ----------
    values : (n,) array
        Sorted.
    """

    values: Floats

    @property
    def mean(self) -> float:
        """Of all draws."""
        return float(np.mean(self.values))

    @property
    def sd(self) -> float:
        """Of all draws."""
        return float(np.std(self.values, ddof=1))

    def symmetric(self, share: float) -> tuple[float, float]:
        """Between which a share of the draws lies, as many below as above."""
        low, high = np.quantile(self.values, ((1.0 - share) / 2, (1.0 + share) / 2))
        return float(low), float(high)

    def shortest(self, share: float) -> tuple[float, float]:
        """The shortest stretch that holds a share of the draws (JCGM 101:2008, 5.3.4)."""
        count = max(int(share * len(self.values) + 0.5), 1)
        widths = self.values[count:] - self.values[:-count]
        if not len(widths):
            return float(self.values[0]), float(self.values[-1])
        at = int(np.argmin(widths))
        return float(self.values[at]), float(self.values[at + count])


def propagate(model: Model, inputs: Sequence[Input], draws: int, seed: int = 1) -> Propagated:
    """Draw all inputs and put them through the model.

    Parameters
    ----------
    model : callable
        (inputs, n) array to (n,) array.
    inputs : sequence of Input
    draws, seed : int
    """
    random = np.random.default_rng(seed)
    return Propagated(np.sort(model(np.array([one.draw(random, draws) for one in inputs]))))


def parts(model: Model, middles: Floats, sds: Floats) -> Floats:
    """What each input adds: half of what the result changes from a standard deviation below it to one above.

    Parameters
    ----------
    model : callable
    middles, sds : (n,) arrays

    Returns
    -------
    (n,) array
        With their signs; JCGM 100:2008, note to 5.1.3.
    """
    steps = np.diag(sds)
    ends = middles[:, None] + np.concatenate([steps, -steps], axis=1)
    found = model(ends)
    return np.asarray((found[: len(sds)] - found[len(sds) :]) / 2)


def combined(found: Floats) -> float:
    """Standard deviation of all parts together: the root of the sum of their squares."""
    return math.sqrt(math.fsum(one**2 for one in found.tolist()))


def second_order(model: Model, middles: Floats, sds: Floats) -> float:
    """Standard deviation to second order: with the terms of the note to 5.1.2 of JCGM 100:2008.

    Those are, over all pairs, half the square of the mixed second derivative and the product of the first with the
    third, each times both variances.

    Parameters
    ----------
    model : callable
    middles, sds : (n,) arrays
    """
    count = len(sds)

    def at(*moves: tuple[int, float]) -> float:
        point = middles.astype(float).copy()
        for k, by in moves:
            point[k] += by * step * sds[k]
        return float(model(point[:, None])[0])

    step, total = 1.0, combined(_slopes(model, middles, sds)) ** 2
    for i in range(count):
        first = (at((i, 1.0)) - at((i, -1.0))) / 2
        for j in range(count):
            mixed = (
                at((i, 1.0), (j, 1.0)) - at((i, 1.0), (j, -1.0)) - at((i, -1.0), (j, 1.0)) + at((i, -1.0), (j, -1.0))
            )
            second = mixed / 4
            third = _third(at, i, j)
            total += second**2 / 2 + first * third
    return math.sqrt(total)


def _slopes(model: Model, middles: Floats, sds: Floats) -> Floats:
    """First derivatives times standard deviations, from small steps."""
    return parts(model, middles, MIXED * sds) / MIXED


def _third(at: Callable[..., float], i: int, j: int) -> float:
    """Third derivative, once by input i and twice by input j, in standard deviations."""
    if i == j:
        return (at((i, 2.0)) - 2 * at((i, 1.0)) + 2 * at((i, -1.0)) - at((i, -2.0))) / 2
    bends = [at((i, by), (j, 1.0)) - 2 * at((i, by)) + at((i, by), (j, -1.0)) for by in (1.0, -1.0)]
    return (bends[0] - bends[1]) / 2


def freedom(found: Floats, each: Floats) -> float:
    """Effective degrees of freedom of parts that have these (Welch and Satterthwaite; JCGM 100:2008, G.4.1).

    Parameters
    ----------
    found : (n,) array
        As of `parts`.
    each : (n,) array
        Degrees of freedom; infinite where the size of a part is certain.
    """
    below = math.fsum((found**4 / each).tolist())
    return combined(found) ** 4 / below if below else math.inf


def coverage(share: float, degrees: float) -> float:
    """Standard deviations to each side that hold a share, of a t distribution with so many degrees of freedom."""
    degrees = min(degrees, 1e9)
    return float(stdtrit(degrees, (1.0 + share) / 2))
