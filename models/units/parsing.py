"""Reading the text of a unit: a closed table of names, products and powers; nothing is evaluated."""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from typing import TYPE_CHECKING, TypeVar

import numpy as np
from numpy.typing import NDArray

from keyaction.models.units.tables import DEFINITIONS, SPELLINGS

if TYPE_CHECKING:
    import pint

Number = TypeVar("Number", float, NDArray[np.float64])

_FACTOR = re.compile(r"(?P<name>1|[A-Za-zµμ°%][A-Za-z0-9]{0,15})(?:\^(?P<power>-?[0-9](?:\.[0-9]{1,3})?))?")
_PLAIN_AREA = re.compile(r"(?<![A-Za-z])(mm|cm|dm|m|in|ft)([23])(?![0-9A-Za-z])")
_SPACED_WATER = re.compile(r"\b(mm|cm|in)\s+(H2O|WC|WS)\b")
_SUPERSCRIPT = re.compile(r"[⁻⁰¹²³⁴⁵⁶⁷⁸⁹]+")
_PLAIN_DIGITS = str.maketrans("⁻⁰¹²³⁴⁵⁶⁷⁸⁹", "-0123456789")
RAISED_DIGITS = str.maketrans("-0123456789", "⁻⁰¹²³⁴⁵⁶⁷⁸⁹")
_SAME_SIGNS = str.maketrans({"⋅": "*", "·": "*", "×": "*", "₂": "2", "−": "-", "\u00a0": " ", "\u202f": " "})


class UnitProblem(ValueError):
    """A quantity that cannot be read; the message says why, in words, and shows what to write."""


@dataclass(frozen=True)
class Dimension:
    """Exponents of kilogram, metre, second and kelvin (exact fractions); the radian counts as a plain number.

    Hashable, and closed under ``*``, ``/`` and ``**``, so that equations can be checked term by term.
    """

    kg: Fraction = Fraction(0)
    m: Fraction = Fraction(0)
    s: Fraction = Fraction(0)
    K: Fraction = Fraction(0)

    def __mul__(self, other: Dimension) -> Dimension:
        return Dimension(self.kg + other.kg, self.m + other.m, self.s + other.s, self.K + other.K)

    def __truediv__(self, other: Dimension) -> Dimension:
        return self * other**-1

    def __pow__(self, power: int | Fraction) -> Dimension:
        p = Fraction(power)
        return Dimension(self.kg * p, self.m * p, self.s * p, self.K * p)


@dataclass(frozen=True)
class Unit:
    """A parsed unit: SI value of one of it, dimension, power of the angle, offset in kelvin."""

    factor: float
    dimension: Dimension
    angle: Fraction = Fraction(0)
    offset: float = 0.0

    def to_si(self, value: Number) -> Number:
        """Turn a value in this unit into SI; divides by whole numbers, so that 35 % is exactly 0.35."""
        whole = round(1.0 / self.factor) if self.factor < 1.0 else 0
        if whole and abs(whole * self.factor - 1.0) < 1e-15:
            return value / whole + self.offset
        return value * self.factor + self.offset

    def from_si(self, value: Number) -> Number:
        """Turn an SI value into this unit."""
        whole = round(1.0 / self.factor) if self.factor < 1.0 else 0
        if whole and abs(whole * self.factor - 1.0) < 1e-15:
            return (value - self.offset) * whole
        return (value - self.offset) / self.factor

    @property
    def signature(self) -> tuple[Dimension, Fraction]:
        """What the unit measures: dimension and power of the angle."""
        return self.dimension, self.angle


@lru_cache(maxsize=1)
def _registry() -> pint.UnitRegistry[float]:
    """Build the closed unit registry on first use; importing pint costs more than the rest of this module."""
    import pint

    registry: pint.UnitRegistry[float] = pint.UnitRegistry(None)
    for line in DEFINITIONS:
        registry.define(line)
    return registry


