"""Sampling plans: which designs a study computes, as positions of each input between 0 and 1.

A position is a share of an input's range, or of its probability; NaN stands for what the case itself has. Rows depend
on the plan and their number alone, never on how many others are asked for: where a plan `extends`, a longer one
begins with the rows of the shorter one.
"""

from __future__ import annotations

import inspect
import math
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
CHUNK = 1024
"""Rows, or base points, that are drawn from one random generator; a power of two, as Sobol' sequences like it."""


@dataclass(frozen=True)
class Plan:
    """A sampling plan.

    Parameters
    ----------
    kind : str
        ``grid``, ``one-at-a-time``, ``latin``, ``sobol``, ``random``, ``morris`` or ``tolerances``.
    inputs : int
        How many inputs vary.
    size : int
        Base points (sobol), trajectories (morris) or designs; not used by grid and one-at-a-time.
    seed : int
    second_order : bool
        sobol: rows for pairs of inputs too.
    levels : tuple of int
        Levels of each input (grid, one-at-a-time, morris).
    """

    kind: str
    inputs: int
    size: int = 0
    seed: int = 1
    second_order: bool = False
    levels: tuple[int, ...] = ()

    @property
    def per(self) -> int:
        """Rows for each base point or trajectory; else 1."""
        if self.kind == "sobol":
            return (2 * self.inputs if self.second_order else self.inputs) + 2
        return self.inputs + 1 if self.kind == "morris" else 1

    @property
    def count(self) -> int:
        """How many rows there are."""
        if self.kind == "grid":
            return math.prod(self.levels)
        if self.kind == "one-at-a-time":
            return 1 + sum(self.levels)
        return self.size * self.per

    @property
    def extends(self) -> bool:
        """Whether a larger size only adds rows at the end."""
        return self.kind in ("sobol", "random", "morris", "tolerances")

    def rows(self, start: int, stop: int) -> Floats:
        """Positions of the rows from `start` up to `stop`.

        Returns
        -------
        (stop - start, inputs) array
        """
        if not 0 <= start <= stop <= self.count:
            raise IndexError(f"rows {start} to {stop} of a plan of {self.count}")
        if self.kind == "grid":
            return _grid(self.levels, start, stop)
        if self.kind == "one-at-a-time":
            return _one_at_a_time(self.levels, start, stop)
        if self.kind == "latin":
            return _latin(self.inputs, self.size, self.seed)[start:stop].copy()
        if self.kind in ("random", "tolerances"):
            return _pieces(lambda chunk: _random(self.inputs, self.seed, chunk), CHUNK, start, stop)
        if self.kind == "sobol":
            one = lambda chunk: _saltelli(self.inputs, self.seed, self.second_order, chunk)  # noqa: E731
            return _pieces(one, CHUNK * self.per, start, stop)
        if self.kind == "morris":
            return _pieces(lambda number: _trajectory(self.levels, self.seed, number), self.per, start, stop)
        raise ValueError(f"no such plan: {self.kind}")


def _pieces(piece: Any, size: int, start: int, stop: int) -> Floats:
    """Rows out of pieces of `size` rows each."""
    numbers = range(start // size, -(-stop // size))
    if not numbers:
        return np.empty((0, piece(0).shape[1]))
    parts = [piece(number)[max(start - number * size, 0) : stop - number * size] for number in numbers]
    return np.concatenate(parts)  # a copy: pieces are large and kept


# -- plans with levels -----------------------------------------------------------------------------------
def _grid(levels: tuple[int, ...], start: int, stop: int) -> Floats:
    """Every combination of levels, the last input running fastest."""
    at = np.stack(np.unravel_index(np.arange(start, stop), levels), axis=1)
    return np.asarray(at / np.maximum(np.array(levels) - 1, 1))


def _one_at_a_time(levels: tuple[int, ...], start: int, stop: int) -> Floats:
    """The case itself, then every level of each input in turn with the others as in the case."""
    ends, numbers = np.cumsum(levels), np.arange(start, stop)
    found = np.full((len(numbers), len(levels)), np.nan)
    moved = numbers[numbers > 0] - 1
    which = np.searchsorted(ends, moved, side="right")
    count = np.array(levels)[which]
    found[numbers > 0, which] = (moved - ends[which] + count) / np.maximum(count - 1, 1)
    return found


# -- random plans ----------------------------------------------------------------------------------------
def _engine(name: str, inputs: int, seed: int, **options: Any) -> Any:
    """A generator of scipy.stats.qmc, which is slow to import; the name of its seed changed with SciPy 1.15."""
    from scipy.stats import qmc

    kind = getattr(qmc, name)
    word = "rng" if "rng" in inspect.signature(kind).parameters else "seed"
    return kind(inputs, **options, **{word: np.random.default_rng([seed])})


@lru_cache(maxsize=2)
def _random(inputs: int, seed: int, chunk: int) -> Floats:
    return np.random.default_rng([seed, chunk]).random((CHUNK, inputs))


@lru_cache(maxsize=1)
def _latin(inputs: int, size: int, seed: int) -> Floats:
    """One design in each of `size` equal layers of every input; the one plan that has to be kept whole in memory."""
    return np.asarray(_engine("LatinHypercube", inputs, seed).random(size))


class _Sequence:
    """A scrambled Sobol' sequence, chunk by chunk: the way to a chunk far on is long, to the next there is none."""

    def __init__(self, inputs: int, seed: int) -> None:
        self._made = inputs, seed
        self._begin()

    def _begin(self) -> None:
        inputs, seed = self._made
        self._engine, self._next = _engine("Sobol", 2 * inputs, seed, scramble=True), 0

    def points(self, chunk: int) -> Floats:
        """Points of a chunk."""
        if chunk < self._next:
            self._begin()
        if chunk > self._next:
            self._engine.fast_forward((chunk - self._next) * CHUNK)
        self._next = chunk + 1
        return np.asarray(self._engine.random(CHUNK))


@lru_cache(maxsize=1)
def _sequence(inputs: int, seed: int) -> _Sequence:
    return _Sequence(inputs, seed)


@lru_cache(maxsize=2)
def _saltelli(inputs: int, seed: int, second_order: bool, chunk: int) -> Floats:
    """Rows A, A with one column of B in turn, (B with one column of A in turn,) B of each base point.

    The scheme of A. Saltelli et al., "Variance based sensitivity analysis of model output", Computer Physics
    Communications 181 (2010) 259-270, on a scrambled Sobol' sequence in twice the number of inputs.
    """
    base = _sequence(inputs, seed).points(chunk)
    a, b = base[:, None, :inputs], base[:, None, inputs:]
    own = np.eye(inputs, dtype=bool)[None]
    rows = [a, np.where(own, b, a)]
    if second_order:
        rows.append(np.where(own, a, b))
    return np.concatenate([*rows, b], axis=1).reshape(-1, inputs)


@lru_cache(maxsize=8)
def _trajectory(levels: tuple[int, ...], seed: int, number: int) -> Floats:
    """A walk that moves each input once, in random order.

    M. D. Morris, "Factorial sampling plans for preliminary computational experiments", Technometrics 33 (1991)
    161-174: p levels, steps of p / (2 (p - 1)).
    """
    draw = np.random.default_rng([seed, number])
    p = np.array(levels)
    step = p / (2 * (p - 1))
    start = draw.integers(0, p // 2) / (p - 1)
    down = draw.random(len(p)) < 0.5
    moved = np.argsort(draw.permutation(len(p))) < np.arange(len(p) + 1)[:, None]
    walk = np.where(moved != down, start + step, start)
    return np.asarray(np.minimum(walk, 1.0))
