"""A climate as time goes: temperature and humidity of the air around an action."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

DAY = 86400.0
"""s."""
YEAR = 365 * DAY
"""s: a year of whole days."""


@dataclass(frozen=True)
class Year:
    """Air around an action, at rising instants.

    Attributes
    ----------
    name : str
        What it is called: a file, named states, a wave.
    seconds : (N,) array
        From the first instant on, s; rising, the first is 0.
    temperature : (N,) array
        K.
    humidity : (N,) array
        Relative humidity, 0 to 1.
    start : date, optional
        The day of the first instant, where the climate has dates.
    source : str
        Where its figures come from; "invented", "assumed" and "common practice" are said.
    """

    name: str
    seconds: Floats
    temperature: Floats
    humidity: Floats
    start: date | None = None
    source: str = ""

    def __len__(self) -> int:
        return len(self.seconds)

    @property
    def days(self) -> Floats:
        """The instants in days from the first, (N,)."""
        return self.seconds / DAY

    def when(self, i: int) -> str:
        """The i-th instant for people: "12 Jan", or "day 12" of a climate without dates."""
        if self.start is None:
            return f"day {int(self.days[i]) + 1}"
        day = self.start + timedelta(days=float(self.days[i]))
        return f"{day.day} {day:%b}"
