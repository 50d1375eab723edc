"""What each input does to a quantity: one at a time from the base design, or by a fitted plane over all designs."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from keyaction.sim.analysis.indices import STEADY

Floats = NDArray[np.float64]

_ALIKE = 1e-13
"""Share of the largest principal product below which inputs are not told apart."""


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
    sums = PlaneSums([level_names(column) for column in columns], 1)
    sums.add([codes(column, names) for column, names in zip(columns, sums.names, strict=True)], [np.asarray(values)])
    return sums.effects(0)


class PlaneSums:
    """Planes through quantities that are read piece by piece.

    Parameters
    ----------
    names : sequence
        For each input its texts, or None where its values are numbers.
    quantities : int
    """

    def __init__(self, names: Sequence[NDArray[Any] | None], quantities: int) -> None:
        self.names = list(names)
        widths = [1 if one is None else len(one) for one in self.names]
        self._ends = np.cumsum([0, *widths])
        self._sums = [_Products(int(self._ends[-1])) for _ in range(quantities)]
        self._base: Floats | None = None

    def add(self, columns: Sequence[NDArray[Any]], values: Sequence[Floats]) -> None:
        """Take the next piece: of each input numbers, or which of its texts; of each quantity its values."""
        table = self._table(columns)
        known = np.all(np.isfinite(table), axis=1)
        if not np.all(known):
            table, values = table[known], [one[known] for one in values]
        if not len(table):
            return
        if self._base is None:
            self._base = np.where(self._numbers, table.mean(axis=0), 0.0)
        table -= self._base
        whole = _Piece(table)
        for sums, one in zip(self._sums, values, strict=True):
            there = np.isfinite(one)
            if np.all(there):
                sums.add(whole, one)
            elif np.any(there):
                sums.add(_Piece(table[there]), one[there])

    @property
    def _numbers(self) -> NDArray[np.bool_]:
        """Which columns are numbers."""
        return np.concatenate(
            [[one is None] if one is None else np.zeros(len(one), bool) for one in self.names] or [[]]
        )

    def _table(self, columns: Sequence[NDArray[Any]]) -> Floats:
        table = np.zeros((len(columns[0]) if columns else 0, int(self._ends[-1])))
        for column, names, first in zip(columns, self.names, self._ends, strict=False):
            if names is None:
                table[:, first] = column
            else:
                table[np.arange(len(table)), first + column] = 1.0
        return table

    def effects(self, quantity: int) -> Effects:
        """Each input's effect on a quantity, with the others at their means."""
        sums = self._sums[quantity]
        blocks = [self._block(sums, names, first) for names, first in zip(self.names, self._ends, strict=False)]
        width = sum(len(block.places) for block in blocks)
        if sums.count <= 1 + width:
            none = tuple(Effect(float("nan"), float("nan"), None, None) for _ in self.names)
            return Effects(float("nan"), none, float("nan"), sums.count, True)
        places = np.concatenate([block.places for block in blocks]).astype(int)
        reach = np.concatenate([block.reach for block in blocks])
        slopes, explained = sums.fitted(places, reach)
        mean, ends = sums.mean, np.cumsum([0, *(len(block.places) for block in blocks)])
        effects = [
            _extremes(block.settings, mean + (block.shares - block.middle) @ slopes[a:b], 0)
            for block, a, b in zip(blocks, ends[:-1], ends[1:], strict=True)
        ]
        return Effects(mean, tuple(effects), explained if sums.varies else float("nan"), sums.count, True)

    def _block(self, sums: _Products, names: NDArray[Any] | None, first: int) -> _Block:
        """Terms of one input in the fit: its value, or one for each text but the first."""
        middle = sums.middle
        if names is not None:
            there = np.flatnonzero(sums.of_columns[first : first + len(names)] > 0)
            places = first + there[1:]
            shares = (there[:, None] == there[None, 1:]).astype(np.float64)
            return _Block(places, np.ones(len(places)), names[there], shares, middle[places])
        base = 0.0 if self._base is None else self._base[first]
        low, high = sums.low[first], sums.high[first]
        settings = np.array([low + base, high + base])
        if not high > low:
            return _Block(np.empty(0, int), np.empty(0), settings, np.empty((2, 0)), np.empty(0))
        share = (middle[first] - low) / (high - low)
        return _Block(np.array([first]), np.array([high - low]), settings, np.array([[0.0], [1.0]]), np.array([share]))


