"""Units at the border: texts such as "75 mmH2O" to SI floats, and SI floats to the reader's units.

Inside the program every number is an SI float (angles in radians). Texts from a case file are split into
number and unit by fixed patterns and looked up in a closed table, so nothing a user writes is ever evaluated.
"""

from __future__ import annotations

import math
import re
import sys
from fractions import Fraction
from functools import lru_cache
from typing import TYPE_CHECKING, Literal, TypeVar

from keyaction.models.units.dimensions import Dimension
from keyaction.models.units.kinds import KINDS, Kind
from keyaction.models.units.parsing import RAISED_DIGITS, UnitProblem, known_units, parse_unit, tidy_unit

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Number = TypeVar("Number", float, NDArray[np.float64])

__all__ = [
    "Dimension",
    "System",
    "UnitProblem",
    "convert",
    "dimension",
    "dimension_words",
    "format_value",
    "kind_of",
    "known_units",
    "parse_quantity",
    "unit_label",
]

System = Literal["trade", "si", "prefixed"]
"""The trade's units, strict SI, and SI with the prefixes that give figures of the trade's size: mm, ms, g, N, Pa."""

_LONGEST = 60
_TOO_SMALL = "too small to be a number; write 0 if that is meant"
_NUMBER = re.compile(r"[+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][+-]?[0-9]{1,3})?(?![0-9.])")
_FRACTION = re.compile(
    r"(?P<sign>[+-]?)(?:(?P<whole>[0-9]{1,6})[ -])?(?P<over>[0-9]{1,6})/(?P<under>[0-9]{1,6})(?![0-9.])"
)
_WRITTEN_FRACTIONS = {"½": "1/2", "¼": "1/4", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8"}
_WEIGHS = {"g": "gf", "kg": "kgf", "oz": "ozf", "lb": "lbf"}
"""Units of force that a mass of the same name weighs."""
_COMMA = re.compile(r"[+-]?[0-9]+,[0-9]+")
_NOT_FINITE = re.compile(r"[+-]?(?:nan|inf|infinity)\b", re.IGNORECASE)


@lru_cache(maxsize=1)
def _kinds_by_signature() -> dict[tuple[Dimension, Fraction], Kind]:
    table: dict[tuple[Dimension, Fraction], Kind] = {}
    for kind in KINDS:
        table.setdefault(parse_unit(kind.si).signature, kind)
    return table


def _find_kind(unit: str, words: str | None = None) -> Kind | None:
    """Find the kind by its words, else by the exact SI unit, else by dimension."""
    if words is not None:
        for kind in KINDS:
            if kind.words == words:
                return kind
        raise ValueError(f"no kind of quantity is called '{words}'")
    tidy = tidy_unit(unit)
    for kind in KINDS:
        if kind.si == tidy:
            return kind
    return _kinds_by_signature().get(parse_unit(unit).signature)


def kind_of(si_unit: str) -> str:
    """Name the kind of quantity that a unit measures, in words.

    Parameters
    ----------
    si_unit : str
        For instance ``"Pa"``; any unit of the table may be given.

    Returns
    -------
    str
        For instance ``"pressure"``; a unit of no named kind gives ``"quantity in <unit>"``.

    Raises
    ------
    UnitProblem
        If the unit is not known.
    """
    kind = _find_kind(si_unit)
    return kind.words if kind else f"quantity in {unit_label(si_unit)}"


def _with_article(words: str) -> str:
    return f"{'an' if words[0] in 'aeiou' else 'a'} {words}"


def _needed(si_unit: str, kind: str | None) -> str:
    found = _find_kind(si_unit, kind)
    if found is None:
        return f"a {kind_of(si_unit)} is needed"
    return f"{_with_article(found.words)} is needed, e.g. '{found.example}'"


def parse_quantity(text: str, si_unit: str, kind: str | None = None) -> float:
    """Read a quantity with its unit.

    Parameters
    ----------
    text : str
        A number and a unit, for instance ``"75 mmH2O"``. ``*`` or ``·`` is a product, ``^2`` or
        ``²`` a power.
        A plain number is accepted only where `si_unit` is ``"1"``; there ``"35 %"`` is 0.35.
    si_unit : str
        The SI unit of the result, for instance ``"Pa"``; temperatures ``"K"`` take the offset of degC.
    kind : str, optional
        Words of the kind that is wanted, where the unit alone leaves it open (``"modulus"`` for Pa).

    Returns
    -------
    float
        The value in `si_unit`.

    Raises
    ------
    UnitProblem
        If there is no number, no unit, an unknown unit or a unit of the wrong kind; the message says which.
    """
    if isinstance(text, bool) or not isinstance(text, str | int | float):
        raise UnitProblem(f"{text!r} is not a quantity; {_needed(si_unit, kind)}")
    shown = str(text).strip()
    number, unit = _split(shown, _needed(si_unit, kind))
    wanted = parse_unit(si_unit)
    if not unit:
        if wanted.signature == (Dimension(), Fraction(0)):
            return number
        found = _find_kind(si_unit, kind)
        example = f"{shown} {found.example.split(' ', 1)[1] if found else unit_label(si_unit)}"
        raise UnitProblem(f"'{shown}' has no unit; write e.g. '{example}'")
    given = parse_unit(unit, shown)
    if given.signature != wanted.signature:
        raise UnitProblem(f"'{shown}' is {_with_article(kind_of(unit))}; {_instead(shown, unit, si_unit, kind)}")
    value = wanted.from_si(given.to_si(number))
    if value == 0 and 0 < abs(number) < sys.float_info.min:
        raise UnitProblem(f"'{shown}' is {_TOO_SMALL}")
    if not math.isfinite(value):
        raise UnitProblem(f"'{shown}' is too large to be a number")
    return value


def unit_of(text: str) -> str:
    """The unit of a quantity that `parse_quantity` reads, as it is written; empty of a plain number."""
    return _split(text.strip(), "")[1]


def _instead(shown: str, unit: str, si_unit: str, kind: str | None) -> str:
    """What to write in place of a quantity of another kind: of a mass its weight, of a weight its mass."""
    number, tidy = shown[: len(shown) - len(unit)].strip(), tidy_unit(unit)
    if kind_of(si_unit) == "force" and tidy in _WEIGHS:
        return f"write '{number} {_WEIGHS[tidy]}' for the force that {shown} weigh"
    masses = {force: mass for mass, force in _WEIGHS.items()}
    if kind_of(si_unit) == "mass" and tidy in masses:
        return f"write '{number} {masses[tidy]}' for the mass that weighs {shown}"
    return _needed(si_unit, kind)


def _split(shown: str, needed: str) -> tuple[float, str]:
    """Split a quantity into its number and its unit text."""
    if len(shown) > _LONGEST:
        problem = f"'{shown[:20]}...' is too long to be a quantity (at most {_LONGEST} characters)"
        raise UnitProblem(f"{problem}; {needed}")
    plain = shown.replace("−", "-")
    if _COMMA.match(plain):
        raise UnitProblem(f"'{shown}' has a decimal comma; use a point: '{shown.replace(',', '.', 1)}'")
    if _NOT_FINITE.match(plain):
        raise UnitProblem(f"'{shown}' is not a finite number; {needed}")
    if (fraction := _fraction(plain)) is not None:
        return fraction
    found = _NUMBER.match(plain)
    if found is None:
        raise UnitProblem(f"'{shown}' does not begin with a number; {needed}")
    number = float(found.group())
    if not math.isfinite(number):
        raise UnitProblem(f"'{shown}' is too large to be a number")
    if vanishes(number, found.group()):
        raise UnitProblem(f"'{shown}' is {_TOO_SMALL}")
    return number, plain[found.end() :].strip()


def vanishes(number: float, written: str) -> bool:
    """Whether a number is 0 only because it is too small to be held."""
    return number == 0 and any(sign in "123456789" for sign in written.lower().partition("e")[0])


def _fraction(plain: str) -> tuple[float, str] | None:
    """A number as a rule or a drill has it, ``3/8`` or ``1 1/2``, and the unit after it; None where it is no such."""
    for sign, text in _WRITTEN_FRACTIONS.items():
        plain = plain.replace(sign, f" {text}")
    plain = plain.strip()
    found = _FRACTION.match(plain)
    if found is None:
        return None
    if int(found["under"]) == 0:
        raise UnitProblem(f"'{found.group()}' divides by 0")
    number = int(found["whole"] or 0) + int(found["over"]) / int(found["under"])
    return -number if found["sign"] == "-" else number, plain[found.end() :].strip()


def unit_label(unit: str) -> str:
    """Write a unit for people: ``g*cm^2`` as ``g·cm²``, ``degC`` as ``°C``, ``1`` as nothing."""
    tidy = tidy_unit(unit)
    if tidy == "1":
        return ""
    label = re.sub(r"\^(-?[0-9])(?![0-9.])", lambda found: found[1].translate(RAISED_DIGITS), tidy)
    return label.replace("*", "·").replace("degC", "°C").replace("percent", "%")


def convert(value_si: Number, si_unit: str, system: System = "trade", kind: str | None = None) -> tuple[Number, str]:
    """Convert an SI value, or an array of them, to the reader's unit.

    Parameters
    ----------
    value_si : float or ndarray
        Value or values in `si_unit`, any shape.
    si_unit : str
        Their SI unit.
    system : {"trade", "si", "prefixed"}
        The trade's units (mm, gf, mmH2O, ms ...), strict SI, or SI with prefixes (mm, N, Pa, ms ...).
    kind : str, optional
        Words of the kind, where the unit alone leaves it open: ``"modulus"`` gives GPa instead of mmH2O.

    Returns
    -------
    value : float or ndarray
        Same shape as `value_si`.
    label : str
        The unit as people write it; empty for a plain number.

    Raises
    ------
    ValueError
        If `system` or `kind` is not known.
    """
    if system not in ("trade", "si", "prefixed"):
        raise ValueError(f"system '{system}' is not known; 'trade', 'si' or 'prefixed'")
    found = None if system == "si" else _find_kind(si_unit, kind)
    target = si_unit if found is None else (found.prefixed or found.trade) if system == "prefixed" else found.trade
    given, wanted = parse_unit(si_unit), parse_unit(target)
    if given.signature != wanted.signature:
        raise ValueError(f"unit '{si_unit}' does not measure {_with_article(kind or '')}")
    if given == wanted:
        return value_si, unit_label(target)
    return wanted.from_si(given.to_si(value_si)), unit_label(target)


def format_value(
    value_si: float | NDArray[np.float64],
    si_unit: str,
    system: System = "trade",
    digits: int = 3,
    kind: str | None = None,
) -> str:
    """Write an SI value in the reader's unit, for instance ``"75 mmH2O"``.

    Parameters
    ----------
    value_si : float or ndarray
        Value in `si_unit`; an array is written as a bracketed list.
    si_unit, system, kind
        As for `convert`.
    digits : int
        Significant digits; digits before the point are never rounded away, trailing zeros are dropped.

    Returns
    -------
    str
        Number and unit; a missing value (nan) is written ``n/a``.
    """
    given = _float_or_array(value_si)
    if isinstance(given, float):
        value, label = convert(given, si_unit, system, kind)
        if math.isnan(value):
            return "n/a"
        number = _format_number(value, digits)
    else:
        values, label = convert(given, si_unit, system, kind)
        number = "[" + ", ".join(_format_number(float(v), digits) for v in values.ravel()) + "]"
    return f"{number} {label}" if label else number


def _float_or_array(value: float | NDArray[np.float64]) -> float | NDArray[np.float64]:
    """Without numpy for a plain number: importing it costs more than the rest of this module."""
    if isinstance(value, float | int):
        return float(value)
    import numpy as np

    array = np.asarray(value, dtype=float)
    return array if array.ndim else float(array)


def _format_number(value: float, digits: int) -> str:
    if math.isnan(value):
        return "n/a"
    if math.isinf(value) or value == 0.0:
        return f"{abs(value) if value == 0.0 else value:g}"
    if not 1e-4 <= abs(value) < 1e7:
        return f"{value:.{digits}g}"
    decimals = max(0, digits - 1 - math.floor(math.log10(abs(value))))
    text = f"{value:.{decimals}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def dimension(si_unit: str) -> Dimension:
    """Return the base-dimension vector of a unit (kg, m, s, K; the radian is a plain number).

    Parameters
    ----------
    si_unit : str
        For instance ``"N/m^1.5"``.

    Returns
    -------
    Dimension
        Hashable, with exact fractional exponents.

    Raises
    ------
    UnitProblem
        If the unit is not known.
    """
    return parse_unit(si_unit).dimension


@lru_cache(maxsize=1)
def _words_by_dimension() -> dict[Dimension, str]:
    table: dict[Dimension, str] = {dimension("N*m"): "torque or energy"}
    for kind in KINDS:
        table.setdefault(dimension(kind.si), kind.words)
    return table


def dimension_words(dim: Dimension) -> str:
    """Describe a dimension for a message, for instance ``"force (kg·m/s²)"``.

    Parameters
    ----------
    dim : Dimension
        As returned by `dimension`.

    Returns
    -------
    str
        The kind in words with the base units in brackets; without a name, the base units only.
    """
    words = _words_by_dimension().get(dim)
    base = _base_units(dim)
    if not base:
        return words or "plain number"
    return f"{words} ({base})" if words else base


def _base_units(dim: Dimension) -> str:
    powers = {"kg": dim.kg, "m": dim.m, "s": dim.s, "K": dim.K}
    above = "·".join(_power(name, p) for name, p in powers.items() if p > 0)
    below = "".join("/" + _power(name, -p) for name, p in powers.items() if p < 0)
    return (above or "1") + below if above or below else ""


def _power(name: str, power: Fraction) -> str:
    if power == 1:
        return name
    if power.denominator == 1:
        return name + str(power).translate(RAISED_DIGITS)
    return f"{name}^{float(power):g}"
