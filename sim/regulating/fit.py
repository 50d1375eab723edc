"""The fit of all notes side by side: Gauss-Newton with priors and bounds, slopes that learn from every press."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import product

import numpy as np
from numpy.typing import NDArray

from keyaction.sim.measuring.knobs import KINDS
from keyaction.sim.motion.integrate import Floats
from keyaction.sim.regulating.fewest import FEW
from keyaction.sim.regulating.notes import FITTED, TELLS, Bench, usual

Flags = NDArray[np.bool_]
Ints = NDArray[np.intp]

MET = 0.25
"""Standard deviations of a reading by which the computed figure may differ from what the slopes foretold."""
FAR = 2.0
"""Standard deviations from which a reading counts less (Huber)."""
CONTRADICTS = 3.0
"""Standard deviations by which a reading may stand off the others before it is asked for again."""
EVEN = ("nut", "rest", "bottom", "spring", "seal")
"""Kinds whose scatter over the division is looked at."""
FAULTS = ("spring", "friction", "seal", "soft-run")
"""Kinds of which a note has few at a time: what stands out is put down to as few of them as explain it."""
APART = ("nut", "rest", "bottom")
"""Kinds by one of which a note may stand apart from an even division, where else its readings contradict each other."""
COMMON = ("spring", "seal")
"""Of these what all notes may be off by together."""
FAULTY = 0.1
"""Of the notes of an action, how many have a fault of one kind (assumed)."""
ENOUGH = 8
"""Notes from which a scatter is told."""
ALONE = 3.0
"""Standard deviations from the middle at which a note stands out by itself."""
_NORMAL = 1.4826
"""Standard deviation over the median of absolute deviations, of a normal distribution."""
REWEIGHED = 4
"""Times that the readings are weighed anew."""
PRIOR = np.array([usual(kind) for kind in FITTED])
_LOW, _HIGH = (np.array([getattr(KINDS[kind], end) for kind in FITTED]) for end in ("low", "high"))
_HIGH[FITTED.index("soft-run")] = KINDS["soft-run"].good  # no run grows stiffer than drawn by a fault


@dataclass
class Fit:
    """A fit under way: where every note stands, what is computed there, and the best that was met."""

    bench: Bench
    read: Floats
    error: Floats
    mute: Flags
    amounts: Floats
    figures: Floats
    rise: Floats
    covariance: Floats
    best_amounts: Floats
    best_figures: Floats
    best: Floats
    part: Floats
    odds: Floats
    together: dict[str, float] = field(default_factory=dict)

    @classmethod
    def begun(cls, bench: Bench, read: Floats, error: Floats, mute: Flags) -> Fit:
        n, figures = len(bench.notes), bench.drawn.values
        amounts = np.zeros((n, len(FITTED)))
        covariance = np.array([np.diag(PRIOR**2)] * n)
        fit = cls(
            bench, read, error, mute, amounts, figures.copy(), bench.rise.copy(), covariance, amounts.copy(),
            figures.copy(), np.full(n, np.inf), np.ones(n), np.zeros((n, len(FAULTS))),
        )  # fmt: skip
        fit._keep(np.arange(n))
        return fit

    def step(self, chosen: Ints) -> Ints:
        """Solve, press and learn from what was not foretold; the notes that are to be gone over again."""
        before = self.amounts[chosen].copy()
        for i in chosen:
            found, self.covariance[i] = _solved(
                self.figures[i], self.rise[i], self.amounts[i], self.read[i], self.error[i]
            )
            self.amounts[i] += self.part[i] * (found - self.amounts[i])
        by = self.amounts[chosen] - before
        foretold = self.figures[chosen] + np.einsum("ik,ikf->if", by, self.rise[chosen])
        silent = self.mute[chosen]
        self.figures[chosen[silent]] = foretold[silent]
        self._keep(chosen[silent])
        chosen, by, foretold = chosen[~silent], by[~silent], foretold[~silent]
        there = self.bench.press(chosen.tolist(), self.amounts[chosen]).values
        lost = np.any(np.isnan(there) & np.isfinite(self.read[chosen]) & np.isfinite(foretold), axis=1)
        self.amounts[chosen[lost]] -= by[lost]  # beyond where the note plays: half the way next time
        self.part[chosen] = np.where(lost, self.part[chosen] / 2, 1.0)
        kept = chosen[~lost]
        self.rise[kept] = _bent(self.rise[kept], by[~lost], (there - foretold)[~lost])
        self.figures[kept] = there[~lost]
        self._keep(kept)
        missed = np.nan_to_num(np.abs(there - foretold) / self.error[chosen])
        return np.asarray(chosen[lost | np.any(missed > MET, axis=1)])

    def _keep(self, chosen: Ints) -> None:
        """Remember notes that stand better than they ever did."""
        away = np.nan_to_num(np.abs(self.read[chosen] - self.figures[chosen]) / self.error[chosen])
        cost = np.sum(np.where(away < FAR, away**2, FAR * (2.0 * away - FAR)), axis=1)
        cost += np.sum((self.amounts[chosen] / PRIOR) ** 2, axis=1)
        better = cost < self.best[chosen]
        self.best[chosen[better]] = cost[better]
        self.best_amounts[chosen[better]] = self.amounts[chosen[better]]
        self.best_figures[chosen[better]] = self.figures[chosen[better]]


def _bent(rise: Floats, by: Floats, missed: Floats) -> Floats:
    """Slopes that would have foretold the figures: the least change of them (Broyden), amounts in their usual sizes."""
    size = np.sum((by / PRIOR) ** 2, axis=1)
    unit = np.where(size[:, None] > 0.0, by / PRIOR**2 / np.maximum(size, 1e-12)[:, None], 0.0)
    return np.asarray(rise + unit[:, :, None] * np.nan_to_num(missed)[:, None, :])


def even_out(fit: Fit, chosen: Ints) -> None:
    """Weigh readings against how even the division is, and take the fewest faults that explain each note.

    Where notes scatter no more than the tools explain, one that stands among them is supposed to be like them (the
    scatter is that of the division itself: empirical Bayes, by medians), and one that stands out by itself is not, nor
    one whose readings cannot be together else. Of
    forces at a key every set of faults is tried; the one under which the readings are most likely holds.
    Slopes carry the figures along.
    """
    mean, prior = _alike(fit, chosen)
    for row, i in enumerate(chosen):
        at, figures = fit.best_amounts[i].copy(), fit.best_figures[i]
        loose, fit.odds[i] = _likeliest(_Straight.of(fit, int(i)), mean[row], prior[row])
        centre, sd = np.where(loose, 0.0, mean[row]), np.where(loose, PRIOR, prior[row])
        solved = _met(fit, int(i), at, figures, centre, sd)
        if solved.most > CONTRADICTS:  # it may stand out by itself, though not by so much as to be seen alone
            apart = [_met(fit, int(i), at, figures, *_loosened(centre, sd, kind)) for kind in APART]
            best = min(apart, key=lambda one: one.most)
            solved = best if best.most <= CONTRADICTS else solved
        fit.best_amounts[i], fit.best_figures[i], fit.covariance[i] = solved.amounts, solved.figures, solved.covariance


@dataclass(frozen=True)
class _Met:
    """A note's amounts, figures and covariance, and by how many errors its worst reading stands off."""

    amounts: Floats
    figures: Floats
    covariance: Floats
    most: float


