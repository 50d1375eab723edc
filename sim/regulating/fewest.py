"""Which notes are to be reset: one shift that all share, and the fewest single notes beside it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from keyaction.sim.motion.integrate import Floats

Flags = NDArray[np.bool_]

SHARED = 0.5
"""A common shift is worth while if it leaves at most this share of the single resets (assumed)."""
MOST = 1 / 3
"""Of all notes, that are to be out of their band before anything is said to be common to all (assumed)."""
READ, QUARTER = 6, 1 / 4
"""Least number of notes, and share of the division, that were read before anything is moved for all (assumed)."""
FEW = 3
"""Notes below which nothing is said to be common to all."""


@dataclass(frozen=True)
class Band:
    """How far each of some neighbouring notes may be off, and each from the next.

    Attributes
    ----------
    low, high : (n,) array
        Of the amount by which a note is off.
    step : float
        Most by which neighbours may differ, in the figure that the amounts change.
    gain : (n,) array
        That figure per amount.
    """

    low: Floats
    high: Floats
    step: float
    gain: Floats

    @classmethod
    def of(cls, low: Floats, high: Floats) -> Band:
        """One in which neighbours may differ as they like."""
        return cls(low, high, np.inf, np.ones(len(low)))

    def at(self, chosen: Flags) -> Band:
        """That of some of the notes."""
        return Band(self.low[chosen], self.high[chosen], self.step, self.gain[chosen])


def enough(read: int, division: int) -> bool:
    """Whether so many notes of a division say something of all of them."""
    return read >= READ and read >= QUARTER * division


def singles(off: Floats, within: Band, shift: float = 0.0) -> Flags:
    """The fewest notes that are to be reset to nothing so that all are within the band, one shift taken off first.

    Parameters
    ----------
    off : (n,) array
        Amounts by which neighbouring notes are off; NaN where nothing is known: such a note is left, and its neighbours
        are held against each other.
    within : Band
    shift : float
        What is taken off all of them.

    Returns
    -------
    (n,) array of bool
    """
    known = np.flatnonzero(np.isfinite(off))
    found = np.zeros(len(off), dtype=bool)
    if not len(known):
        return found
    rest = off[known] - shift
    must = (rest < within.low[known]) | (rest > within.high[known])
    found[known] = _cheapest(rest * within.gain[known], must, within.step)
    return found


def _cheapest(value: Floats, must: Flags, step: float) -> list[bool]:
    """Along the row: least number of resets with each note left or reset, neighbours no further apart than a step."""
    n = len(value)
    cost, way = [0.0 if not must[0] else np.inf, 1.0], list[tuple[int, int]]()
    for i in range(1, n):
        before, here = (value[i - 1], 0.0), (value[i], 0.0)
        new, came = [np.inf, np.inf], [1, 1]
        for k in range(2):
            if k == 0 and must[i]:
                continue
            for j in range(2):
                total = cost[j] + k
                if total < new[k] and abs(before[j] - here[k]) <= step:
                    new[k], came[k] = total, j
        cost = new
        way.append((came[0], came[1]))
    last = 0 if cost[0] <= cost[1] else 1
    chosen = [last]
    for pair in reversed(way):
        chosen.append(pair[chosen[-1]])
    return [bool(one) for one in reversed(chosen)]


def shared(off: Floats, within: Band) -> float:
    """The shift that leaves the fewest single resets; 0 where none spares at least half of them.

    Parameters
    ----------
    off : (n,) array
    within : Band

    Returns
    -------
    float
        Of all shifts that leave as few the one nearest the mean of the notes that are then left alone.
    """
    known = np.isfinite(off)
    alone = int(np.sum(singles(off, within)))
    if np.sum(known) < FEW or alone < max(2.0, MOST * np.sum(known)):
        return 0.0
    tried = _tried(off[known], within.at(known))
    counts = np.array([np.sum(singles(off, within, shift)) for shift in tried])
    least = int(counts.min())
    if least + 1 >= alone or least > SHARED * alone:
        return 0.0
    best = tried[counts == least]
    left = np.isfinite(off) & ~singles(off, within, float(best[len(best) // 2]))
    return float(best[np.argmin(np.abs(best - np.mean(off[left])))])


def _tried(off: Floats, within: Band) -> Floats:
    """Shifts at which the number of resets can change, and those between."""
    reach = within.step / np.abs(within.gain) if np.isfinite(within.step) else np.full(len(off), np.nan)
    ends = np.concatenate([off, off - within.low, off - within.high, off - reach, off + reach])
    ends = np.unique(ends[np.isfinite(ends)])
    return np.unique(np.concatenate([ends, (ends[1:] + ends[:-1]) / 2, [float(np.mean(off))]]))
