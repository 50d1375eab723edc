"""Forms of what an input of a measurement can be, as JCGM 101:2008, 6.4, has them (from memory)."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


class Input(Protocol):
    """An input: its middle, its standard deviation, and draws of it."""

    @property
    def middle(self) -> float: ...
    @property
    def sd(self) -> float: ...
    def draw(self, random: np.random.Generator, count: int) -> Floats: ...


@dataclass(frozen=True)
class Normal:
    """A normal distribution."""

    middle: float
    sd: float

    def draw(self, random: np.random.Generator, count: int) -> Floats:
        """So many draws."""
        return random.normal(self.middle, self.sd, count)


@dataclass(frozen=True)
class _Between:
    """What lies about the middle of two ends."""

    low: float
    high: float

    @property
    def middle(self) -> float:
        """Half way."""
        return (self.low + self.high) / 2


@dataclass(frozen=True)
class Even(_Between):
    """All alike between two ends."""

    @property
    def sd(self) -> float:
        """Width over the root of 12."""
        return (self.high - self.low) / math.sqrt(12.0)

    def draw(self, random: np.random.Generator, count: int) -> Floats:
        """So many draws."""
        return random.uniform(self.low, self.high, count)


@dataclass(frozen=True)
class Vague(_Between):
    """An even distribution whose ends are known to a distance only (a curvilinear trapezoid)."""

    ends: float

    @property
    def sd(self) -> float:
        """That of an even one, and a little more."""
        return math.sqrt((self.high - self.low) ** 2 / 12.0 + self.ends**2 / 9.0)

    def draw(self, random: np.random.Generator, count: int) -> Floats:
        """So many draws."""
        lower = self.low - self.ends + 2.0 * self.ends * random.random(count)
        return np.asarray(lower + (self.low + self.high - 2.0 * lower) * random.random(count))


@dataclass(frozen=True)
class Cyclic(_Between):
    """What goes to and fro like a sine between two ends (an arc sine distribution)."""

    @property
    def sd(self) -> float:
        """Half the width over the root of 2."""
        return (self.high - self.low) / math.sqrt(8.0)

    def draw(self, random: np.random.Generator, count: int) -> Floats:
        """So many draws."""
        return np.asarray(self.middle + (self.high - self.low) / 2 * np.sin(2.0 * math.pi * random.random(count)))


@dataclass(frozen=True)
class Read:
    """A mean of few readings, whose own scatter tells how uncertain it is (a scaled and shifted t distribution).

    `scale` is the standard uncertainty that the readings give, with so many degrees of freedom (more than 2).
    """

    middle: float
    scale: float
    freedom: float

    @property
    def sd(self) -> float:
        """Of the t distribution."""
        return self.scale * math.sqrt(self.freedom / (self.freedom - 2.0))

    def draw(self, random: np.random.Generator, count: int) -> Floats:
        """So many draws."""
        return self.middle + self.scale * random.standard_t(self.freedom, count)
