"""Named states of the air around an action: the seasons as the trade speaks of them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from keyaction.models.climate.year import DAY, Year

ZERO = 273.15
"""K at 0 deg C."""


@dataclass(frozen=True)
class State:
    """Air that stays as it is.

    Attributes
    ----------
    name : str
        As a case or an option names it.
    temperature : float
        K.
    humidity : float
        Relative humidity, 0 to 1.
    doc : str
        For people.
    source : str
        Where the figures come from, or "assumed".
    """

    name: str
    temperature: float
    humidity: float
    doc: str
    source: str


_ALL = (
    State(
        "heated-dry-winter",
        ZERO + 20,
        0.25,
        "A heated room in frost: outside air, warmed without water.",
        "humidity: a Swedish guide to wood has 10 to 25 % in heated dwellings in winter (second-hand), its upper end; "
        "20 °C: at which organs are tuned, by builders' care pages (read)",
    ),
    State(
        "unheated-damp-winter",
        ZERO + 5,
        0.85,
        "An unheated room in a mild, wet winter.",
        "assumed",
    ),
    State(
        "damp-summer",
        ZERO + 22,
        0.75,
        "A damp summer behind thick walls.",
        "assumed; humidity: where mould begins if it lasts for weeks, by a draft standard on collections (read), and "
        "below the 80 % that builders' care pages allow in summer (read)",
    ),
    State(
        "after-air-heating",
        ZERO + 25,
        0.27,
        "A cold room after some hours of warm air: the water in the air is the same, its humidity less than half.",
        "12 to 25 °C within hours: an account of an air heating (read); 60 % before it: assumed; 27 % after it: the "
        "water in the air kept, saturation by Magnus' formula (from memory)",
    ),
)
STATES: Mapping[str, State] = {one.name: one for one in _ALL}
"""The named states by their names."""


def steady(state: str | State, days: int = 365) -> Year:
    """A year of one state, an instant a day.

    Parameters
    ----------
    state : str or State
        A name of `STATES`, or a state of one's own.
    days : int
        How many instants; at least 1.

    Returns
    -------
    Year
        Without dates. It finds wood as it was regulated, which goes to rest with it
        (`keyaction.models.climate.lag.moisture`).

    Raises
    ------
    KeyError
        If there is no state of that name.
    ValueError
        If there is not one day.

    Examples
    --------
    >>> year = steady("damp-summer", days=100)
    >>> len(year), round(float(year.humidity[-1]), 2)
    (100, 0.75)
    """
    one = STATES[state] if isinstance(state, str) else state
    if days < 1:
        raise ValueError(f"days {days}: at least 1 is needed")
    same = np.ones(days)
    seconds = DAY * np.arange(float(days))
    return Year(one.name, seconds, one.temperature * same, one.humidity * same, None, one.source)
