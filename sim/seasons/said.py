"""Lengths, loads and spells of a year as sentences have them: no finer than the tables."""

from __future__ import annotations

import numpy as np

from keyaction.models.climate.lag import repeats
from keyaction.models.climate.year import Year
from keyaction.models.units.quantity import System, convert, format_value
from keyaction.sim.seasons.months import merged

_FINE = ((1e-3, 3), (0.1e-3, 2))
"""m from which a length has so many digits: hundredths of a millimetre below 10 mm; shorter ones have one."""
_SPELLS = 3
"""Spells that are told one by one."""


def length(si: float, units: System) -> str:
    """A length (m) to a hundredth of a millimetre, of less its first digit."""
    digits = next((digits for least, digits in _FINE if abs(si) >= least), 1)
    return format_value(si, "m", units, digits)


def force(si: float, units: System) -> str:
    """A force (N)."""
    return format_value(si, "N", units)


def load(si: float, units: System) -> str:
    """A load (N) on a rail; where grams are spoken of with its kilograms as well."""
    if units == "si" or not np.isfinite(si):
        return force(si, units)
    grams, _ = convert(si, "N", units)
    return f"{force(si, units)} ({format_value(grams / 1000, '1', digits=3 if abs(grams) >= 1000 else 2)} kg)"


def told_spells(year: Year, there: np.ndarray) -> list[tuple[int, int]]:
    """First and last instant of the spells that are told: near ones as one, that over the year's end as one.

    Parameters
    ----------
    year : Year
    there : (D,) array of bool
        When a thing is so.

    Returns
    -------
    list of (int, int)
        Of a spell over the end of a climate that repeats itself the first lies behind the last.
    """
    found = merged(year, there)
    if len(found) > 1 and repeats(year) and there[0] and there[-1]:
        return [*found[1:-1], (found[-1][0], found[0][1])]
    return found


def spells_said(year: Year, there: np.ndarray) -> str:
    """When a thing is so: "from 1 Jan to 30 Mar", "on every day"; of many spells the longest."""
    if np.all(there):
        return "on every day"
    found = told_spells(year, there)
    longest = sorted(found, key=lambda one: -_days(year, one))[:_SPELLS]
    words = [_said(year, *one) for one in found if one in longest]
    more = len(found) - len(words)
    return ", ".join(words) + (f" and in {more} shorter spell{'s' if more != 1 else ''}" if more else "")


def _days(year: Year, spell: tuple[int, int]) -> float:
    first, last = spell
    length = float(year.days[last] - year.days[first])
    return length if length >= 0 else length + float(year.days[-1])


def _said(year: Year, first: int, last: int) -> str:
    start, end = year.when(first), year.when(last)
    return f"on {start}" if start == end else f"from {start} to {end}"