def _met(fit: Fit, i: int, at: Floats, figures: Floats, centre: Floats, sd: Floats) -> _Met:
    found, covariance = _solved(figures, fit.rise[i], at, fit.read[i], fit.error[i], centre, sd)
    reached = figures + (found - at) @ fit.rise[i]
    off = np.abs(fit.read[i] - reached) / fit.error[i]
    return _Met(found, reached, covariance, float(np.nanmax(off, initial=0.0)))


def _loosened(centre: Floats, sd: Floats, kind: str) -> tuple[Floats, Floats]:
    """Middle and standard deviation with one kind as likely off as anywhere."""
    own = np.arange(len(sd)) == FITTED.index(kind)
    return np.where(own, 0.0, centre), np.where(own, PRIOR, sd)


@dataclass(frozen=True)
class _Straight:
    """A note in straight lines: readings less the figures with nothing at fault, and slopes, in standard deviations."""

    left: Floats
    slope: Floats

    @classmethod
    def of(cls, fit: Fit, i: int) -> _Straight:
        read, figures, error = fit.read[i], fit.best_figures[i], fit.error[i]
        seen = np.isfinite(read) & np.isfinite(figures)
        slope = (fit.rise[i][:, seen] / error[seen]).T
        return cls((read[seen] - figures[seen]) / error[seen] + slope @ fit.best_amounts[i], slope)

    def likely(self, mean: Floats, sd: Floats) -> float:
        """Logarithm of how likely the readings are under some middles and standard deviations, to a constant."""
        spread, off = self._spread(sd), self.left - self.slope @ mean
        return float(-0.5 * (off @ np.linalg.solve(spread, off) + np.linalg.slogdet(spread)[1]))

    def alone(self, k: int, mean: Floats, sd: Floats) -> float:
        """The amount of one kind that explains what is left, all others being as supposed."""
        others = np.where(np.arange(len(sd)) == k, 0.0, 1.0)
        along = np.linalg.solve(self._spread(sd * others), self.slope[:, k])
        size = float(along @ self.slope[:, k])
        return float(along @ (self.left - self.slope @ (mean * others))) / size if size > 0.0 else 0.0

    def _spread(self, sd: Floats) -> Floats:
        return np.asarray(np.eye(len(self.left)) + (self.slope * sd**2) @ self.slope.T)


