"""The search of repetition rates: the rate below which every rate tried passes, to 0.1 Hz, of one note or of many."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import overload

import numpy as np
from numpy.typing import NDArray

from keyaction.sim.figures.limits import LIMITS
from keyaction.sim.figures.measure import Floats
from keyaction.sim.figures.repetition import STEP, Repetition, Verdicts

Numbers = NDArray[np.int64]

LOWEST, GRID = 10, 5
"""Tenths of Hz: slowest rate tried, and between the rates of the first look.

A key that rebounds fails at some rates and passes at faster ones again: rates between two failing ones half a hertz
apart and passing ones on both sides would be missed.
"""
BACK = 3
"""Half hertz below the first failing one at which a quick verdict is not trusted."""
WALK = 10
"""Tenths of Hz that another integrator goes from a boundary that it does not confirm, before it looks at all rates."""

Codes = Callable[[np.ndarray, np.ndarray], Numbers]
"""Outcomes as of `Verdicts`, each by its place in `WORDS`."""
WORDS = tuple(LIMITS)
BEYOND, FAILED = (WORDS.index(word) for word in ("beyond", "failed"))
UNSEARCHED = Repetition(float("nan"), "", 0)


class Rates(Sequence[Repetition]):
    """Repetition rates of many designs; the `Repetition` of one is made when it is asked for.

    Attributes
    ----------
    tenths : (N,) array
        Rates in steps of 0.1 Hz; below 0 where none was searched.
    limits : (N,) array
        What fails above, by its place in `WORDS`.
    again : (N,) array
        Highest rate beyond that passes again, in steps of 0.1 Hz.
    trials : (N,) array
    """

    def __init__(self, tenths: Numbers, limits: Numbers, again: Numbers, trials: Numbers) -> None:
        self.tenths, self.limits, self.again, self.trials = tenths, limits, again, trials
        self._told: dict[int, Repetition] = {}

    @classmethod
    def unsearched(cls, count: int) -> Rates:
        """No rate yet."""
        nothing = np.zeros(count, dtype=np.int64)
        return cls(np.full(count, -1), nothing, nothing.copy(), nothing.copy())

    @property
    def rate(self) -> Floats:
        """Hz; NaN where none was searched."""
        return np.where(self.tenths >= 0, self.tenths / 10, np.nan)

    def __len__(self) -> int:
        return len(self.tenths)

    @overload
    def __getitem__(self, index: int) -> Repetition: ...

    @overload
    def __getitem__(self, index: slice) -> list[Repetition]: ...

    def __getitem__(self, index: int | slice) -> Repetition | list[Repetition]:
        if isinstance(index, slice):
            return [self[i] for i in range(*index.indices(len(self)))]
        if index in self._told:
            return self._told[index]
        tenths, again = int(self.tenths[index]), int(self.again[index])
        if tenths < 0:
            return UNSEARCHED
        return Repetition(tenths / 10, WORDS[self.limits[index]], int(self.trials[index]), again / 10)

    def some(self, which: Numbers) -> Rates:
        """Of some of the designs."""
        found = Rates(self.tenths[which], self.limits[which], self.again[which], self.trials[which])
        found._told = {k: self._told[i] for k, i in enumerate(which.tolist()) if i in self._told}
        return found

    def put(self, index: int, one: Repetition) -> None:
        """Another integrator's word on a design."""
        self.tenths[index] = round(one.rate / STEP) if math.isfinite(one.rate) else -1
        self.limits[index], self.again[index] = WORDS.index(one.limit), round(one.again / STEP)
        self.trials[index], self._told[index] = one.trials, one

    def reasons(self) -> NDArray[np.object_]:
        """`Repetition.reason` of each."""
        found = np.array(list(LIMITS.values()), dtype=object)[self.limits]
        found[(self.tenths < 0) & (self.limits == 0)] = ""
        for i in {*np.flatnonzero(self.again > 0).tolist(), *self._told}:
            found[i] = self[i].reason
        return found


