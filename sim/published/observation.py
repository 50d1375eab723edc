"""One published observation: what a source says, how near ours must come, and how ours is computed."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Protocol

TRUST = {
    "read": "read in the original",
    "second-hand": "read in a transcription that names the original",
    "from memory": "recalled, not seen",
    "derived": "worked out from what was read, or a textbook's closed form",
}
"""How far a source is to be trusted: word and meaning, best first."""


ROUNDING = 1e-5
"""Share of what is allowed below which a difference is shown as none."""


@dataclass(frozen=True)
class Source:
    """Where an observation was published.

    Attributes
    ----------
    cite : str
        Author, title, year, table.
    trust : str
        A word of `TRUST`.
    """

    cite: str
    trust: str

    def __post_init__(self) -> None:
        if self.trust not in TRUST:
            raise ValueError(f"trust '{self.trust}' is not known; one of {', '.join(TRUST)}")


class Figure(Protocol):
    """What a source says; numbers in the unit of the observation."""

    @property
    def why(self) -> str: ...
    def holds(self, ours: float) -> bool: ...
    def published(self, digits: int = 7) -> str: ...
    def allowed(self) -> str: ...
    def difference(self, ours: float) -> str: ...
    def shown(self, ours: float) -> str: ...


_ROOM = 10
"""Letters that a figure may take in a table."""


@dataclass(frozen=True)
class Near:
    """A figure that ours must meet within `absolute` or `relative` (one of the two), and why that much.

    Attributes
    ----------
    value : float
    absolute : float
        In the unit of the observation.
    relative : float
        As a share of the value.
    why : str
        What sets the tolerance: the last digit printed, the spread that the source states.
    """

    value: float
    absolute: float = 0.0
    relative: float = 0.0
    why: str = "last digit printed"

    def __post_init__(self) -> None:
        if (self.absolute > 0) == (self.relative > 0) or self.room <= 0:
            raise ValueError("a tolerance is absolute or relative, and above 0")

    @property
    def room(self) -> float:
        """Largest difference that is allowed, in the unit of the observation."""
        return self.absolute or self.relative * abs(self.value)

    def holds(self, ours: float) -> bool:
        return abs(ours - self.value) <= self.room

    def published(self, digits: int = 7) -> str:
        return f"{self.value:.{digits}g}"

    def allowed(self) -> str:
        return f"±{self.absolute:g}" if self.absolute else f"±{_percent(self.relative)}"

    def difference(self, ours: float) -> str:
        off = ours - self.value
        if abs(off) < ROUNDING * self.room:
            return "0"
        return f"{off:+.2g}" if self.absolute else f"{100 * off / self.value:+.2g} %"

    def shown(self, ours: float) -> str:
        places = min(max(1 - math.floor(math.log10(self.room)), 0), 9)
        texts = (f"{round(ours, places):.{digits}g}" for digits in range(7, 3, -1))
        return next((text for text in texts if len(text) <= _ROOM), f"{ours:.4g}")


@dataclass(frozen=True)
class AtLeast:
    """A lower limit, which ours may pass by `above` as a share of it; without an end by default."""

    value: float
    above: float = math.inf
    why: str = "the source gives a least value"

    def holds(self, ours: float) -> bool:
        return self.value <= ours <= self.value * (1 + self.above)

    def published(self, digits: int = 7) -> str:
        return f"≥ {self.value:.{digits}g}"

    def allowed(self) -> str:
        return "or more" if math.isinf(self.above) else f"+{_percent(self.above)}"

    def difference(self, ours: float) -> str:
        return f"{100 * (ours / self.value - 1):+.2g} %"

    def shown(self, ours: float) -> str:
        return f"{ours:.4g}"


@dataclass(frozen=True)
class Between:
    """A range; without a lower end where that is infinite."""

    low: float = -math.inf
    high: float = math.inf
    why: str = "the source gives a range"

    def __post_init__(self) -> None:
        if not self.low < self.high < math.inf:
            raise ValueError("a range has an upper end, above its lower one")

    def holds(self, ours: float) -> bool:
        return self.low <= ours <= self.high

    def published(self, digits: int = 7) -> str:
        high = f"{self.high:.{digits}g}"
        return f"≤ {high}" if math.isinf(self.low) else f"{self.low:.{digits}g} to {high}"

    def allowed(self) -> str:
        return "range"

    def difference(self, ours: float) -> str:
        return "inside" if self.holds(ours) else f"{ours - (self.low if ours < self.low else self.high):+.2g}"

    def shown(self, ours: float) -> str:
        return f"{ours:.4g}"


def _percent(share: float) -> str:
    return f"{100 * share:.2g} %"


@dataclass(frozen=True)
class Observation:
    """A row of the table.

    Attributes
    ----------
    subject : str
        The heading under which it stands.
    quantity : str
        What was observed, and under which circumstances; one of its kind under its source.
    figure : Figure
        What the source says, and how near is near.
    unit : str
        Of all its numbers; empty for ratios.
    source : Source
    ours : callable
        Computes our figure, through the laws that the rest of the program uses.
    """

    subject: str
    quantity: str
    figure: Figure
    unit: str
    source: Source
    ours: Callable[[], float]


@dataclass(frozen=True)
class Outcome:
    """An observation with our figure, NaN where it could not be computed, and then with the reason."""

    of: Observation
    ours: float
    reason: str = ""

    @property
    def holds(self) -> bool:
        """Whether ours is as near as it must be."""
        return math.isfinite(self.ours) and self.of.figure.holds(self.ours)


def observe(one: Observation) -> Outcome:
    """Compute our figure; what goes wrong is part of the outcome, so that the other rows are still shown."""
    try:
        return Outcome(one, float(one.ours()))
    except Exception as problem:  # any slip of a law must show as a row that fails, not end the table
        return Outcome(one, math.nan, f"{type(problem).__name__}: {problem}")
