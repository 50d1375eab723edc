"""The fit of all notes side by side: Gauss-Newton with priors and bounds, slopes that learn from every press."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from keyaction.sim.measuring.knobs import KINDS
from keyaction.sim.motion.integrate import Floats
from keyaction.sim.regulating.notes import FITTED, TELLS, Bench, usual

Flags = NDArray[np.bool_]
Ints = NDArray[np.intp]

MET = 0.25
"""Standard deviations of a reading by which the computed figure may differ from what the slopes foretold."""
FAR = 2.0
"""Standard deviations from which a reading counts less (Huber)."""
EVEN = ("nut", "rest", "bottom", "spring", "seal")
"""Kinds whose scatter over the division is looked at."""
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

    @classmethod
    def begun(cls, bench: Bench, read: Floats, error: Floats, mute: Flags) -> Fit:
        n, figures = len(bench.notes), bench.drawn.values
        amounts = np.zeros((n, len(FITTED)))
        covariance = np.array([np.diag(PRIOR**2)] * n)
        fit = cls(
            bench, read, error, mute, amounts, figures.copy(), bench.rise.copy(), covariance, amounts.copy(),
            figures.copy(), np.full(n, np.inf), np.ones(n),
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
    """Weigh readings against how even the division is: where notes scatter no more than the tools explain, one that
    stands among them is supposed to be like them, and one that stands out by itself is not.

    The scatter is that of the division itself (empirical Bayes, by medians); slopes carry the figures along.
    """
    if len(chosen) < ENOUGH:
        return
    sd = np.sqrt(np.einsum("ikk->ik", fit.covariance[chosen]))
    mean, prior = np.zeros(sd.shape), np.tile(PRIOR, (len(chosen), 1))
    for kind in EVEN:
        k, x = FITTED.index(kind), fit.best_amounts[chosen, FITTED.index(kind)]
        told = sd[:, k] < TELLS * PRIOR[k]
        if np.sum(told) < ENOUGH:
            continue
        middle = float(np.median(x[told]))
        scatter = (_NORMAL * float(np.median(np.abs(x[told] - middle)))) ** 2 - float(np.median(sd[told, k] ** 2))
        own = min(max(np.sqrt(max(scatter, 0.0)), KINDS[kind].good), PRIOR[k])
        alike = told & (np.abs(x - middle) < ALONE * np.hypot(own, sd[:, k]))
        mean[alike, k], prior[alike, k] = middle, own
    for row, i in enumerate(chosen):
        at, figures = fit.best_amounts[i].copy(), fit.best_figures[i]
        found, fit.covariance[i] = _solved(figures, fit.rise[i], at, fit.read[i], fit.error[i], mean[row], prior[row])
        fit.best_amounts[i], fit.best_figures[i] = found, figures + (found - at) @ fit.rise[i]


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