def _alike(fit: Fit, chosen: Ints) -> tuple[Floats, Floats]:
    """What is supposed of every note beside its own readings: middle and standard deviation, (chosen, kinds)."""
    sd = np.sqrt(np.einsum("ikk->ik", fit.covariance[chosen]))
    mean, prior = np.zeros(sd.shape), np.tile(PRIOR, (len(chosen), 1))
    for kind in FAULTS:
        prior[:, FITTED.index(kind)] = KINDS[kind].good
    for kind in EVEN:
        k, x = FITTED.index(kind), fit.best_amounts[chosen, FITTED.index(kind)]
        told = sd[:, k] < TELLS * PRIOR[k]
        if np.sum(told) < ENOUGH:
            continue
        middle = float(np.median(x[told]))
        scatter = (_NORMAL * float(np.median(np.abs(x[told] - middle)))) ** 2 - float(np.median(sd[told, k] ** 2))
        own = min(max(np.sqrt(max(scatter, 0.0)), KINDS[kind].good), PRIOR[k])
        alike = told & ((np.abs(x - middle) < ALONE * np.hypot(own, sd[:, k])) | (kind in FAULTS))
        mean[alike, k], prior[alike, k] = middle if kind not in FAULTS else 0.0, own
    fit.together = _together(fit, chosen, mean, prior)
    for kind, middle in fit.together.items():
        mean[:, FITTED.index(kind)] = middle
    return mean, prior


def _together(fit: Fit, chosen: Ints, mean: Floats, prior: Floats) -> dict[str, float]:
    """What force all notes are off by together: nothing, their springs, or the wind on their pallets.

    That under which the middle note's readings are most likely, against the chance that there is any such thing.
    """
    if len(chosen) < FEW:
        return {}
    straight = [_Straight.of(fit, int(i)) for i in chosen]
    best, found = _middle(straight, mean, prior), dict[str, float]()
    for kind in COMMON:
        k = FITTED.index(kind)
        shift = float(np.median([one.alone(k, m, p) for one, m, p in zip(straight, mean, prior, strict=True)]))
        moved = mean.copy()
        moved[:, k] = shift
        likely = _middle(straight, moved, prior) + np.log(FAULTY / (1.0 - FAULTY))
        if abs(shift) > KINDS[kind].good and likely > best:
            best, found = likely, {kind: shift}
    return found


def _middle(straight: Sequence[_Straight], mean: Floats, prior: Floats) -> float:
    """How likely all readings are, as the middle note has it: single faults do not count."""
    every = [one.likely(m, p) for one, m, p in zip(straight, mean, prior, strict=True)]
    return len(straight) * float(np.median(every))


def _likeliest(one: _Straight, mean: Floats, prior: Floats) -> tuple[Flags, Floats]:
    """Kinds that are at fault at a note, (kinds,): the set under which its readings are most likely; and the odds of
    every kind, (`FAULTS`,), by all sets."""
    places = [FITTED.index(kind) for kind in FAULTS]
    patterns = np.array(list(product((False, True), repeat=len(places))))
    likely = np.empty(len(patterns))
    for row, pattern in enumerate(patterns):
        loose = np.zeros(len(mean), dtype=bool)
        loose[places] = pattern
        likely[row] = one.likely(np.where(loose, 0.0, mean), np.where(loose, PRIOR, prior))
    likely += patterns.sum(axis=1) * np.log(FAULTY / (1.0 - FAULTY))
    weight = np.exp(likely - likely.max())
    found = np.zeros(len(mean), dtype=bool)
    found[places] = patterns[int(np.argmax(likely))]
    return found, np.asarray(weight @ patterns / weight.sum())


def _solved(
    figures: Floats,
    rise: Floats,
    at: Floats,
    read: Floats,
    error: Floats,
    mean: Floats | float = 0.0,
    prior: Floats | None = None,
) -> tuple[Floats, Floats]:
    """Amounts (kinds,) that meet the readings best beside what is supposed of them, within their bounds; covariance.

    Readings that stand far off count less, the farther they stand (Huber).
    """
    prior = PRIOR if prior is None else prior
    seen = np.isfinite(read) & np.isfinite(figures)
    slope, wanted = (rise[:, seen] / error[seen]).T, (read[seen] - figures[seen]) / error[seen]
    wanted, weight = wanted + slope @ at, np.ones(int(seen.sum()))
    for _ in range(REWEIGHED):
        normal = slope.T @ (weight[:, None] * slope) + np.diag(prior**-2)
        found = _within(normal, slope.T @ (weight * wanted) + mean * prior**-2)
        weight = FAR / np.maximum(np.abs(wanted - slope @ found), FAR)
    return found, np.asarray(np.linalg.inv(normal))


def _within(normal: Floats, right: Floats) -> Floats:
    """The solution of the normal equations with what leaves its bounds held at them."""
    n = int(right.shape[0])
    free, found = np.ones(n, dtype=bool), np.zeros(n)
    for _ in range(n):
        held = right[free] - normal[np.ix_(free, ~free)] @ found[~free]
        found[free] = np.linalg.solve(normal[np.ix_(free, free)], held)
        outside = free & ((found < _LOW) | (found > _HIGH))
        if not np.any(outside):
            break
        found, free = np.clip(found, _LOW, _HIGH), free & ~outside
    return found
