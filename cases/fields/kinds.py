"""One value of a case file to one SI value, for every kind of field that is not a table."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from typing import TypeGuard

from keyaction.cases.fields.allowed import allowed_range, inside
from keyaction.cases.text.defects import BadValue, shown
from keyaction.cases.text.near import hint
from keyaction.models.fields.fields import Field
from keyaction.models.fields.values import Scalar
from keyaction.models.materials.library import Library, UnknownMaterial
from keyaction.models.units.quantity import UnitProblem, convert, parse_quantity, vanishes


def read_scalar(field: Field, value: object, library: Library) -> Scalar:
    """Read one value.

    Parameters
    ----------
    field : Field
        What the value is for; its kind must be in `KINDS`.
    value : object
        As TOML gives it.
    library : Library
        Materials known to the case.

    Returns
    -------
    float, int, str or bool
        In SI units.

    Raises
    ------
    BadValue
        If the value is of the wrong kind, out of range or not one of the known names.
    """
    return KINDS[field.kind](field, value, library)


def _checked(field: Field, value: float) -> float:
    if not inside(field, value):
        raise BadValue(f"out of range; {allowed_range(field)}")
    return value


def _quantity(field: Field, value: object, _: Library) -> float:
    if not isinstance(value, str):
        number = value if _is_number(value) else 1
        if not math.isfinite(number):
            raise BadValue(f"not a finite number; {allowed_range(field)}")
        raise BadValue(f"a text with a unit is needed, such as {shown(_with_trade_unit(field, number))}")
    try:
        return _checked(field, parse_quantity(value, field.unit, field.written or None))
    except UnitProblem as problem:
        raise BadValue(str(problem)) from None


def _with_trade_unit(field: Field, number: object) -> str:
    return f"{shown(number)} {convert(1.0, field.unit)[1]}".strip()


def _is_number(value: object) -> TypeGuard[int | float]:
    return isinstance(value, int | float) and not isinstance(value, bool)


def _number(field: Field, value: object, _: Library) -> float:
    if isinstance(value, str) and value.strip().endswith("%"):
        return _checked(field, _percent(value))
    if isinstance(value, str) and _too_small(value):
        raise BadValue("too small to be a number; write 0 if that is meant")
    if not _is_number(value):
        raise BadValue('a plain number is needed, such as 0.6 or "60 %"')
    if not math.isfinite(value):
        raise BadValue(f"not a finite number; {allowed_range(field)}")
    return _checked(field, float(value))


def _too_small(text: str) -> bool:
    try:
        return vanishes(float(text), text)
    except ValueError:
        return False


def _percent(text: str) -> float:
    try:
        return parse_quantity(text, "1")
    except UnitProblem as problem:
        raise BadValue(str(problem)) from None


def _count(field: Field, value: object, _: Library) -> int:
    if not isinstance(value, int) or isinstance(value, bool):
        raise BadValue("a whole number is needed, without quotes or decimal point")
    _checked(field, float(value))
    return value


def _choice(field: Field, value: object, _: Library) -> str:
    if not isinstance(value, str):
        raise BadValue(f"one of these words is needed: {', '.join(field.choices)}")
    if value not in field.choices:
        raise BadValue(f"unknown choice{hint(value, field.choices)}; allowed: {', '.join(field.choices)}")
    return value


def _material(_: Field, value: object, library: Library) -> str:
    if not isinstance(value, str):
        raise BadValue("the name of a material is needed, in quotes")
    try:
        return library.get(value).name
    except UnknownMaterial as problem:
        raise BadValue(str(problem)) from None


def _text(_: Field, value: object, __: Library) -> str:
    if not isinstance(value, str):
        raise BadValue("a text in quotes is needed")
    return value


def _flag(_: Field, value: object, __: Library) -> bool:
    if not isinstance(value, bool):
        raise BadValue("true or false is needed, without quotes")
    return value


KINDS: Mapping[str, Callable[[Field, object, Library], Scalar]] = {
    "quantity": _quantity,
    "number": _number,
    "count": _count,
    "choice": _choice,
    "material": _material,
    "text": _text,
    "flag": _flag,
}
"""How each kind of field reads one value."""


def may_join(field: Field) -> bool:
    """Whether values between control points make sense; other kinds change by steps only."""
    return field.kind in ("quantity", "number")


_FROM_TEXT: Mapping[str, Callable[[str], object]] = {
    "number": float,
    "count": int,
    "flag": lambda text: {"true": True, "false": False}[text.lower()],
}


def from_text(field: Field, text: object) -> object:
    """A value given as text (CSV cell, command line) in the form that TOML would have given it."""
    if not isinstance(text, str) or field.kind not in _FROM_TEXT:
        return text
    try:
        value = _FROM_TEXT[field.kind](text.strip())
    except (ValueError, KeyError):
        return text
    if isinstance(value, float) and (not math.isfinite(value) or vanishes(value, text)):
        return text
    return value


def with_unit(field: Field, cell: str, unit: str) -> object:
    """A CSV cell with the unit of its column, in the form that TOML would have given it."""
    if not unit:
        return from_text(field, cell)
    return f"{cell} {unit}"


def unit_defect(field: Field, unit: str) -> str:
    """Why a CSV column of `field` cannot have this unit; empty if it can."""
    if not unit:
        return ""
    if field.kind == "number":
        return "" if unit == "%" else 'a plain number has no unit, except "%"'
    if field.kind != "quantity":
        return f"a {field.kind} has no unit"
    try:
        parse_quantity(f"1 {unit}", field.unit)
    except UnitProblem as problem:
        return str(problem)
    return ""
