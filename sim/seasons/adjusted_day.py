"""What serves a note on the day asked for beside what serves the year, in words."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np

from keyaction.models.climate.year import YEAR, Year
from keyaction.sim.seasons.adjust import comes_round, returns
from keyaction.sim.seasons.advice import Advice, Common

Said = Callable[[float], str]
"""How a length (m) is said to people."""
_RIGHT = 1e-6
"""m: nearer than that a wish is met."""


def serves(advice: Advice, looser: float) -> bool:
    """Whether a run so much looser serves the day asked for."""
    return looser <= advice.looser + _RIGHT if advice.mute else looser >= advice.looser - _RIGHT


def does(advice: Advice) -> str:
    """What is done to the note by what serves the day, in words."""
    return "makes it speak" if advice.mute else "silences it" if advice.sounds else "gives it its margin"


def for_today(advice: Advice) -> str:
    """What is wanted on the day, in words."""
    if advice.mute:
        return "To make it speak today"
    return "To silence it today, its margin kept" if advice.sounds else "To keep its margin today"


def still(advice: Advice, looser: float, year: Year, m: Said) -> str:
    """What a run so much looser leaves on that day; empty where that serves it."""
    if serves(advice, looser):
        return ""
    if advice.mute:
        return ", but leaves it mute on this day or with too little lift"
    rest = advice.margin + looser
    if rest >= 0.0:
        return f", but leaves it a margin of {m(rest)} on this day"
    back = returns(year, advice.margins + looser, advice.day, 0.0)
    if math.isnan(back):
        return f", but lets it go on sounding {through(year)}"
    at = float(year.seconds[advice.day]) + back
    at = at if at <= year.seconds[-1] else at - YEAR
    return f", but lets it go on sounding until {year.when(int(np.searchsorted(year.seconds, at)))}"


def left(advice: Advice, one: Common, way: float) -> str:
    """Notes that still lack margin on that day with a common place moved."""
    gains = one.place.gains
    still = sum(
        margin + gains[note] * (one.year - way) < advice.limits.keep - _RIGHT for note, margin in one.after.items()
    )
    return "" if advice.mute or not still else f" ({still} of {len(one.after)} notes then still lack margin)"


def span(year: Year) -> str:
    """What a climate is called."""
    return "year" if comes_round(year) else "climate"


def through(year: Year) -> str:
    """That something serves at all times of a climate, in words."""
    return "all year" if comes_round(year) else "throughout the climate"
