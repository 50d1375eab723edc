"""A steady wave over the year, between a winter and a summer: the climate of whoever has no table."""

from __future__ import annotations

from datetime import date

import numpy as np

from keyaction.models.climate.states import STATES, State
from keyaction.models.climate.year import DAY, YEAR, Year

WARMEST = 200
"""Day of the year (19 July) on which a room is warmest: about a month after the longest day; common practice."""
START = date(2001, 1, 1)
"""A year of 365 days, so that a wave has months; only its days and months are ever shown."""


def wave(
    mean: tuple[float, float],
    swing: tuple[float, float],
    warmest_day: float = WARMEST,
    days: int = 365,
    name: str = "wave",
    source: str = "assumed",
) -> Year:
    """Temperature and humidity in step, each one sine wave a year, an instant a day.

    Parameters
    ----------
    mean : (float, float)
        Temperature in K, relative humidity 0 to 1.
    swing : (float, float)
        How far each goes from its mean, K and 0 to 1; humidity below 0 where it is driest when it is warmest.
    warmest_day : float
        Day of the year, 1 to 365, on which the swing is added in full.
    days : int
        How many instants from 1 January on; the wave is always 365 days long.
    name, source : str
        For people.

    Returns
    -------
    Year

    Raises
    ------
    ValueError
        If the humidity leaves 0 to 1, the temperature is below absolute zero, or there is not one day.

    Examples
    --------
    >>> year = wave((288.15, 0.5), (10.0, -0.2))
    >>> [round(float(one), 2) for one in (year.temperature[199], year.humidity[199])]
    [298.15, 0.3]
    """
    if days < 1:
        raise ValueError(f"days {days}: at least 1 is needed")
    if not 0 <= mean[1] - abs(swing[1]) <= mean[1] + abs(swing[1]) <= 1:
        raise ValueError(f"humidity {mean[1]:.3g} ± {abs(swing[1]):.3g}: it must stay from 0 to 1")
    if not mean[0] - abs(swing[0]) > 0:
        raise ValueError(f"temperature {mean[0]:.4g} ± {abs(swing[0]):.4g} K: it must stay above 0")
    seconds = DAY * np.arange(float(days))
    phase = np.cos(2 * np.pi * (seconds - DAY * (warmest_day - 1)) / YEAR)
    return Year(name, seconds, mean[0] + swing[0] * phase, mean[1] + swing[1] * phase, START, source)


def between(winter: str | State, summer: str | State, days: int = 365) -> Year:
    """A wave that is one state in the middle of the winter and another in the middle of the summer.

    Parameters
    ----------
    winter, summer : str or State
        Names of `STATES`, or states of one's own.
    days : int
        How many instants.

    Returns
    -------
    Year

    Raises
    ------
    KeyError
        If there is no state of that name.
    """
    cold, warm = (STATES[one] if isinstance(one, str) else one for one in (winter, summer))
    mean = (cold.temperature + warm.temperature) / 2, (cold.humidity + warm.humidity) / 2
    swing = (warm.temperature - cold.temperature) / 2, (warm.humidity - cold.humidity) / 2
    source = f"a sine wave, assumed, between {cold.name} ({cold.source}) and {warm.name} ({warm.source})"
    return wave(mean, swing, days=days, name=f"wave from {cold.name} to {warm.name}", source=source)


def default_year() -> Year:
    """The climate where none is given: a wave from the heated dry winter to the damp summer."""
    return between("heated-dry-winter", "damp-summer")
