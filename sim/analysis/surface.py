"""Response surfaces: how a quantity depends on two inputs, the others on average, with the error of the fit.

Polynomials by least squares as in G. E. P. Box and K. B. Wilson, "On the experimental attainment of optimum
conditions", Journal of the Royal Statistical Society B 13 (1951) 1-45; their degree by the error on designs that were
left out of the fit (M. Stone, "Cross-validatory choice and assessment of statistical predictions", ibid. B 36
(1974) 111-147).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.interpolate import RBFInterpolator

from keyaction.sim.analysis.effects import is_text
from keyaction.sim.analysis.indices import varies

Floats = NDArray[np.float64]

HIGHEST = 4
"""Highest degree of the polynomial in the two inputs."""
FOLDS = 5
_MOST_FOR_SPLINE = 500
"""Designs above which a thin-plate spline through all of them costs too much."""
_ENOUGH = 8
"""Designs below which nothing is fitted."""
_CLOSE = 1e-9
"""Share of a range, or of a deviation, that is rounding."""
_AS_GOOD = 1.01
"""Error over the least error up to which the lower degree is taken."""


@dataclass(frozen=True)
class Surface:
    """A fitted surface.

    Attributes
    ----------
    method : str
        In words.
    error : float
        Root mean square error on designs left out of the fit, the quantity's unit.
    explained : float
        1 less the square of that error over the variance of the designs: 1 is perfect, 0 no better than the mean.
    low, high : (2,) arrays
        Ranges of the two inputs, SI.
    used, dropped : int
        Designs that served, and those without a value.
    fit : callable
        The quantity at (m, 2) places, each input from 0 to 1 over its range.
    """

    method: str
    error: float
    explained: float
    low: Floats
    high: Floats
    used: int
    dropped: int
    fit: Callable[[Floats], Floats]

    def __call__(self, first: ArrayLike, second: ArrayLike) -> Floats:
        """The quantity at values of the two inputs, broadcast against each other, SI."""
        x, y = np.broadcast_arrays(np.asarray(first, dtype=float), np.asarray(second, dtype=float))
        at = np.column_stack([x.ravel(), y.ravel()])
        return self.fit((at - self.low) / (self.high - self.low)).reshape(x.shape)


class NoSurface(ValueError):
    """Why no surface can be fitted."""


def fit_surface(
    first: ArrayLike, second: ArrayLike, values: ArrayLike, others: Sequence[NDArray[Any]] = (), seed: int = 0
) -> Surface:
    """Fit a smooth surface to designs over two inputs.

    Parameters
    ----------
    first, second : (n,) arrays
        Values of the two inputs, SI.
    values : (n,) array
        The quantity; NaN for a design that failed.
    others : sequence of (n,) arrays
        Inputs that vary besides, floats or texts. Each enters the fit by its own (its value and square, or a level
        for each text), so that the surface is that of their mean.
    seed : int
        Of the choice of designs that are left out.

    Returns
    -------
    Surface
        A thin-plate spline through all designs if nothing else varies and they are not too many; otherwise a
        polynomial of the degree, up to 4, that does best on designs left out.

    Raises
    ------
    NoSurface
        If there are too few designs, or an input does not vary; the message says which.
    """
    z = np.asarray(values, dtype=np.float64)
    there = np.isfinite(z)
    at, z = np.column_stack([first, second]).astype(np.float64)[there], z[there]
    if len(z) < _ENOUGH:
        raise NoSurface(f"{len(z)} designs with a value are too few for a surface; {_ENOUGH} are needed")
    low, high = at.min(axis=0), at.max(axis=0)
    if not np.all(high > low):
        raise NoSurface("an input of the surface does not vary")
    unit = (at - low) / (high - low)
    beside = _beside([column[there] for column in others], len(z))
    folds = np.random.default_rng(seed).permutation(len(z)) % min(FOLDS, len(z))
    fitted = _spline(unit, z, folds) if not beside.shape[1] and len(z) <= _MOST_FOR_SPLINE else None
    best = fitted or _polynomial(unit, beside, z, folds)
    method, error, fit = best
    explained = 1 - error**2 / float(np.var(z)) if varies(z) else float("nan")
    return Surface(method, error, explained, low, high, len(z), int((~there).sum()), fit)


_Fitted = tuple[str, float, Callable[[Floats], Floats]]


def _beside(columns: Sequence[NDArray[Any]], n: int) -> Floats:
    """Centred columns of the other inputs: value and square, or texts but the first."""
    found: list[Floats] = []
    for column in columns:
        if is_text(column):
            texts = column.astype(str)
            found += [(texts == name).astype(np.float64) for name in np.unique(texts)[1:]]
        elif float(np.ptp(column.astype(float))) > 0:
            unit = (column.astype(float) - column.astype(float).min()) / np.ptp(column.astype(float))
            found += [unit, unit**2] if len(np.unique(unit)) > 2 else [unit]
    table = np.column_stack(found) if found else np.empty((n, 0))
    return np.asarray(table - table.mean(axis=0))


def _spline(unit: Floats, z: Floats, folds: NDArray[np.int64]) -> _Fitted | None:
    """A thin-plate spline with a quadratic under it; none if two designs lie at one place or all on a conic."""
    near = np.unique(np.round(unit / _CLOSE).astype(np.int64), axis=0)
    if len(near) < len(unit) or any(_rank(unit[folds != fold]) < 6 for fold in np.unique(folds)):
        return None

    def through(rows: NDArray[Any]) -> Callable[[Floats], Floats]:
        spline = RBFInterpolator(unit[rows], z[rows], kernel="thin_plate_spline", degree=2)
        return lambda at: np.asarray(spline(at))

    off = np.concatenate([through(folds != fold)(unit[folds == fold]) - z[folds == fold] for fold in np.unique(folds)])
    whole = through(np.ones(len(z), dtype=bool))
    return "thin-plate spline through all designs", float(np.sqrt(np.mean(off**2))), whole


def _rank(unit: Floats) -> int:
    return int(np.linalg.matrix_rank(_powers(unit, 2)))


def _powers(unit: Floats, degree: int) -> Floats:
    """Products of powers up to the degree, of places scaled to -1 ... 1."""
    x, y = 2 * unit[:, 0] - 1, 2 * unit[:, 1] - 1
    return np.column_stack([x**i * y ** (total - i) for total in range(degree + 1) for i in range(total, -1, -1)])


def _polynomial(unit: Floats, beside: Floats, z: Floats, folds: NDArray[np.int64]) -> _Fitted:
    found: list[tuple[float, int]] = []
    for degree in range(1, HIGHEST + 1):
        table = np.hstack([_powers(unit, degree), beside])
        if table.shape[1] * FOLDS > len(z) * (FOLDS - 1) or np.linalg.matrix_rank(table) < table.shape[1]:
            break
        off = [
            table[folds == fold] @ _solved(table[folds != fold], z[folds != fold]) - z[folds == fold]
            for fold in np.unique(folds)
        ]
        found.append((float(np.sqrt(np.mean(np.concatenate(off) ** 2))), degree))
    if not found:
        raise NoSurface(f"{len(z)} designs are too few, or lie too regularly, to tell the inputs apart")
    least = min(error for error, _ in found)
    error, degree = next(one for one in found if one[0] <= _AS_GOOD * least + _CLOSE * float(np.std(z)))
    terms = _solved(np.hstack([_powers(unit, degree), beside]), z)
    words = {1: "plane", 2: "quadratic", 3: "cubic", 4: "quartic"}[degree]
    size = len(_powers(unit[:1], degree)[0])
    return f"{words} by least squares", error, lambda at: _powers(at, degree) @ terms[:size]


def _solved(table: Floats, z: Floats) -> Floats:
    return np.asarray(np.linalg.lstsq(table, z, rcond=None)[0])
