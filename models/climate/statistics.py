"""What a climate was like: spells outside of limits, and the statistic of EN 15757.

EN 15757:2010 (it covers churches: its scope was read; the figures are from memory): the running mean of 30 days is the
climate that things have grown used to; what departs from it more than the 7th to 93rd percentile of a whole year's
departures is a risk, but departures within 10 % humidity are not.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from keyaction.models.climate.year import DAY, Floats, Year

WINDOW = 30 * DAY
"""s, EN 15757:2010 (from memory)."""
LOW, HIGH = 7.0, 93.0
"""Percentiles, the same."""
EXEMPT = 0.10
"""Departure of humidity that is no risk, the same."""


@dataclass(frozen=True)
class Spell:
    """A time without a break.

    Attributes
    ----------
    first, last : int
        Its first and last instant.
    seconds : float
        How long: each instant stands for the time to the next.
    """

    first: int
    last: int
    seconds: float


def steps(year: Year) -> Floats:
    """The time for which each instant stands, (N,), s: to the next one; the last as long as most, a lone one a day."""
    if len(year) == 1:
        return np.array([DAY])
    found = np.diff(year.seconds)
    return np.append(found, np.median(found))


def spells(year: Year, where: NDArray[np.bool_]) -> tuple[Spell, ...]:
    """The times without a break at which something holds.

    Parameters
    ----------
    year : Year
    where : (N,) array of bool
        Whether it holds at every instant.

    Returns
    -------
    tuple of Spell
        In order.
    """
    edges = np.flatnonzero(np.diff(np.concatenate(([False], where, [False])).astype(int)))
    ends = np.concatenate(([0.0], np.cumsum(steps(year))))
    return tuple(
        Spell(int(a), int(b) - 1, float(ends[b] - ends[a])) for a, b in zip(edges[::2], edges[1::2], strict=True)
    )


def running_mean(year: Year, values: Floats, window: float = WINDOW) -> Floats:
    """Mean over a window about every instant, of the straight lines between the instants.

    Parameters
    ----------
    year : Year
    values : (N,) array
        Temperature, humidity or what follows them.
    window : float
        s.

    Returns
    -------
    (N,) array
        In the unit of the values; at both ends over as much of the window as there is.
    """
    t = year.seconds
    if len(t) == 1:
        return values.copy()
    pieces = np.diff(t) * (values[1:] + values[:-1]) / 2
    area = np.concatenate(([0.0], np.cumsum(pieces)))
    low, high = np.maximum(t - window / 2, t[0]), np.minimum(t + window / 2, t[-1])
    means: Floats = (_area(high, t, values, area) - _area(low, t, values, area)) / (high - low)
    return means


def _area(at: Floats, t: Floats, values: Floats, area: Floats) -> Floats:
    """The area under straight lines from the first instant to each of `at`."""
    i = np.clip(np.searchsorted(t, at, side="right") - 1, 0, len(t) - 2)
    on = at - t[i]
    slope = (values[i + 1] - values[i]) / (t[i + 1] - t[i])
    found: Floats = area[i] + on * (values[i] + on * slope / 2)
    return found


@dataclass(frozen=True)
class Habit:
    """What the things in a room have grown used to.

    Attributes
    ----------
    mean : (N,) array
        Running mean of the humidity over 30 days.
    low, high : float
        Allowed departures from it, below 0 and above 0.
    outside : (N,) array of bool
        Where the humidity departs by more.
    """

    mean: Floats
    low: float
    high: float
    outside: NDArray[np.bool_]


def habit(year: Year) -> Habit:
    """Running mean of the humidity and the band about it, by EN 15757:2010 (its figures from memory).

    Parameters
    ----------
    year : Year
        The standard wants a whole year or more; of a shorter one the figures say little.

    Returns
    -------
    Habit
        Percentiles are of the instants, each counted once.
    """
    mean = running_mean(year, year.humidity)
    departs = year.humidity - mean
    low = min(float(np.percentile(departs, LOW)), -EXEMPT)
    high = max(float(np.percentile(departs, HIGH)), EXEMPT)
    slack = 1e-12
    return Habit(mean, low, high, (departs < low - slack) | (departs > high + slack))
