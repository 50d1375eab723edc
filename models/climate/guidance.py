"""What published guidance says of a climate around an organ: one remark for each matter, with its source."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from keyaction.models.climate.statistics import EXEMPT, Spell, habit, running_mean, spells, steps
from keyaction.models.climate.year import DAY, YEAR, Floats, Year
from keyaction.models.formulas.wood import COLDEST, DAMPEST, DRIEST, ZERO_CELSIUS

Severity = Literal["note", "warning", "danger"]
HOUR = 3600.0
DRY, DAMP = 0.40, 0.60
FASTEST = 1.5 / HOUR
SPLITS, MOULDS = 0.25, 0.75
WEEKS = 14 * DAY
"""s: what is read as "weeks"; assumed."""
SEASONS = 0.10
_EDGE = 1e-9
"""What a limit met exactly may be off by rounding."""

ORGANS = "a panel of organ builders in an organists' guild's journal, 2018 (read): 40 to 60 % humidity"
WARMING = "care pages of organ builders (read): no faster than 1.5 °C an hour"
LAMINATES = "a draft standard on the storage of collections (read): below 25 %, even briefly, laminates split"
MOULD = "a draft standard on the storage of collections (read): weeks above 75 % grow mould"
MUSEUMS = "ASHRAE Handbook, HVAC Applications, 2023, ch. 24 (second-hand): control of class B, ±10 % over the seasons"
STANDARD = "EN 15757:2010 (figures from memory): 7th to 93rd percentile about the running mean of 30 days, 10 % exempt"
TABLE = "Wood Handbook, FPL-GTR-282, 2021, Table 4-2 (second-hand): -1.1 to 132.2 °C, 5 to 95 % humidity"


@dataclass(frozen=True)
class Remark:
    """What is to be said of a climate.

    Attributes
    ----------
    text : str
        What, how far, for how long, from when to when.
    source : str
        Whose limit it is.
    first, last : int
        The first and the last instant that it is about.
    severity : {"note", "warning", "danger"}
        Danger is to the wood itself; a note is no fault of the climate.
    """

    text: str
    source: str
    first: int
    last: int
    severity: Severity


def remarks(year: Year) -> tuple[Remark, ...]:
    """Everything in which a climate is outside of published guidance, and what cannot be told of it.

    Parameters
    ----------
    year : Year

    Returns
    -------
    tuple of Remark
        What endangers wood first, then warnings, then notes; empty if there is nothing to say.
    """
    found = [*_splitting(year), *_mould(year), *_organs(year), *_changes(year)]
    found += [*_seasons(year), *_habits(year), *_held(year)]
    order = ("danger", "warning", "note")
    return tuple(sorted(found, key=lambda one: order.index(one.severity)))


def _splitting(year: Year) -> Iterator[Remark]:
    text = f"humidity below 25 %, lowest {_percent(year.humidity.min())}"
    yield from _outside(year, year.humidity < SPLITS - _EDGE, text, LAMINATES, "danger")


def _mould(year: Year) -> Iterator[Remark]:
    long = [one for one in spells(year, year.humidity > MOULDS + _EDGE) if one.seconds >= WEEKS]
    if long:
        yield _told(year, long, "humidity above 75 % for weeks", MOULD, "danger")


def _organs(year: Year) -> Iterator[Remark]:
    low, high = _percent(year.humidity.min()), _percent(year.humidity.max())
    yield from _outside(year, year.humidity < DRY - _EDGE, f"humidity below 40 %, lowest {low}", ORGANS, "warning")
    yield from _outside(year, year.humidity > DAMP + _EDGE, f"humidity above 60 %, highest {high}", ORGANS, "warning")


def _changes(year: Year) -> Iterator[Remark]:
    if len(year) < 2:
        return
    rate = rates(year)
    for sense, word in ((1, "warms"), (-1, "cools")):
        text = f"{word} faster than 1.5 °C an hour, at most by {HOUR * np.max(sense * rate):.1f} °C an hour"
        yield from _outside(year, sense * rate > FASTEST * (1 + _EDGE), text, WARMING, "warning")
    apart = float(np.max(np.diff(year.seconds)))
    if apart > 2 * HOUR and np.ptp(year.temperature) > 0:
        text = f"values up to {_long(apart)} apart cannot tell how fast the air warms within an hour"
        yield Remark(text, WARMING, 0, len(year) - 1, "note")


def rates(year: Year) -> Floats:
    """How fast the temperature rises up to every instant, (N,), K/s: over the hour before it, or the step if longer.

    A shorter time would show the steps of a thermometer's reading in place of the air's warming.
    """
    t = year.seconds
    before = np.minimum(t - HOUR, np.append(t[0], t[:-1]))
    before = np.maximum(before, t[0])
    gone = np.maximum(t - before, HOUR)
    rise = year.temperature - np.interp(before, t, year.temperature)
    found: Floats = rise / gone
    return found


def _seasons(year: Year) -> Iterator[Remark]:
    if year.seconds[-1] < YEAR - 2 * DAY:
        return
    mean = running_mean(year, year.humidity)
    low, high = int(np.argmin(mean)), int(np.argmax(mean))
    half = float(mean[high] - mean[low]) / 2
    if half > SEASONS + _EDGE:
        text = (
            f"humidity, meaned over 30 days, goes from {_percent(mean[low])} ({_when(year, low)}) to "
            f"{_percent(mean[high])} ({_when(year, high)}): ±{_percent(half)} over the seasons"
        )
        yield Remark(text, MUSEUMS, min(low, high), max(low, high), "note")


def _habits(year: Year) -> Iterator[Remark]:
    if year.seconds[-1] < YEAR - 2 * DAY:
        return
    used = habit(year)
    text = (
        f"humidity departs from its mean over 30 days by more than the place is used to "
        f"({100 * used.low:+.0f} to {100 * used.high:+.0f} %, at least ±{_percent(EXEMPT)})"
    )
    yield from _outside(year, used.outside, text, STANDARD, "note")


def _held(year: Year) -> Iterator[Remark]:
    celsius, humid = year.temperature - ZERO_CELSIUS, year.humidity
    for where, what in (
        (celsius < COLDEST - _EDGE, f"frost below {COLDEST:g} °C: wood's moisture as at {COLDEST:g} °C"),
        (humid > DAMPEST + _EDGE, f"humidity above {_percent(DAMPEST)}: wood's moisture as at {_percent(DAMPEST)}"),
        (humid < DRIEST - _EDGE, f"humidity below {_percent(DRIEST)}: wood's moisture as at {_percent(DRIEST)}"),
    ):
        yield from _outside(year, where, what, TABLE, "note")


def _outside(year: Year, where: NDArray[np.bool_], text: str, source: str, severity: Severity) -> Iterator[Remark]:
    found = spells(year, where)
    if found:
        yield _told(year, found, text, source, severity)


def _told(year: Year, found: tuple[Spell, ...] | list[Spell], text: str, source: str, severity: Severity) -> Remark:
    """A remark with how long and when; each instant stands for the time to the next."""
    first, last = found[0].first, found[-1].last
    whole = _long(sum(one.seconds for one in found))
    if len(found) == 1:
        return Remark(f"{text}: {whole}, {_from_to(year, found[0])}", source, first, last, severity)
    most = max(found, key=lambda one: one.seconds)
    longest = f"the longest {_long(most.seconds)}, {_from_to(year, most)}"
    when = f"{len(found)} spells between {_when(year, first)} and {_when(year, last)}, {longest}"
    return Remark(f"{text}: {whole} in {when}", source, first, last, severity)


def _from_to(year: Year, spell: Spell) -> str:
    a, b = _when(year, spell.first), _when(year, spell.last)
    return f"on {a}" if a == b else f"from {a} to {b}"


def _long(seconds: float) -> str:
    """A time in days, hours or minutes."""
    for size, word in ((DAY, "day"), (HOUR, "hour"), (60.0, "minute")):
        if seconds >= size * (2 if word == "day" and seconds % DAY else 1) or word == "minute":
            count = round(seconds / size)
            return f"{count} {word}{'' if count == 1 else 's'}"
    raise AssertionError


def _when(year: Year, i: int) -> str:
    """The day, and the hour of a table finer than days that has one."""
    if isinstance(year.start, datetime) and float(steps(year)[i]) < DAY:
        clock = year.start.hour * HOUR + year.start.minute * 60 + year.seconds[i]
        minutes = round(float(clock) / 60)
        return f"{year.when(i)} {minutes // 60 % 24:02d}:{minutes % 60:02d}"
    return year.when(i)


def _percent(share: float) -> str:
    return f"{100 * share:.0f} %"
