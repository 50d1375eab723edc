"""How soon a figure drifts by a stated amount."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from keyaction.sim.motion.integrate import Floats

Counts = NDArray[np.intp]

DRIFT = 0.5e-3
"""m at the key: by how much play or level may drift before somebody calls (assumed)."""


@dataclass(frozen=True)
class Drift:
    """The shortest time in which a figure drifts by a stated amount.

    Attributes
    ----------
    days : float
        Infinite where it never does.
    since : int
        Instant from which on; -1 where it never does.
    """

    days: float
    since: int


def fastest(days: Floats, course: Floats, by: float) -> Drift:
    """The shortest time in which a course drifts by so much, either way, from any of its instants.

    Parameters
    ----------
    days : (N,) array
        Rising.
    course : (N,) array
        Between two instants it runs straight; where it is NaN nothing is known of it.
    by : float
        In its unit, above 0.

    Returns
    -------
    Drift

    Raises
    ------
    ValueError
        If `by` is not above 0.
    """
    if not by > 0.0:
        raise ValueError(f"a drift by {by:g} is none; give a length above 0")
    since, until = _left(course, by)
    if not len(since):
        return Drift(math.inf, -1)
    times = _times(days, course, since, until, by)
    times[np.isnan(times)] = math.inf
    first = int(np.argmin(times))
    return Drift(float(times[first]), int(since[first])) if times[first] < math.inf else Drift(math.inf, -1)


def _times(days: Floats, course: Floats, since: Counts, until: Counts, by: float) -> Floats:
    """Days from each instant to that between two instants at which the course has left it by so much."""
    start, before, behind = course[since], course[until - 1], course[until]
    with np.errstate(invalid="ignore"):
        share = (start + np.copysign(by, behind - start) - before) / (behind - before)
    times = days[until - 1] + share * (days[until] - days[until - 1]) - days[since]
    return np.where(np.isfinite(before), times, days[until] - days[since])


def _left(course: Floats, by: float) -> tuple[Counts, Counts]:
    """Instants that the course ever leaves by so much, and for each the first at which it has.

    Highest and lowest values of spans of 1, 2, 4 ... instants make a tree; every instant climbs it to the first span
    that leaves it, and down in that one, all instants at once.
    """
    known = np.isfinite(course)
    tops, lows = _tree(np.where(known, course, -np.inf), np.maximum), _tree(np.where(known, course, np.inf), np.minimum)
    since = np.flatnonzero(known[:-1])
    at, found = since + 1, np.full(len(since), -1)  # found: the level of the span that leaves it
    seeking = np.arange(len(since))
    for k in range(len(tops)):
        here = seeking[(at[seeking] >> k) & 1 == 1]
        hit = _leaves(course[since[here]], tops[k], lows[k], at[here] >> k, by)
        found[here[hit]] = k
        at[here[~hit]] += 1 << k
        seeking = seeking[(found[seeking] < 0) & (at[seeking] < len(course))]
    since, at, found = (one[found >= 0] for one in (since, at, found))
    for k in range(len(tops) - 2, -1, -1):
        here = np.flatnonzero(found > k)
        hit = _leaves(course[since[here]], tops[k], lows[k], at[here] >> k, by)
        at[here[~hit]] += 1 << k
    return since, at


def _tree(values: Floats, most: np.ufunc) -> list[Floats]:
    """Extremes of spans of 1, 2, 4 ... values, up to one span of all; the last of a level may be shorter."""
    levels = [values]
    while len(levels[-1]) > 1:
        last = levels[-1]
        paired = most(last[0:-1:2], last[1::2])
        levels.append(np.append(paired, last[-1]) if len(last) % 2 else paired)
    return levels


def _leaves(start: Floats, tops: Floats, lows: Floats, spans: Counts, by: float) -> NDArray[np.bool_]:
    found: NDArray[np.bool_] = (tops[spans] - start >= by) | (start - lows[spans] >= by)
    return found
