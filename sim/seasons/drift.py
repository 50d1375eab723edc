"""How soon a figure drifts by a stated amount."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from keyaction.sim.motion.integrate import Floats

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
    found = Drift(math.inf, -1)
    for i in range(len(days) - 1):
        time = _after(days[i:], course[i:], by)
        if time < found.days:
            found = Drift(time, i)
    return found


def _after(days: Floats, course: Floats, by: float) -> float:
    """Days from the first instant to that at which the course has left it by so much."""
    away = np.abs(course - course[0])
    beyond = np.flatnonzero(away >= by)
    if not len(beyond):
        return math.inf
    j = int(beyond[0])
    if not np.isfinite(away[j - 1]):
        return float(days[j] - days[0])
    side = math.copysign(by, course[j] - course[0])
    share = (course[0] + side - course[j - 1]) / (course[j] - course[j - 1])
    return float(days[j - 1] + share * (days[j] - days[j - 1]) - days[0])