@dataclass(frozen=True)
class _Block:
    """One input in the fit: its columns and their reaches; settings that are told, with their places; the mean."""

    places: NDArray[np.int64]
    reach: Floats
    settings: NDArray[Any]
    shares: Floats
    middle: Floats


class _Piece:
    """A piece of the table of inputs with its sums."""

    def __init__(self, table: Floats) -> None:
        self.table = table
        self.sums, self.products = table.sum(axis=0), table.T @ table
        self.low, self.high = table.min(axis=0, initial=np.inf), table.max(axis=0, initial=-np.inf)


class _Products:
    """Sums of products of the inputs and a quantity, each less a value near its mean."""

    def __init__(self, width: int) -> None:
        self.count, self._base = 0, 0.0
        self.of_columns, self._products, self._mixed = np.zeros(width), np.zeros((width, width)), np.zeros(width)
        self.low, self.high = np.full(width, np.inf), np.full(width, -np.inf)
        self._sum = self._squares = 0.0

    def add(self, piece: _Piece, y: Floats) -> None:
        """Take the next piece; all is finite."""
        if not self.count:
            self._base = float(np.mean(y))
        off = y - self._base
        self.count += len(y)
        self.of_columns += piece.sums
        self._products += piece.products
        self._mixed += off @ piece.table
        self.low, self.high = np.minimum(self.low, piece.low), np.maximum(self.high, piece.high)
        self._sum += float(off.sum())
        self._squares += float(np.sum(np.square(off)))

    @property
    def mean(self) -> float:
        """Of the quantity."""
        return self._base + self._sum / max(self.count, 1)

    @property
    def middle(self) -> Floats:
        """Means of the inputs."""
        return np.asarray(self.of_columns / max(self.count, 1))

    @property
    def _variance(self) -> float:
        return max(self._squares / self.count - (self._sum / self.count) ** 2, 0.0)

    @property
    def varies(self) -> bool:
        """Whether the quantity differs by more than rounding."""
        return bool(np.sqrt(self._variance) > STEADY * (abs(self.mean) + np.sqrt(self._variance)))

    def fitted(self, places: NDArray[np.int64], reach: Floats) -> tuple[Floats, float]:
        """Slopes over whole reaches by least squares, the shortest where several do; the share that they explain."""
        off = self._sum / self.count
        square = self._products[np.ix_(places, places)] / self.count - np.outer(*[self.middle[places]] * 2)
        mixed = (self._mixed[places] / self.count - off * self.middle[places]) / reach
        square /= np.outer(reach, reach)
        slopes = np.asarray(np.linalg.lstsq(square, mixed, rcond=_ALIKE)[0])
        left = self._variance - 2 * slopes @ mixed + slopes @ square @ slopes
        return slopes, 1 - max(float(left), 0.0) / self._variance if self._variance > 0 else float("nan")


def level_names(column: NDArray[Any]) -> NDArray[Any] | None:
    """The texts of an input, rising; None where its values are numbers."""
    return np.unique(column.astype(str)) if is_text(column) else None


def codes(column: NDArray[Any], names: NDArray[Any] | None) -> NDArray[Any]:
    """An input's values as numbers, or which of its texts they are."""
    return column.astype(np.float64) if names is None else np.searchsorted(names, column.astype(str))


def changed(before: NDArray[Any], after: NDArray[Any]) -> NDArray[np.bool_]:
    """Where an input's values differ; two NaN are the same."""
    different = np.asarray(before != after)
    if is_text(before):
        return different
    return different & ~(np.isnan(before.astype(np.float64)) & np.isnan(after.astype(np.float64)))


def is_text(column: NDArray[Any]) -> bool:
    """Whether an input's values are texts (materials)."""
    return column.dtype.kind not in "fiub"