@lru_cache(maxsize=1)
def known_units() -> tuple[str, ...]:
    """Every unit name that may be written, without powers and products."""
    names = [line.split(" =", 1)[0] for line in DEFINITIONS if not line.startswith("percent")]
    return (*names, *SPELLINGS)


@lru_cache(maxsize=256)
def _base(name: str) -> tuple[float, float, Dimension, Fraction]:
    """Return factor, offset (K), dimension and angle exponent of one unit name."""
    registry = _registry()
    zero = float(registry.Quantity(0.0, name).to_root_units().magnitude)
    one = float(registry.Quantity(1.0, name).to_root_units().magnitude)
    powers = {str(k): Fraction(str(v)) for k, v in registry.get_dimensionality(name).items()}
    bases = ("[mass]", "[length]", "[time]", "[temperature]")
    dimension = Dimension(*(powers.get(k, Fraction(0)) for k in bases))
    factor = 1.0 if zero else one
    return factor, zero, dimension, powers.get("[angle]", Fraction(0))


def tidy_unit(text: str) -> str:
    """Bring the accepted spellings of a unit to one form: ``*``, ``/``, ``^`` and no spaces."""
    text = _SPACED_WATER.sub(r"\1\2", text.translate(_SAME_SIGNS).strip())
    text = _SUPERSCRIPT.sub(lambda found: "^" + found.group().translate(_PLAIN_DIGITS), text)
    text = _PLAIN_AREA.sub(r"\1^\2", text)
    return re.sub(r"\s*([*/^])\s*", r"\1", text) or "1"


def _unknown_unit(name: str, text: str) -> UnitProblem:
    stem = re.match(r"(.*[A-Za-z])([2-9])$", name)
    if stem and SPELLINGS.get(stem[1], stem[1]) in known_units():
        return UnitProblem(f"'{text}': unit '{name}' is not known; a power is written '{stem[1]}^{stem[2]}'")
    near = [known for known in known_units() if known.lower() == name.lower()]
    near += difflib.get_close_matches(name, known_units(), n=1, cutoff=0.6)
    hint = f"; the nearest known unit is '{near[0]}'" if near else "; units look like mm, g, gf, mmH2O, N/mm"
    return UnitProblem(f"'{text}': unit '{name}' is not known{hint}")


def _factors(unit: str, text: str) -> Iterator[tuple[str, Fraction]]:
    """Split a tidy unit into names and signed powers."""
    position, sign = 0, 1
    while True:
        found = _FACTOR.match(unit, position)
        if found is None:
            raise UnitProblem(f"'{text}': cannot read the unit '{unit}'; write e.g. 'mm', 'N/mm', 'g*cm^2'")
        name = SPELLINGS.get(found["name"], found["name"])
        if name != "1" and name != "percent" and name not in known_units():
            raise _unknown_unit(found["name"], text)
        power = Fraction(found["power"] or 1)
        if abs(power) > 4:
            raise UnitProblem(f"'{text}': the power {found['power']} is out of range; -4 to 4 is allowed")
        yield name, sign * power
        position = found.end()
        if position == len(unit):
            return
        if unit[position] not in "*/":
            raise UnitProblem(f"'{text}': cannot read the unit '{unit}'; write e.g. 'mm', 'N/mm', 'g*cm^2'")
        sign = -1 if unit[position] == "/" else 1
        position += 1


@lru_cache(maxsize=512)
def parse_unit(unit: str, text: str | None = None) -> Unit:
    """Parse a unit such as ``g*cm^2``; `text` is the user's whole entry, for messages."""
    parts = list(_factors(tidy_unit(unit), text if text is not None else unit))
    if len(parts) == 1 and parts[0][0] == "degC" and parts[0][1] == 1:
        factor, offset, dimension, angle = _base("degC")
        return Unit(factor, dimension, angle, offset)
    factor, dimension, angle = 1.0, Dimension(), Fraction(0)
    for name, power in parts:
        if name == "1":
            continue
        one, _, base, turn = _base(name)
        factor *= one ** (int(power) if power.denominator == 1 else float(power))
        dimension *= base**power
        angle += turn * power
    return Unit(factor, dimension, angle)
