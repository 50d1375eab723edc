"""What was found of one note: its unknowns with their intervals, what is not told, how good the fit is."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from keyaction.sim.calibration.asked import Asked
from keyaction.sim.calibration.measured import Measured
from keyaction.sim.calibration.presses import Shown
from keyaction.sim.calibration.unknowns import Unknown, fields_at
from keyaction.sim.fitting.goodness import Goodness
from keyaction.sim.fitting.least import AT_BOUND, Fit
from keyaction.sim.fitting.spread import Direction, Interval, Spread

STAYS = 0.01
"""Of its span, within which an unknown that is not told is still as the case has it."""


@dataclass(frozen=True)
class Value:
    """What was found of one unknown.

    Attributes
    ----------
    of : Unknown
    figure : float
        In the fit's own figure.
    interval : Interval, optional
        In that figure; None where it is not told.
    """

    of: Unknown
    figure: float
    interval: Interval | None

    @property
    def value(self) -> float:
        """As people read it, SI."""
        return self.of.value(self.figure)

    @property
    def open(self) -> tuple[bool, bool]:
        """Of both ends of the interval whether only the search ended there; a least of 0 is a real end."""
        if self.interval is None:
            return False, False
        (low, high), near = self.of.bounds, AT_BOUND * self.of.kind.span
        return low != 0.0 and self.interval.low - low <= near, high - self.interval.high <= near

    @property
    def written(self) -> bool:
        """Whether a calibrated case takes it: it is told, or the others were found with it away from the case's."""
        return self.interval is not None or abs(self.figure - self.of.start) > STAYS * self.of.kind.span

    @property
    def ends(self) -> tuple[float, float]:
        """The 95 % interval as people read it, SI; infinite where it is open, NaN where it is not told."""
        if self.interval is None:
            return math.nan, math.nan
        low, high = (self.of.value(one) for one in (self.interval.low, self.interval.high))
        return -math.inf if self.open[0] else low, math.inf if self.open[1] else high

    @property
    def kept(self) -> Value:
        """Without an interval that says less than is known of cases before anything was measured."""
        if self.interval is None:
            return self
        below, above = self.figure - self.interval.low, self.interval.high - self.figure
        way = {(False, False): (below + above) / 2, (True, False): above, (False, True): below}
        return self if way.get(self.open, math.inf) <= self.of.kind.span else replace(self, interval=None)


@dataclass(frozen=True)
class Lacking:
    """An unknown that was held and would take away so much of the sum of squares if it were freed."""

    name: str
    share: float


@dataclass(frozen=True)
class Calibrated:
    """A note with what was found of it.

    Attributes
    ----------
    asked : Asked
    found : Fit
        Without the pull.
    spread : Spread
    values : tuple of Value
    untold : tuple of Direction
        Directions of which nothing is known to within the spans.
    good : Goodness
    levels : tuple of float
        Of every block, by which its errors turned out greater than assumed; 1 where they are stated.
    shown : Shown
    lacking : tuple of Lacking
        Of a poor fit, what might be missing.
    """

    asked: Asked
    found: Fit
    spread: Spread
    values: tuple[Value, ...]
    untold: tuple[Direction, ...]
    good: Goodness
    levels: tuple[float, ...]
    shown: Shown
    lacking: tuple[Lacking, ...] = ()

    @property
    def note(self) -> int:
        return self.asked.measured.note

    @property
    def measured(self) -> Measured:
        return self.asked.measured

    @property
    def poor(self) -> bool:
        """Whether chance does not explain what remains."""
        return not self.good.good

    @property
    def told(self) -> tuple[Value, ...]:
        """Those that are known to within their spans."""
        return tuple(one for one in self.values if one.interval is not None)

    @property
    def instants(self) -> list[float]:
        return self.asked.instants(self.found.values)

    @property
    def fields(self) -> dict[tuple[str, str], float]:
        """The fields of the case as they were found, SI; unknowns that are not told stay near the case's."""
        return fields_at(self.asked.of, self.found.values[: len(self.asked.of)].tolist())
