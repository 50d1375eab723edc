"""What only shows once a climate's table is read: dates that fall, gaps, values that no room has."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime, timedelta

import numpy as np
from numpy.typing import NDArray

from keyaction.cases.seasons.climate_rows import MOST, Rows
from keyaction.cases.text.defects import Place
from keyaction.models.climate.year import DAY, Floats

COLDEST, HOTTEST = 213.15, 333.15
"""K, -60 to 60 deg C: what is allowed of the air around an action; assumed."""
NO_AIR = 0.01
"""Humidity up to which a figure in per cent is taken for a share by mistake: no air of a room is so dry."""
_ROUNDING = 1e-9
"""K or share by which a value may miss the ends of what is allowed, which count: a unit's rounding."""
_HOUR = 3600.0
_EVEN = 0.75
"""Share of steps of one length from which on a table is one of even steps; assumed."""


def check_dates(rows: Rows, place: Place) -> None:
    """Dates rise, no row is missing, and there is one a day or more; what is wrong goes into the log of the place."""
    seconds = np.array(rows.seconds)
    good = np.flatnonzero(np.isfinite(seconds))
    steps = np.diff(seconds[good])
    if len(steps) == 0:
        return
    if len(steps) > 1 and np.all(steps < 0):
        place.defect("date", "dates fall from row to row; sort the table so that they rise")
        return
    for i in np.flatnonzero(steps <= 0)[:MOST]:
        _back(rows, int(good[i]), int(good[i + 1]), place)
    rising = steps[steps > 0]
    if len(rising):
        _gaps(rows, good, steps, rising, place)


def _back(rows: Rows, before: int, at: int, place: Place) -> None:
    """A date that is not later than the one before it."""
    step = rows.seconds[at] - rows.seconds[before]
    if step == 0:
        why = f"the same as in line {rows.lines[before]}" + ("" if rows.timed else "; of several a day give the times")
    else:
        why = f"earlier than line {rows.lines[before]} ({_written(rows, before)}); dates must rise"
    clock = rows.timed and step >= -_HOUR
    place.at(f"line {rows.lines[at]}").defect("date", why + (_CLOCKS if clock else ""), _written(rows, at))


_CLOCKS = "; clocks put on or back? write the offset from UTC behind the times: 2025-10-26 02:00+01:00"


def _gaps(rows: Rows, good: NDArray[np.intp], steps: Floats, rising: Floats, place: Place) -> None:
    if rising.min() > DAY:
        if np.any(steps < 0):  # rows out of their order leave gaps that are none
            return
        place.defect("date", f"rows are {_long(float(np.median(rising)))} apart; one a day or finer is needed")
        return
    usual = min(float(np.median(rising)), DAY)
    even = np.mean(np.abs(rising - usual) < 0.01 * usual) >= _EVEN
    longest = 1.5 * usual if even else DAY
    # Behind a date that cannot be read, and around one that falls, a gap says nothing of its own.
    plain = (np.diff(good) == 1) & np.append(True, steps[:-1] > 0) & np.append(steps[1:] >= 0, True)
    for i in np.flatnonzero(plain & (steps > longest * (1 + 1e-9)))[:MOST]:
        before, at = int(good[i]), int(good[i + 1])
        count = round(float(steps[i]) / usual) - 1
        missing = f": {count} row{'' if count == 1 else 's'} missing" if even else ""
        why = f"a gap of {_long(float(steps[i]))} after line {rows.lines[before]} ({_written(rows, before)}){missing}"
        clock = rows.timed and steps[i] - usual == _HOUR
        place.at(f"line {rows.lines[at]}").defect("date", why + (_CLOCKS if clock else ""), _written(rows, at))


def check_values(rows: Rows, place: Place) -> None:
    """Values are such as a room has; what is wrong goes into the log of the place."""
    scales = rows.head.scales
    warm, damp = np.array(rows.temperature), np.array(rows.humidity)
    scale = scales["temperature"]
    allowed = f"allowed: {scale.shown(COLDEST)} to {scale.shown(HOTTEST)}"
    _refuse(rows, place, "temperature", warm, _outside(warm, COLDEST, HOTTEST), lambda value: allowed + _unit(value))
    scale = scales["humidity"]
    _refuse(rows, place, "humidity", damp, _outside(damp, 0.0, 1.0), lambda _: f"allowed: 0 to {scale.shown(1.0)}")
    if scale.unit:
        _refuse(rows, place, "humidity", damp, (damp >= 0) & (damp <= NO_AIR), lambda _: _SHARE)


def _outside(values: Floats, low: float, high: float) -> NDArray[np.bool_]:
    return (values < low - _ROUNDING) | (values > high + _ROUNDING)


_SHARE = "no air of a room is so dry; a share of 1? write 'humidity [1]' in the header, or per cent"


def _unit(value: float) -> str:
    """The unit that a temperature read as deg C was probably in."""
    number = value - 273.15
    if 230 < number < 330:
        return "; in kelvin? write 'temperature [K]' in the header"
    return "; in Fahrenheit? give degC" if 60 < number < 120 else ""


def _refuse(
    rows: Rows, place: Place, name: str, values: Floats, wrong: NDArray[np.bool_], why: Callable[[float], str]
) -> None:
    """One defect for each value that is wrong; one for all if there is no other."""
    found = np.flatnonzero(wrong)
    scale = rows.head.scales[name]
    if len(found) > 1 and len(found) == np.count_nonzero(np.isfinite(values)):
        low, high = (scale.shown(float(one)) for one in (np.nanmin(values), np.nanmax(values)))
        place.defect(name, f"all values are wrong, {low} to {high}: {why(float(np.nanmedian(values)))}")
        return
    for i in found[:MOST]:
        value = float(values[i])
        place.at(f"line {rows.lines[i]}").defect(name, f"{scale.shown(value)}: {why(value)}")


def _written(rows: Rows, i: int) -> str:
    """The date of a row, and its time where the table has times."""
    when = datetime(1970, 1, 1, tzinfo=UTC) + timedelta(seconds=rows.seconds[i])
    zone = rows.first.tzinfo if rows.first else None
    when = when.astimezone(zone) if zone else when
    return f"{when:%Y-%m-%d %H:%M}" if rows.timed else f"{when:%Y-%m-%d}"


def _long(seconds: float) -> str:
    for size, word in ((DAY, "day"), (_HOUR, "hour")):
        if seconds >= size:
            return f"{seconds / size:.4g} {word}{'' if seconds == size else 's'}"
    return f"{seconds / 60:.4g} minutes"
