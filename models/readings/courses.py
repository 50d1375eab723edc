"""Courses that were measured at one key: force against travel, pressed slowly, and what a stroke does in time."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from keyaction.models.readings.readings import Head
from keyaction.models.units.names import STANDARD_GRAVITY

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]

DIAL = 0.02e-3
"""m: standard deviation of a travel read with a dial gauge or a slide (common practice)."""
LOAD_CELL = 1e-3 * STANDARD_GRAVITY
"""N: that of a force read with a small load cell: 1 gf (common practice)."""
FILM = 0.1e-3
"""m: that of a way read off the frames of a phone's film, a scale beside the key (common practice)."""
MANOMETER = 10.0
"""Pa: that of a pressure read with a fast sensor (common practice)."""


@dataclass(frozen=True)
class Curve:
    """A feel curve: the key front pressed slowly, force against travel.

    Attributes
    ----------
    note : int
    travel, force : (n,) array
        In the order in which they were read, m and N.
    down : (n,) array of bool
        Whether the key was on its way down.
    each : (n,) array
        Samples that every point is the mean of; 1 of one that was read as it is.
    travel_error, force_error : float
        Standard deviations of one sample, m and N; NaN where the file does not say.
    wind : bool
        Whether it was on.
    pressure : float
        In the box, Pa; NaN where it was not written down.
    gauge : float
        Stiffness of what presses, N/m; NaN where it was not written down.
    path : Path, optional
    line : int
        Of the file, of its first point.
    head : Head
        Of which case and division the file says that it is.
    """

    note: int
    travel: Floats
    force: Floats
    down: Bools
    each: Floats
    travel_error: float = math.nan
    force_error: float = math.nan
    wind: bool = True
    pressure: float = math.nan
    gauge: float = math.nan
    path: Path | None = None
    line: int = 0
    head: Head = field(default_factory=Head)

    @property
    def stated(self) -> bool:
        """Whether its error is known."""
        return math.isfinite(self.force_error)

    @property
    def samples(self) -> int:
        """Samples that were read."""
        return int(np.sum(self.each))

    def errors(self) -> tuple[Floats, Floats]:
        """Standard deviations (n,) of travel and force, those of a dial and a load cell where none are stated.

        A mean of samples is known better by the root of their number, but not below a fifth: samples that close
        share what is wrong with them (common practice).
        """
        better = np.maximum(1 / np.sqrt(self.each), 0.2)
        travel = self.travel_error if math.isfinite(self.travel_error) else DIAL
        force = self.force_error if math.isfinite(self.force_error) else LOAD_CELL
        return travel * better, force * better


Driven = Literal["mass", "let go", "finger"]
DRIVEN: tuple[Driven, ...] = ("mass", "let go", "finger")
"""How a stroke is driven: a mass laid on, a key let go from the bottom, a finger whose way was read too."""
CHANNELS: Mapping[str, tuple[str, str, float]] = {
    "key": ("key travel", "m", FILM),
    "pallet": ("pallet lift", "m", FILM),
    "groove": ("groove pressure", "Pa", MANOMETER),
}
"""What a trace may hold: words, SI unit, usual standard deviation."""


@dataclass(frozen=True)
class Trace:
    """What one stroke did in time.

    Attributes
    ----------
    note : int
    time : (n,) array
        s, rising.
    values : mapping of str to (n,) array
        By the names of `CHANNELS`, SI; NaN where a frame was not read.
    driven : str
        One of `DRIVEN`.
    mass : float
        Laid on, kg; NaN of other strokes.
    within : float
        Time in which the mass is laid on, or the key let go, s.
    assumed : bool
        Whether that time is assumed, not stated.
    finger : (n,) array
        Its way, m; empty of other strokes.
    rate : float
        Frames a second, by which times are rounded; NaN where times are exact.
    errors : mapping of str to float
        Standard deviations that the file states, by channel.
    wind : bool
    pressure : float
    head : Head
        As of `Curve`.
    """

    note: int
    time: Floats
    values: Mapping[str, Floats]
    driven: Driven
    mass: float = math.nan
    within: float = 0.005
    finger: Floats = field(default_factory=lambda: np.zeros(0))
    rate: float = math.nan
    errors: Mapping[str, float] = field(default_factory=dict)
    wind: bool = True
    pressure: float = math.nan
    assumed: bool = False
    path: Path | None = None
    line: int = 0
    head: Head = field(default_factory=Head)

    @property
    def stated(self) -> bool:
        """Whether the error of every channel is known."""
        return all(name in self.errors for name in self.values)

    def error(self, channel: str) -> float:
        """Standard deviation of a channel, SI."""
        return self.errors.get(channel, CHANNELS[channel][2])

    @property
    def frame(self) -> float:
        """How long a frame is, s, to which times are rounded; 0 where they are exact."""
        return 1 / self.rate if math.isfinite(self.rate) else 0.0
