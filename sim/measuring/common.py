"""What all notes of a sheet have in common: one way or force by which they are off, and a pressure that explains it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from keyaction.models.readings.figures import BY_NAME, NAMES
from keyaction.models.readings.readings import Readings
from keyaction.models.readings.rounded import as_read, step_of
from keyaction.models.units.quantity import System
from keyaction.sim.motion.integrate import Floats

LEAST = 4
"""Notes from which on something is called common."""
_TIMES, _SURE = 1.0, 4.0
"""How many times what scatters a common part has to be, and how many times its own error."""
_FAR = 2.0
"""How many times what scatters a common part has to be that nothing explains."""
_AS_GOOD = 0.1
"""By how much less a cause may explain, as a share of what there is to explain, and still be named beside the best."""
_UNEXPLAINED = 0.75
"""Share that a cause may leave unexplained, scatter of the notes included."""
_WAYS = {
    "level": ("higher", "lower", "Look for a rail or another common adjuster before any nut is touched."),
    "play": ("more", "less", "Look for a rail or another common adjuster before any nut is touched."),
    "dip": ("deeper", "shallower", "Look at the rail or cloth under all keys before single ones."),
}
"""Words for more and less, and where to look."""
_NO_CAUSE = "No single cause explains it: look at pressure, springs, friction, stops and the balance itself."
_WEIGHTS = ("pluck", "hold", "up", "pluck_off", "hold_off", "up_off")


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

    @property
    def stands_out(self) -> bool:
        """Whether it does so by far, so that it is told though nothing explains it."""
        return abs(self.middle) > _FAR * max(self.error, self.spread)


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


def _robust(values: Floats) -> tuple[float, float]:
    """Median, and the standard deviation by the median of what lies off it."""
    if not len(values):
        return np.nan, np.nan
    middle = float(np.median(values))
    return middle, 1.4826 * float(np.median(np.abs(values - middle)))


def common_told(
    readings: Readings, notes: Sequence[int], drawn: Floats, pressure: float, units: System
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
    for figure, (more, less, cause) in _WAYS.items():
        one = common_of(figure, readings, notes, drawn)
        if one.counts:
            yield f"All {one.notes} notes are off alike: {_off(one, more, less, units)}. {cause}"
    weights = [common_of(name, readings, notes, drawn) for name in _WEIGHTS]
    cause = _cause(readings, notes, drawn, pressure, units)
    if any(one.counts and (cause or one.stands_out) for one in weights):
        told = "; ".join(_off(one, "heavier", "lighter", units) for one in weights if one.counts)
        notes_off = max(one.notes for one in weights if one.counts)
        yield f"All {notes_off} notes are off alike: {told}. {cause or _NO_CAUSE}"


def _off(one: Common, more: str, less: str, units: System) -> str:
    about = BY_NAME[one.figure]
    by, within = (as_read(abs(x), about.unit, units) for x in (one.middle, one.spread))
    even = f"within {within} of each other"
    if one.spread < 0.5 * step_of(about.unit, units):
        even = "as evenly as the tools read"
    return f"{about.heading} {by} {less if one.middle < 0 else more} than computed, {even}"


@dataclass(frozen=True)
class Cause:
    """One thing that all notes may have in common, and how far it explains their weights.

    Attributes
    ----------
    name : str
        "friction", "spring" or "pressure".
    amount : float
        N at the key; of the pressure Pa.
    left : float
        Root mean square of what it leaves unexplained, as a share of what there is to explain.
    """

    name: str
    amount: float
    left: float


def causes(readings: Readings, notes: Sequence[int], drawn: Floats, pressure: float) -> tuple[Cause, ...]:
    """Single causes for weights that are off at all notes, the best first.

    More friction makes a key heavier on the way down and lighter on the way up; more spring, or less balance, makes it
    heavier both ways; more pressure makes the pluck heavier by its share of what the wind adds, and nothing else.

    Parameters
    ----------
    readings, notes, drawn
        As of `common_of`.
    pressure : float
        At which was computed, Pa.
    """
    off = readings.values(_WEIGHTS, notes) - drawn[:, [NAMES.index(name) for name in _WEIGHTS]]
    down = np.array([1.0 if name.startswith("pluck") else -1.0 for name in _WEIGHTS])
    wind = drawn[:, NAMES.index("pluck")] - drawn[:, NAMES.index("pluck_off")]
    by_wind = np.zeros_like(off)
    by_wind[:, _WEIGHTS.index("pluck")] = wind / pressure
    shapes = {"friction": np.broadcast_to(down, off.shape), "spring": np.ones_like(off), "pressure": by_wind}
    found = []
    for name, shape in shapes.items():
        there = np.isfinite(off) & np.isfinite(shape)
        if not (shape[there] ** 2).sum() > 0.0:
            continue
        amount = float((shape[there] * off[there]).sum() / (shape[there] ** 2).sum())
        left = np.sqrt(np.mean((off[there] - amount * shape[there]) ** 2) / np.mean(off[there] ** 2))
        found.append(Cause(name, amount, float(left)))
    return tuple(sorted(found, key=lambda one: one.left))


def _cause(readings: Readings, notes: Sequence[int], drawn: Floats, pressure: float, units: System) -> str:
    """What explains it, and what explains it nearly as well; empty where no single cause does."""
    ranked = [one for one in causes(readings, notes, drawn, pressure) if pressure + one.amount > 0.0]
    if not ranked or ranked[0].left > _UNEXPLAINED:
        return ""
    alike = [one for one in ranked if one.left < ranked[0].left + _AS_GOOD]
    words = [_words(one, pressure, units) for one in alike]
    verb = "would explain it" if len(words) == 1 else "would explain it; what was read does not tell them apart"
    return f"{words[0][:1].upper()}{' or '.join(words)[1:]} {verb}. Look there before single notes."


def _words(one: Cause, pressure: float, units: System) -> str:
    if one.name == "pressure":
        return f"a pressure of {as_read(pressure + one.amount, 'Pa', units)} in the box"
    by = f"{as_read(abs(one.amount), 'N', units)} {'less' if one.amount < 0 else 'more'}"
    return f"{by} friction at the key" if one.name == "friction" else f"{by} of spring, or of key weight, at the key"
