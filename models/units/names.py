"""The names of units that case files may use: factor to SI, dimension and source of each.

Sources:

- SI Brochure, 9th edition, BIPM, 2019: base units (Table 2), derived units (Table 4), prefixes (Table 7), units
  accepted beside them (Table 8).
- Taylor, B. N. and Thompson, A. "Guide for the Use of the International System of Units (SI)", NIST Special
  Publication 811, 2008: Appendix B.8, among it the pound, 0.45359237 kg (footnote 22), the pound-force,
  4.4482216152605 N (footnote 23), and conventional water, 1000 kg/m3 under standard gravity; Table 9, the bar.
- Standard gravity, 9.80665 m/s2: 3rd General Conference on Weights and Measures, 1901.

All are exact by definition; a factor is worked out as a fraction and rounded to a float once. Two are no decimals:
the degree, pi/180, and the psi, lbf/in2, which is given to sixteen digits.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction

from keyaction.models.units.dimensions import Dimension

STANDARD_GRAVITY = 9.80665
"""m/s2, exact by definition."""


@dataclass(frozen=True)
class NamedUnit:
    """A unit that has a name of its own.

    Parameters
    ----------
    factor : float
        SI value of one of it.
    dimension : Dimension
    source : str
        Where the factor comes from, as listed above.
    angle : int
        Power of the angle, which is kept apart from plain numbers here, so that a torque (N*m) and a torsional
        stiffness (N*m/rad) are told apart.
    offset : float
        SI value (K) of its zero.
    """

    factor: float
    dimension: Dimension
    source: str
    angle: int = 0
    offset: float = 0.0


def _named(factor: str | Fraction, dimension: Dimension, source: str, angle: int = 0, offset: float = 0.0) -> NamedUnit:
    return NamedUnit(float(Fraction(factor)), dimension, source, angle, offset)


_PLAIN = Dimension()
_LENGTH = Dimension(m=Fraction(1))
_MASS = Dimension(kg=Fraction(1))
_TIME = Dimension(s=Fraction(1))
_TEMPERATURE = Dimension(K=Fraction(1))
_FREQUENCY = _PLAIN / _TIME
_FORCE = _MASS * _LENGTH / _TIME**2
_PRESSURE = _FORCE / _LENGTH**2
_ENERGY = _FORCE * _LENGTH
_POWER = _ENERGY / _TIME
_VOLUME = _LENGTH**3

_BASE, _DERIVED, _PREFIX, _ACCEPTED = (f"SI Brochure, Table {number}" for number in (2, 4, 7, 8))
_B8, _TABLE9 = "SP 811, Appendix B.8", "SP 811, Table 9"

_INCH = Fraction("0.0254")
_POUND = Fraction("0.45359237")
_POUND_FORCE = Fraction("4.4482216152605")
_DEGREE = Fraction(math.pi / 180)

UNITS: Mapping[str, NamedUnit] = {
    "m": _named("1", _LENGTH, _BASE),
    "kg": _named("1", _MASS, _BASE),
    "s": _named("1", _TIME, _BASE),
    "K": _named("1", _TEMPERATURE, _BASE),
    "rad": _named("1", _PLAIN, _DERIVED, angle=1),
    "degC": _named("1", _TEMPERATURE, _DERIVED, offset=273.15),
    "um": _named("1e-6", _LENGTH, _PREFIX),
    "mm": _named("1e-3", _LENGTH, _PREFIX),
    "cm": _named("1e-2", _LENGTH, _PREFIX),
    "km": _named("1e3", _LENGTH, _PREFIX),
    "in": _named(_INCH, _LENGTH, _B8),
    "ft": _named(12 * _INCH, _LENGTH, _B8),
    "g": _named("1e-3", _MASS, _PREFIX),
    "mg": _named("1e-6", _MASS, _PREFIX),
    "oz": _named(_POUND / 16, _MASS, _B8),
    "lb": _named(_POUND, _MASS, _B8),
    "us": _named("1e-6", _TIME, _PREFIX),
    "ms": _named("1e-3", _TIME, _PREFIX),
    "min": _named("60", _TIME, _ACCEPTED),
    "h": _named("3600", _TIME, _ACCEPTED),
    "day": _named("86400", _TIME, _ACCEPTED),
    "Hz": _named("1", _FREQUENCY, _DERIVED),
    "kHz": _named("1e3", _FREQUENCY, _PREFIX),
    "mrad": _named("1e-3", _PLAIN, _PREFIX, angle=1),
    "deg": _named(_DEGREE, _PLAIN, _ACCEPTED, angle=1),
    "N": _named("1", _FORCE, _DERIVED),
    "mN": _named("1e-3", _FORCE, _PREFIX),
    "kN": _named("1e3", _FORCE, _PREFIX),
    "gf": _named("9.80665e-3", _FORCE, _B8),
    "kgf": _named("9.80665", _FORCE, _B8),
    "ozf": _named(_POUND_FORCE / 16, _FORCE, _B8),
    "lbf": _named(_POUND_FORCE, _FORCE, _B8),
    "Pa": _named("1", _PRESSURE, _DERIVED),
    "hPa": _named("1e2", _PRESSURE, _PREFIX),
    "kPa": _named("1e3", _PRESSURE, _PREFIX),
    "MPa": _named("1e6", _PRESSURE, _PREFIX),
    "GPa": _named("1e9", _PRESSURE, _PREFIX),
    "mbar": _named("1e2", _PRESSURE, _TABLE9),
    "bar": _named("1e5", _PRESSURE, _TABLE9),
    "mmH2O": _named("9.80665", _PRESSURE, _B8),
    "cmH2O": _named("98.0665", _PRESSURE, _B8),
    "inH2O": _named(_INCH * 1000 * Fraction("9.80665"), _PRESSURE, _B8),
    "psi": _named("6894.757293168361", _PRESSURE, _B8),
    "J": _named("1", _ENERGY, _DERIVED),
    "mJ": _named("1e-3", _ENERGY, _PREFIX),
    "W": _named("1", _POWER, _DERIVED),
    "mW": _named("1e-3", _POWER, _PREFIX),
    "L": _named("1e-3", _VOLUME, _ACCEPTED),
    "mL": _named("1e-6", _VOLUME, _ACCEPTED),
    "percent": _named("1e-2", _PLAIN, "SI Brochure, 5.4.7"),
}
"""The unit of each name; a name with a prefix stands here in full, so that only sensible ones are accepted."""

SPELLINGS: Mapping[str, str] = {
    "%": "percent",
    "°C": "degC",
    "C": "degC",
    "°": "deg",
    "µm": "um",
    "μm": "um",
    "µs": "us",
    "μs": "us",
    "inch": "in",
    "l": "L",
    "ml": "mL",
    "litre": "L",
    "mmWC": "mmH2O",
    "mmWS": "mmH2O",
    "cmWC": "cmH2O",
    "cmWS": "cmH2O",
    "inWC": "inH2O",
    "degrees": "deg",
    "degree": "deg",
}
"""Other ways to write some of the names."""
