"""What all notes of a sheet have in common: one way or force by which they are off, and a pressure that explains it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from keyaction.models.readings.figures import BY_NAME, NAMES
from keyaction.models.readings.readings import Readings
from keyaction.models.units.quantity import System, format_value
from keyaction.sim.motion.integrate import Floats

LEAST = 4
"""Notes from which on something is called common."""
_TIMES, _SURE = 1.5, 4.0
"""How many times what scatters a common part has to be, and how many times its own error."""
_FIGURES = ("level", "dip", "play", "pluck", "hold", "up", "pluck_off")
_WORDS = {"level": ("higher", "lower"), "dip": ("deeper", "shallower"), "play": ("more", "less")}


@dataclass(frozen=True)
class Common:
    """By how much all notes are off.

    Attributes
    ----------
    figure : str
    notes : int
        Of how many.
    middle, spread, error : float
        Median of what was read less what is computed, its robust standard deviation, the tool's, SI.
    """

    figure: str
    notes: int
    middle: float
    spread: float
    error: float

    @property
    def counts(self) -> bool:
        """Whether it stands out of scatter and tool."""
        scatter = max(self.error, self.spread)
        of_median = 1.2533 * scatter / np.sqrt(max(self.notes, 1))
        return self.notes >= LEAST and abs(self.middle) > max(_TIMES * scatter, _SURE * of_median)


def common_of(figure: str, readings: Readings, notes: Sequence[int], drawn: Floats) -> Common:
    """What all notes have in common in one figure.

    Parameters
    ----------
    figure : str
    readings : Readings
    notes : sequence of int
        Of the rows of `drawn`.
    drawn : (notes, figures) array
        What is computed, SI.
    """
    off = readings.values([figure], notes)[:, 0] - drawn[:, NAMES.index(figure)]
    off = off[np.isfinite(off)]
    middle, spread = _robust(off)
    return Common(figure, len(off), middle, spread, readings.head.error(figure))


def common_pressure(readings: Readings, notes: Sequence[int], drawn: Floats, pressure: float) -> tuple[float, float]:
    """The pressure (Pa) at which the plucks of all notes would be right, and how far notes differ in it.

    What the wind adds to a pluck grows with the pressure, so each note tells one; NaN where too few do.
    """
    on, off = (drawn[:, NAMES.index(name)] for name in ("pluck", "pluck_off"))
    read = readings.values(["pluck"], notes)[:, 0]
    with np.errstate(divide="ignore", invalid="ignore"):
        found = pressure * (1.0 + (read - on) / np.where(on > off, on - off, np.nan))
    found = found[np.isfinite(found)]
    return _robust(found) if len(found) >= LEAST else (np.nan, np.nan)


def _robust(values: Floats) -> tuple[float, float]:
    """Median, and the standard deviation by the median of what lies off it."""
    if not len(values):
        return np.nan, np.nan
    middle = float(np.median(values))
    return middle, 1.4826 * float(np.median(np.abs(values - middle)))


def common_told(
    readings: Readings,
    notes: Sequence[int],
    drawn: Floats,
    pressure: float,
    units: System,
) -> Iterator[str]:
    """Sentences of it.

    Parameters
    ----------
    readings, notes, drawn
        As of `common_of`.
    pressure : float
        At which was computed, Pa.
    units : {"trade", "si"}
    """
    for figure in _FIGURES:
        one = common_of(figure, readings, notes, drawn)
        if not one.counts:
            continue
        unit = BY_NAME[figure].unit
        words = _WORDS.get(figure, ("heavier", "lighter"))[one.middle < 0]
        by, within = (format_value(abs(x), unit, units) for x in (one.middle, one.spread))
        told = f"All notes are off alike in {BY_NAME[figure].heading}: {by} {words} than computed at {one.notes} notes"
        yield f"{told}, within {within} of each other. {_cause(figure, readings, notes, drawn, pressure, units)}"


def _cause(figure: str, readings: Readings, notes: Sequence[int], drawn: Floats, pressure: float, units: System) -> str:
    if figure in ("level", "play"):
        return "Look for a rail or another common adjuster before any nut is touched."
    if figure == "dip":
        return "Look at the rail or cloth under all keys before single ones."
    off = common_of("pluck_off", readings, notes, drawn)
    found, spread = common_pressure(readings, notes, drawn, pressure)
    if figure == "pluck" and not off.counts and np.isfinite(found) and found > 0.0:
        shown, apart = (format_value(one, "Pa", units) for one in (found, spread))
        return f"A pressure of {shown} in the box would explain it (notes differ by {apart}); read the gauge first."
    return "Look for what is common: pressure, springs of one make, stops, the balance itself."
