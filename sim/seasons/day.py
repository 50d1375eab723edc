"""The instant of a year that people name: a date, a day of the year, the number of a day."""

from __future__ import annotations

from datetime import date, datetime

import numpy as np

from keyaction.models.climate.year import DAY, Year

_WRITTEN = ("%d %b", "%d %B", "%b %d", "%B %d")


def instant_of(year: Year, text: str) -> int:
    """The instant nearest to a day.

    Parameters
    ----------
    year : Year
    text : str
        "2026-01-12" or "12 Jan" of a climate with dates, "day 12" or "12" of any.

    Returns
    -------
    int
        Within half a step of the climate.

    Raises
    ------
    ValueError
        If it is no day, or the climate does not hold it; the message says from when to when it goes.
    """
    wanted = _days(year, text.strip())
    if wanted is None:
        example = "12 Jan, 2026-01-12" if year.start else "day 12"
        raise ValueError(f"'{text}' is no day of the climate; write e.g. {example}, from {_span(year)}")
    i = int(np.argmin(np.abs(year.days - wanted)))
    step = float(np.median(np.diff(year.days))) if len(year) > 1 else 1.0
    if abs(float(year.days[i]) - wanted) > max(step, 1.0):
        raise ValueError(f"'{text}' is outside the climate, which goes from {_span(year)}")
    return i


def _days(year: Year, text: str) -> float | None:
    """Days from the first instant; None if it is no day."""
    number = text.removeprefix("day").strip()
    if number.isdigit():
        return float(number) - 1.0
    if year.start is None:
        return None
    try:
        return float((date.fromisoformat(text) - year.start).days)
    except ValueError:
        return _in_year(year, text, year.start)


def _in_year(year: Year, text: str, start: date) -> float | None:
    """A day without its year: the first on or after the climate's beginning."""
    for form in _WRITTEN:
        for of in range(start.year, start.year + 1 + int(year.seconds[-1] / (365 * DAY)) + 1):
            try:
                found = datetime.strptime(f"{text} {of}", f"{form} %Y").date()
            except ValueError:
                continue
            if found >= start:
                return float((found - start).days)
    return None


def _span(year: Year) -> str:
    return f"{year.when(0)} to {year.when(len(year) - 1)}"
