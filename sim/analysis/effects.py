"""What each input does to a quantity: one at a time from the base design, or by a fitted plane over all designs."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from keyaction.sim.analysis.indices import varies

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Effect:
    """How far one input alone takes a quantity.

    Attributes
    ----------
    low, high : float
        Lowest and highest value of the quantity, its unit; NaN where no design tells.
    at_low, at_high : object
        Values of the input there: a float in SI, or a text.
    failed : int
        Settings of the input at which the design failed (one at a time only).
    """

    low: float
    high: float
    at_low: Any
    at_high: Any
    failed: int = 0

    @property
    def swing(self) -> float:
        """Highest less lowest value."""
        return self.high - self.low


@dataclass(frozen=True)
class Effects:
    """Effects of all inputs about a base value.

    Attributes
    ----------
    base : float
        The quantity of the base design, or the mean of the fitted designs.
    effects : tuple of Effect
        One for each input.
    explained : float
        Share of the variance that the plane explains (R squared); NaN for one at a time, or if nothing varies.
    used : int
        Designs that served.
    fitted : bool
        Whether a plane was fitted.
    """

    base: float
    effects: tuple[Effect, ...]
    explained: float
    used: int
    fitted: bool


def one_at_a_time(columns: Sequence[NDArray[Any]], values: ArrayLike) -> Effects:
    """Read the effects from a plan that leaves the base design with one input at a time.

    Parameters
    ----------
    columns : sequence of (n,) arrays
        Each input's values, floats or texts; row 0 is the base design. NaN stands for what the case itself has.
    values : (n,) array
        The quantity; NaN for a design that failed.

    Raises
    ------
    ValueError
        If a row differs from the base in several inputs.
    """
    y = np.asarray(values, dtype=np.float64)
    moved = np.array([changed(column[:1], column) for column in columns]).reshape(len(columns), len(y))
    several = np.flatnonzero(moved.sum(axis=0) > 1)
    if len(several):
        raise ValueError(f"design {several[0]} differs from the base design in several inputs")
    effects = []
    for column, own in zip(columns, moved, strict=True):
        rows = np.flatnonzero(own | (np.arange(len(y)) == 0))
        there = rows[np.isfinite(y[rows])]
        effects.append(_extremes(column[there], y[there], len(rows) - len(there)))
    return Effects(float(y[0]), tuple(effects), float("nan"), int(np.isfinite(y).sum()), False)


def _extremes(settings: NDArray[Any], y: Floats, failed: int) -> Effect:
    if not len(y):
        return Effect(float("nan"), float("nan"), None, None, failed)
    low, high = int(np.argmin(y)), int(np.argmax(y))
    return Effect(float(y[low]), float(y[high]), settings[low], settings[high], failed)


def plane_effects(columns: Sequence[NDArray[Any]], values: ArrayLike) -> Effects:
    """Fit a plane through all designs by least squares: each input's effect from its lowest to its highest value.

    Parameters
    ----------
    columns : sequence of (n,) arrays
        Each input's values; texts get one level each.
    values : (n,) array
        The quantity; NaN for a design that failed. Designs with an input that is not known (NaN) are left out.

    Returns
    -------
    Effects
        Of each input with the others at their means; NaN if the designs are too few to tell the inputs apart.
    """
    y = np.asarray(values, dtype=np.float64)
    there = np.isfinite(y)
    for column in columns:
        if not is_text(column):
            there &= np.isfinite(column.astype(np.float64))
    y, known = y[there], [column[there] for column in columns]
    blocks = [_terms(column) for column in known]
    table = np.hstack([np.ones((len(y), 1)), *blocks])
    if len(y) <= table.shape[1]:
        none = tuple(Effect(float("nan"), float("nan"), None, None) for _ in columns)
        return Effects(float("nan"), none, float("nan"), len(y), True)
    mean = float(np.mean(y))
    slopes = np.asarray(np.linalg.lstsq(table, y - mean, rcond=None)[0], dtype=np.float64)
    left, whole = y - mean - table @ slopes, float(np.sum((y - mean) ** 2))
    ends = np.cumsum([1, *(block.shape[1] for block in blocks)])
    effects = [
        _extremes(*_settings(column, block, slopes[a:b], mean), 0)
        for column, block, a, b in zip(known, blocks, ends[:-1], ends[1:], strict=True)
    ]
    explained = 1 - float(np.sum(left**2)) / whole if varies(y) else float("nan")
    return Effects(mean, tuple(effects), explained, len(y), True)


def changed(before: NDArray[Any], after: NDArray[Any]) -> NDArray[np.bool_]:
    """Where an input's values differ; two NaN are the same."""
    different = np.asarray(before != after)
    if is_text(before):
        return different
    return different & ~(np.isnan(before.astype(np.float64)) & np.isnan(after.astype(np.float64)))


def is_text(column: NDArray[Any]) -> bool:
    """Whether an input's values are texts (materials)."""
    return column.dtype.kind not in "fiub"


def _terms(column: NDArray[Any]) -> Floats:
    """Columns of one input in the fit, centred: its value, or one for each text but the first."""
    if is_text(column):
        names = np.unique(column.astype(str))
        found = (column.astype(str)[:, None] == names[None, 1:]).astype(np.float64)
    else:
        numbers = column.astype(np.float64)
        reach = float(np.ptp(numbers)) if len(numbers) else 0.0
        found = ((numbers - numbers.min()) / reach)[:, None] if reach > 0 else np.empty((len(numbers), 0))
    return np.asarray(found - found.mean(axis=0)) if len(found) else found


def _settings(column: NDArray[Any], block: Floats, slopes: Floats, mean: float) -> tuple[NDArray[Any], Floats]:
    """Settings of one input with the fitted quantity at each: both ends of a number, all texts."""
    if is_text(column):
        _, first = np.unique(column.astype(str), return_index=True)
    else:
        first = np.array([np.argmin(column), np.argmax(column)])
    return column[first], mean + block[first] @ slopes
