"""How far the values of a fit are known: covariance, directions that nothing tells, intervals, profiles."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from scipy import stats

from keyaction.sim.fitting.least import Fit, Floats, Jacobian, Residuals, Space, fit

SURE = 0.95
"""Of the intervals."""
NOTHING = 1e-10
"""Share of the greatest singular value below which a direction does not show at all."""
CURVED = 0.15
"""Share by which the sum of squares at the ends of an interval may miss the parabola that the interval stands on."""
_STEPS = 8
"""Steps of a profile to the end of an interval."""
_FOLLOWED, _STILL = 6, 5e-3
"""Steps by which the others follow, and the share of the wanted rise below which they have arrived."""
_NEAR = 0.02
"""Share of its distance from the best within which that end is found."""


@dataclass(frozen=True)
class Direction:
    """One direction of the unknowns, in their scales.

    Attributes
    ----------
    vector : (p,) array
        Of length 1; unknowns in units of their scale.
    half : float
        Half of its 95 % interval in those units; infinite where nothing shows of it.
    """

    vector: Floats
    half: float


@dataclass(frozen=True)
class Spread:
    """What a fit leaves open, by the slopes of its residuals.

    Attributes
    ----------
    level : float
        What every residual is off by, beside its stated error: 1 where errors are taken as stated.
    factor : float
        Standard deviations to half of an interval: Student's t where the level comes from the residuals.
    covariance : (p, p) array
        In the unknowns' units; infinite variances where nothing shows.
    directions : tuple of Direction
        Least known first.
    """

    level: float
    factor: float
    covariance: Floats
    directions: tuple[Direction, ...]

    @property
    def deviations(self) -> Floats:
        """Standard deviations, (p,)."""
        return np.asarray(np.sqrt(np.diag(self.covariance)))

    @property
    def half(self) -> Floats:
        """Halves of the 95 % intervals, (p,)."""
        return np.asarray(self.factor * self.deviations)

    @property
    def correlations(self) -> Floats:
        """(p, p); NaN beside an infinite variance."""
        with np.errstate(invalid="ignore"):
            return np.asarray(self.covariance / np.outer(self.deviations, self.deviations))


def spread_of(found: Fit, stated: bool, sure: float = SURE, freedom: float = math.inf) -> Spread:
    """Covariance and directions of a fit.

    Parameters
    ----------
    found : Fit
    stated : bool
        Whether the errors of the residuals are known; else their level is what remains over the freedom.
    sure : float
        Of the intervals.
    freedom : float
        Of stated errors, from how many residuals they were estimated; infinite where they are known.
    """
    level = 1.0
    if not stated:
        freedom = found.freedom
        level = math.sqrt(found.squares / freedom) if freedom > 0 else math.inf
    tail = (1 + sure) / 2
    factor = float(stats.t.ppf(tail, max(freedom, 1)) if math.isfinite(freedom) else stats.norm.ppf(tail))
    covariance, directions = opened(found.jacobian, found.space.scale, level, factor)
    return Spread(level, factor, covariance, directions)


def opened(jacobian: Floats, scale: Floats, level: float, factor: float) -> tuple[Floats, tuple[Direction, ...]]:
    """Covariance (p, p) and directions that slopes (n, p) of residuals leave, by singular values.

    A direction that does not show has an infinite half, and so have the variances of unknowns that take part in it.
    """
    _, strengths, rows = np.linalg.svd(jacobian * scale, full_matrices=True)
    strengths = np.concatenate([strengths, np.zeros(len(scale) - len(strengths))])
    shows = strengths > NOTHING * max(float(strengths[0]), np.finfo(float).tiny)
    inverse = np.where(shows, 1 / np.where(shows, strengths, 1.0), 0.0)
    scaled = (rows.T * (level * inverse) ** 2) @ rows
    hidden = np.sum(rows[~shows] ** 2, axis=0) > NOTHING
    scaled[hidden, hidden] = np.inf
    halves = np.where(shows, factor * level * inverse, np.inf)
    order = np.argsort(-halves)
    covariance = scaled * np.outer(scale, scale)
    return covariance, tuple(Direction(rows[i], float(halves[i])) for i in order)


def rank(jacobian: Floats, scale: Floats) -> int:
    """How many directions of the unknowns show at all."""
    return sum(math.isfinite(one.half) for one in opened(jacobian, scale, 1.0, 1.0)[1])


@dataclass(frozen=True)
class Interval:
    """The 95 % interval of one unknown; `profiled` where the sum of squares itself was followed to both ends."""

    low: float
    high: float
    profiled: bool = False


def intervals(
    found: Fit,
    known: Spread,
    residuals: Residuals,
    jacobian: Jacobian | None,
    of: Sequence[int],
    ahead: Callable[[Sequence[Floats]], object] | None = None,
) -> tuple[Interval, ...]:
    """Intervals of some unknowns: symmetric, or by profile where a bound or a bent sum of squares makes that wrong.

    An end that the profile does not find within its steps is that of the symmetric interval.

    Parameters
    ----------
    found : Fit
    known : Spread
        Of that fit, with all that its residuals hold: a profile follows the same sum of squares.
    residuals, jacobian : callable
        As the fit had them.
    of : sequence of int
        Unknowns that are told; of the others no interval is asked.
    ahead : callable, optional
        Is told of places at which residuals will be asked one by one, to compute them side by side.
    """
    if ahead is not None:
        ahead([end for k in of if _symmetric(found, known, k) for end in _ends(found, known, k)])
    return tuple(_interval(found, known, residuals, jacobian, k) for k in of)


def _interval(found: Fit, known: Spread, residuals: Residuals, jacobian: Jacobian | None, k: int) -> Interval:
    half, value = float(known.half[k]), float(found.values[k])
    if not math.isfinite(half):
        return Interval(found.space.low[k], found.space.high[k])
    if _symmetric(found, known, k) and not _bent(found, known, residuals, k):
        return Interval(value - half, value + half)
    walk = _Walk(found, known, residuals, jacobian, k)
    ends = [walk.end(sense) for sense in (-1.0, 1.0)]
    plain = by_slopes(found, known, k)
    low, high = (own if end is None else end for end, own in zip(ends, (plain.low, plain.high), strict=True))
    return Interval(low, high, profiled=None not in ends)


def by_slopes(found: Fit, known: Spread, k: int) -> Interval:
    """The symmetric interval of one unknown, within its bounds."""
    half, value = float(known.half[k]), float(found.values[k])
    return Interval(max(value - half, float(found.space.low[k])), min(value + half, float(found.space.high[k])))


def at_least(own: Interval, floor: Interval) -> Interval:
    """An interval that is no narrower than another one: the two together where it is."""
    if own.high - own.low >= floor.high - floor.low:
        return own
    return Interval(min(own.low, floor.low), max(own.high, floor.high), own.profiled)


def _ends(found: Fit, known: Spread, k: int) -> list[Floats]:
    """All unknowns where one is at the ends of its symmetric interval."""
    along = known.factor * known.covariance[:, k] / float(known.deviations[k])
    return [found.values + sign * along for sign in (-1.0, 1.0)]


def _symmetric(found: Fit, known: Spread, k: int) -> bool:
    """Whether no bound stands in the way of a symmetric interval."""
    if not math.isfinite(float(known.half[k])):
        return False
    ends = _ends(found, known, k)
    return all(np.all(np.isfinite(end)) and np.array_equal(found.space.inside(end), end) for end in ends)


def _bent(found: Fit, known: Spread, residuals: Residuals, k: int) -> bool:
    """Whether the sum of squares at either end of the interval is not what its parabola says."""
    expected = (known.factor * known.level) ** 2
    more = [float(np.sum(residuals(end) ** 2)) - found.squares for end in _ends(found, known, k)]
    return any(abs(one / expected - 1) > CURVED for one in more)


@dataclass(frozen=True)
class _Walk:
    """One unknown moved away from the best, the others following it."""

    found: Fit
    known: Spread
    residuals: Residuals
    jacobian: Jacobian | None
    k: int

    def end(self, sense: float) -> float | None:
        """Where the sum of squares has risen by the interval's share, or the bound before it; None if not found.

        The root of the rise grows nearly evenly, so that few steps of a secant find it.
        """
        start, bound = float(self.found.values[self.k]), self._bound(sense)
        if start == bound:
            return bound
        wanted, step = self.known.factor * self.known.level, sense * float(self.known.half[self.k])
        ridge = np.delete(self.known.covariance[:, self.k], self.k) / float(self.known.covariance[self.k, self.k])
        ridge = np.where(np.isfinite(ridge), ridge, 0.0)
        others = np.delete(self.found.values, self.k)
        near, far = (start, 0.0), (math.nan, math.inf)
        at = self._within(start + step)
        for _ in range(_STEPS):
            risen, followed, arrived = self._risen(at, others + ridge * (at - start))
            if at != start:  # the next step goes where the others were seen to go
                ridge = (followed - others) / (at - start)
            if risen < wanted:
                near = (at, risen)
                if at == bound:
                    return bound
            else:
                far = (at, risen)
            if abs(risen - wanted) < _NEAR * wanted:
                return at if arrived else None  # the others might have followed further, and the end lie beyond
            at = self._next(near, far, wanted, step)
        return None

    def _bound(self, sense: float) -> float:
        space = self.found.space
        return float((space.low if sense < 0 else space.high)[self.k])

    def _within(self, at: float) -> float:
        return float(np.clip(at, self.found.space.low[self.k], self.found.space.high[self.k]))

    def _next(self, near: tuple[float, float], far: tuple[float, float], wanted: float, step: float) -> float:
        if math.isinf(far[1]):
            share = wanted / near[1] if near[1] > 0 else 2.0
            return self._within(near[0] + step * min(max(share - 1.0, 0.1), 2.0) * 1.05)
        share = (wanted - near[1]) / (far[1] - near[1])
        return near[0] + min(max(share, 0.05), 0.95) * (far[0] - near[0])

    def _risen(self, at: float, others: Floats) -> tuple[float, Floats, bool]:
        """Root of the rise of the sum of squares with this unknown held, where the others then are, whether arrived.

        The others follow by the slopes at the best, which is enough where these bend little; else by new ones there;
        else they are fitted.
        """

        def whole(rest: Floats) -> Floats:
            return self.found.space.inside(np.insert(rest, self.k, at))

        if not len(others):
            return self._root(self.residuals(np.array([at]))), others, True
        slopes = np.delete(self.found.jacobian, self.k, axis=1)
        here, enough = self.residuals(whole(others)), _STILL * (self.known.factor * self.known.level) ** 2
        for turn in range(2 * _FOLLOWED):
            if turn == _FOLLOWED:
                if self.jacobian is None:
                    break
                slopes = np.delete(self.jacobian(whole(others)), self.k, axis=1)
            step = np.linalg.lstsq(slopes, -here, rcond=None)[0]
            further = np.delete(whole(others + step), self.k)
            gone = further - others
            foreseen = here + slopes @ gone
            if float(here @ here - foreseen @ foreseen) < enough:
                return self._root(here), others, True
            there = self.residuals(whole(further))
            slopes = slopes + np.outer(there - foreseen, gone) / float(gone @ gone)  # Broyden's: they learn
            if float(there @ there) < float(here @ here):
                others, here = further, there
        return self._fitted(at, others)

    def _fitted(self, at: float, others: Floats) -> tuple[float, Floats, bool]:
        k, jacobian = self.k, self.jacobian
        slopes: Callable[[Floats], Floats] | None = None
        if jacobian is not None:
            slopes = lambda rest: np.delete(jacobian(np.insert(rest, k, at)), k, axis=1)  # noqa: E731
        space: Space = self.found.space.without(k)
        best = fit(lambda rest: self.residuals(np.insert(rest, k, at)), [others], space, slopes, exact=1e-3, most=6)
        return self._root(best.residuals), best.values, best.done

    def _root(self, residuals: Floats) -> float:
        return math.sqrt(max(float(residuals @ residuals) - self.found.squares, 0.0))