def searched(count: int, highest: float, codes: Codes) -> Rates:
    """Search the repetition rates of many designs side by side.

    Every half hertz from 1 Hz to the highest is tried, and the tenths between the last that passes and the first that
    fails. The rate is 0 where the slowest trial (1 Hz) fails.

    Parameters
    ----------
    count : int
        How many designs.
    highest : float
        Highest rate tried, Hz.
    codes : callable
        See `Codes`.
    """
    grid, each = _grid(highest), np.arange(count)
    told = codes(np.repeat(grid, count), np.tile(each, len(grid))).reshape(len(grid), count)
    return _finely(grid, told, codes)


def _grid(highest: float) -> Numbers:
    """The rates of the first look."""
    top = int(highest / STEP + 1e-9)
    return np.array([*range(LOWEST, top, GRID), top])


def _finely(grid: Numbers, told: Numbers, codes: Codes) -> Rates:
    """Rates from the codes at the half hertz, (rates, designs): the tenths between are tried."""
    found, top = _coarse(grid, told), int(grid[-1])
    first = np.searchsorted(grid, found.tenths, side="right")
    open_ = np.flatnonzero((found.tenths > 0) & (found.tenths < top))
    low, high = found.tenths[open_], grid[np.minimum(first[open_], len(grid) - 1)]
    tenths = low + np.arange(1, GRID)[:, None]
    asked = tenths < high
    if np.any(asked):
        told = np.zeros(tenths.shape, dtype=np.int64)
        told[asked] = codes(tenths[asked], np.broadcast_to(open_, tenths.shape)[asked])
        count_of, fails = np.sum(asked, axis=0), told != 0
        failing_at = np.where(fails.any(axis=0), fails.argmax(axis=0), count_of)
        found.tenths[open_] += failing_at
        limit = told[np.minimum(failing_at, GRID - 2), np.arange(len(open_))]
        found.limits[open_] = np.where(fails.any(axis=0), limit, found.limits[open_])
        found.trials[open_] += count_of
    return found


Quick = Callable[[np.ndarray, np.ndarray], tuple[Numbers, NDArray[np.bool_]]]
"""Codes found in a quicker way, and which of them can be trusted."""


def searched_twice(count: int, highest: float, exact: Codes, quick: Quick) -> Rates:
    """`searched` in a quicker way far from the boundary of each, where that can be trusted.

    Near the boundary a note may pass or fail by the last digits: the half hertz that fails first and some below it are
    asked exactly, and so are the tenths.
    """
    grid, each = _grid(highest), np.arange(count)
    tenths, which = np.repeat(grid, count), np.tile(each, len(grid))
    told, sure = quick(tenths, which)
    again = np.flatnonzero(~sure)
    if len(again):
        told[again] = exact(tenths[again], which[again])
    told, known = told.reshape(len(grid), count), ~sure.reshape(len(grid), count)
    _settle(grid, told, known, exact)
    return _finely(grid, told, exact)


def searched_early(count: int, highest: float, exact: Codes, quick: Quick) -> Rates:
    """`searched` with trials that end as soon as enough is known of them.

    Parameters
    ----------
    count : int
        How many designs.
    highest : float
        Highest rate tried, Hz.
    exact : callable
        Trials of which all strokes are played that pass.
    quick : callable
        The same, but that some which pass end before their last stroke, and are not to be trusted: those near the
        boundary, and the fastest beyond it that passes again, are asked anew.
    """
    grid, each = _grid(highest), np.arange(count)
    codes, exactly = quick(np.repeat(grid, count), np.tile(each, len(grid)))
    told, known = codes.reshape(len(grid), count), exactly.reshape(len(grid), count)
    _settle(grid, told, known, exact, beyond=True)
    return _finely(grid, told, exact)


def _settle(grid: Numbers, told: Numbers, known: NDArray[np.bool_], exact: Codes, beyond: bool = False) -> None:
    """Ask exactly, in place, what is not known near the first failing rate, and of the last one beyond that passes."""
    each, rows = np.arange(told.shape[1]), np.arange(len(grid))[:, None]
    while len(each):
        fails = told[:, each] != 0
        first = np.where(fails.any(axis=0), fails.argmax(axis=0), len(grid) - 1)
        asked = (rows <= first) & (rows >= first - BACK)
        if beyond:
            asked |= (rows > first) & (rows == len(grid) - 1 - (~fails)[::-1].argmax(axis=0))
        rate, some = np.nonzero(asked & ~known[:, each])
        if not len(rate):
            break
        found = exact(grid[rate], each[some])
        moved = (found == 0) != (told[rate, each[some]] == 0)
        told[rate, each[some]], known[rate, each[some]] = found, True
        each = each[np.unique(some[moved])]


