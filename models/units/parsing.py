"""Reading the text of a unit: a closed table of names, products and powers; nothing is evaluated."""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from typing import TYPE_CHECKING, TypeVar

from keyaction.models.units.dimensions import Dimension
from keyaction.models.units.names import SPELLINGS, UNITS

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Number = TypeVar("Number", float, NDArray[np.float64])

_FACTOR = re.compile(r"(?P<name>1|[A-Za-zµμ°%][A-Za-z0-9]{0,15})(?:\^(?P<power>-?[0-9](?:\.[0-9]{1,3})?))?")
_PLAIN_AREA = re.compile(r"(?<![A-Za-z])(mm|cm|dm|m|in|ft)([23])(?![0-9A-Za-z])")
_SPACED_WATER = re.compile(r"\b(mm|cm|in)\s+(H2O|WC|WS)\b")
_SUPERSCRIPT = re.compile(r"[⁻⁰¹²³⁴⁵⁶⁷⁸⁹]+")
_PLAIN_DIGITS = str.maketrans("⁻⁰¹²³⁴⁵⁶⁷⁸⁹", "-0123456789")
RAISED_DIGITS = str.maketrans("-0123456789", "⁻⁰¹²³⁴⁵⁶⁷⁸⁹")
_SAME_SIGNS = str.maketrans({"⋅": "*", "·": "*", "×": "*", "₂": "2", "−": "-", "\u00a0": " ", "\u202f": " "})

_KNOWN = (*(name for name in UNITS if name != "percent"), *SPELLINGS)


class UnitProblem(ValueError):
    """A quantity that cannot be read; the message says why, in words, and shows what to write."""


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


def known_units() -> tuple[str, ...]:
    """Every unit name that may be written, without powers and products."""
    return _KNOWN


@lru_cache(maxsize=512)
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
        if name != "1" and name not in UNITS:
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
    if len(parts) == 1 and parts[0][1] == 1 and parts[0][0] != "1":
        one = UNITS[parts[0][0]]
        return Unit(one.factor, one.dimension, Fraction(one.angle), one.offset)
    factor, dimension, angle = 1.0, Dimension(), Fraction(0)
    for name, power in parts:
        if name == "1":
            continue
        one = UNITS[name]
        factor *= one.factor ** (int(power) if power.denominator == 1 else float(power))
        dimension *= one.dimension**power
        angle += one.angle * power
    return Unit(factor, dimension, angle)


def unit_factor(unit: str) -> float:
    """SI value of one of a unit."""
    return parse_unit(unit).factor
