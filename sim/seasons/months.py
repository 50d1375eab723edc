"""A year in pieces that people speak of: its months, or the weeks and days of a short climate."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import timedelta

import numpy as np

from keyaction.models.climate.year import Year
from keyaction.sim.motion.integrate import Floats

MONTH, WEEK, SHORT = 365 / 12, 7.0, 14.0
"""Days of a piece of a climate without dates, of one of some weeks, and up to which every day is a piece."""
NEAR = 3.0
"""Days less than which two spells lie apart to be told as one."""
_LONG = 62.0
"""Days from which a climate is told by months."""


def pieces(year: Year) -> dict[str, np.ndarray]:
    """The instants of a climate by the month of the year.

    Parameters
    ----------
    year : Year

    Returns
    -------
    dict of str to (N,) array of bool
        "Jan" and so on in the order in which they come, months of the same name together; of a climate without dates
        twelfths of 365 days; of one of at most 62 days weeks, of one of at most 14 its days.
    """
    span = float(year.days[-1])
    if span <= SHORT:
        return _by(year, 1.0)
    if span <= _LONG:
        return _by(year, WEEK)
    if year.start is None:
        return _by(year, MONTH)
    names = [f"{year.start + timedelta(days=float(day)):%b}" for day in year.days]
    return {name: np.array([one == name for one in names]) for name in dict.fromkeys(names)}


def _by(year: Year, length: float) -> dict[str, np.ndarray]:
    rows = np.floor(year.days / length)
    found = {}
    for row in np.unique(rows):
        there = np.flatnonzero(rows == row)
        found[_joined(year.when(int(there[0])), year.when(int(there[-1])))] = rows == row
    return found


def _joined(first: str, last: str) -> str:
    """From one day to another: "8-14 Jan", "29 Jan-4 Feb", "day 1-7"."""
    if first == last:
        return first
    if first.startswith("day "):
        return f"{first}-{last.removeprefix('day ')}"
    day, _, month = first.partition(" ")
    return f"{day}-{last}" if last.endswith(month) else f"{first}-{last}"


def days_of(year: Year, there: np.ndarray) -> int:
    """On how many days a thing is so at one instant or more."""
    return len(np.unique(np.floor(year.days[there])))


def spells(there: np.ndarray) -> list[tuple[int, int]]:
    """First and last instant of every unbroken run of those where a thing is so."""
    edges = np.flatnonzero(np.diff(np.concatenate([[False], there, [False]]).astype(int)))
    return [(int(first), int(after) - 1) for first, after in edges.reshape(-1, 2)]


def merged(year: Year, there: np.ndarray) -> list[tuple[int, int]]:
    """The `spells`, those that lie less than `NEAR` apart as one."""
    found: list[tuple[int, int]] = []
    for first, last in spells(there):
        if found and year.days[first] - year.days[found[-1][1]] < NEAR:
            found[-1] = found[-1][0], last
        else:
            found.append((first, last))
    return found


def wood_mean(moisture: Mapping[str, Floats]) -> Floats | None:
    """Moisture content over the mean of all that is wood, (N,); None without any."""
    return np.asarray(np.mean(list(moisture.values()), axis=0)) if moisture else None