def _coarse(grid: Numbers, told: Numbers) -> Rates:
    """What the half hertz tell: codes (rates, designs)."""
    fails, each, last = told != 0, np.arange(told.shape[1]), len(grid) - 1
    bad = fails.any(axis=0)
    first = np.where(bad, fails.argmax(axis=0), last)
    passes = np.where(fails.all(axis=0), -1, last - (~fails)[::-1].argmax(axis=0))
    tenths = np.where(bad, np.where(first > 0, grid[first - 1], 0), grid[-1])
    again = np.where(bad & (passes > first), grid[passes], 0)
    return Rates(tenths, told[first, each].astype(np.int64), again, np.full(len(each), len(grid)))


def search(verdicts: Verdicts, highest: float) -> Repetition:
    """Search the repetition rate of one note."""

    def codes(tenths: np.ndarray, which: np.ndarray) -> Numbers:
        return np.array([WORDS.index(word) for word in verdicts(tenths, which)])

    return searched(1, highest, codes)[0]


def confirmed(found: Repetition, verdicts: Verdicts, highest: float) -> Repetition:
    """A rate found by one integrator, asked of another at its boundary alone.

    Where the other does not agree it goes on from there by 0.1 Hz to its own boundary; where that is more than 1 Hz
    away it looks at all rates.
    """
    top = int(highest / STEP + 1e-9)

    def fails(tenths: int) -> str:
        return verdicts(np.array([tenths]), np.array([0]))[0]

    return _walked(found, fails, top) or search(verdicts, highest)


def all_confirmed(found: Rates, codes: Codes, highest: float) -> Rates:
    """`confirmed` of many designs side by side: all rates that a walk may come to are asked at once."""
    top, each = int(highest / STEP + 1e-9), np.arange(len(found))
    tenths = found.tenths + np.arange(-WALK, WALK + 1)[:, None]
    slow = np.maximum(found.tenths, LOWEST) != found.tenths
    tenths[:, slow] = np.where(np.arange(len(tenths)) == 0, LOWEST, 0)[:, None]
    asked = (tenths >= LOWEST) & (tenths <= top)
    told = np.zeros(tenths.shape, dtype=np.int64)
    told[asked] = codes(tenths[asked], np.broadcast_to(each, tenths.shape)[asked])
    again, lost = found.some(each), []
    for i in each.tolist():
        answers = dict(zip(tenths[:, i].tolist(), told[:, i].tolist(), strict=True))
        one = _walked(found[i], lambda at: WORDS[answers[at]], top)  # noqa: B023  asked at once
        if one is None:
            lost.append(i)
        else:
            again.put(i, one)
    if lost:
        which = np.array(lost)
        more = searched(len(lost), highest, lambda tenths, some: codes(tenths, which[some]))
        for i, one in zip(lost, more, strict=True):
            again.put(i, one)
    return again


def _walked(found: Repetition, asked: Callable[[int], str], top: int) -> Repetition | None:
    """Where a walk from a rate ends; none where all rates have to be looked at."""
    start = round(found.rate / STEP)

    def fails(tenths: int) -> str:
        return found.limit if tenths > top else asked(tenths)

    if start < LOWEST:
        return found if fails(LOWEST) else None
    outcome, at = fails(start), start
    if not outcome:
        while at < min(start + WALK, top) and not (outcome := fails(at + 1)):
            at += 1
        if outcome or at in (start, top):
            return replace(found, rate=round(at * STEP, 1), limit=outcome if at < top else "", again=_beyond(found, at))
        return None
    while at > max(start - WALK, LOWEST):
        at -= 1
        below = fails(at)
        if not below:
            return replace(found, rate=round(at * STEP, 1), limit=outcome, again=_beyond(found, at))
        outcome = below
    return None


def _beyond(found: Repetition, at: int) -> float:
    """The rate that passes again, where it still lies beyond the boundary."""
    return found.again if found.again > at * STEP + STEP / 2 else 0.0
