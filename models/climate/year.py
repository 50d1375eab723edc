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
COLDEST, HOTTEST = 200.0, 350.0
"""K: air beyond is none around an organ, but a figure in another unit (assumed)."""
_SLACK = 1e-9
"""Rounding of a unit that the bounds of an air allow for."""
_COURSES = ("seconds", "temperature", "humidity")


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

    Raises
    ------
    ValueError
        Naming everything that is wrong: arrays that are no courses of one length, are empty or hold what is no number,
        instants that do not rise from 0, a humidity outside 0 to 1, a temperature outside 200 to 350 K.

    Examples
    --------
    >>> Year("air", [0.0, 86400.0], [20.0, 21.0], [0.5, 55.0])
    Traceback (most recent call last):
    ValueError: climate 'air': temperature 20 to 21: allowed: 200 to 350 K; humidity 0.5 to 55: allowed: 0 to 1
    """

    name: str
    seconds: Floats
    temperature: Floats
    humidity: Floats
    start: date | None = None
    source: str = ""

    def __post_init__(self) -> None:
        wrong = [told for name in _COURSES if (told := self._no_course(name))] or self._defects()
        if wrong:
            raise ValueError(f"climate '{self.name}': {'; '.join(wrong)}")

    def _no_course(self, name: str) -> str:
        """Make floats of a course; what is wrong with its shape."""
        try:
            values = np.asarray(getattr(self, name), dtype=float)
        except (TypeError, ValueError):
            return f"{name} holds what is no number"
        object.__setattr__(self, name, values)
        if values.ndim != 1:
            return f"{name} has {values.ndim} dimensions; one is needed"
        return "" if len(values) else f"{name} is empty"

    def _defects(self) -> list[str]:
        """What is wrong with courses of one dimension."""
        lengths = [len(getattr(self, name)) for name in _COURSES]
        wrong = []
        if len(set(lengths)) > 1:
            wrong.append("lengths differ: " + ", ".join(map("{} {}".format, _COURSES, lengths)))
        bounds = {"temperature": (COLDEST, HOTTEST, " K"), "humidity": (0.0, 1.0, "")}
        for name in _COURSES:
            values = getattr(self, name)
            if count := np.count_nonzero(~np.isfinite(values)):
                wrong.append(f"{name}: {count} of {len(values)} values are not finite")
            elif name == "seconds":
                wrong += _of_instants(values)
            elif not bounds[name][0] - _SLACK <= values.min() <= values.max() <= bounds[name][1] + _SLACK:
                low, high, unit = bounds[name]
                found = f"{values.min():g} to {values.max():g}"
                wrong.append(f"{name} {found}: allowed: {low:g} to {high:g}{unit}")
        return wrong

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


def _of_instants(seconds: Floats) -> list[str]:
    """What is wrong with instants."""
    wrong = [] if seconds[0] == 0.0 else [f"seconds begin at {seconds[0]:g}; the first is 0"]
    back = np.flatnonzero(np.diff(seconds) <= 0)
    if len(back):
        i = int(back[0])
        told = f"seconds must rise: {seconds[i]:g}, then {seconds[i + 1]:g} (index {i + 1})"
        wrong.append(told if len(back) == 1 else f"{told}, and {len(back) - 1} more")
    return wrong
