"""How a value is written into a case: in the unit that the file has there, else in the trade's."""

from __future__ import annotations

import re
from collections.abc import Mapping

from keyaction.cases.text.written import Written
from keyaction.models.fields.fields import Field
from keyaction.models.fields.values import Given
from keyaction.models.units.quantity import UnitProblem, convert, parse_quantity

_NUMBER = re.compile(r"^\s*[-+−\d./½¼¾⅛⅜⅝⅞ ]*(?:[eE][-+]?\d+)?")
_TYPED = str.maketrans({"²": "^2", "³": "^3", "⁴": "^4", "·": "*", "µ": "u"})


def as_text(field: Field, given: Given, like: object = None) -> Written:
    """A value as a case file would have it, in the unit of `like` where that has one, else in the trade's."""
    value = given.written or given.value
    if field.kind != "quantity" or isinstance(value, str | bool):
        return value
    unit = _unit_of(like, field) or trade_unit(field)
    scale = [parse_quantity(f"{number} {unit}", field.unit, field.written or None) for number in (0, 1)]
    return f"{(value - scale[0]) / (scale[1] - scale[0]):.10g} {unit}".strip()


def _unit_of(like: object, field: Field) -> str:
    """The unit of a value of the file, of control points that of the first; empty where it has none that fits."""
    if isinstance(like, Mapping):
        like = like.get("unit") or next((one for name, one in like.items() if name not in ("between", "csv")), None)
    unit = _NUMBER.sub("", like).strip() if isinstance(like, str) else ""
    try:
        parse_quantity(f"1 {unit}", field.unit, field.written or None)
    except UnitProblem:
        return ""
    return unit


def trade_unit(field: Field) -> str:
    """The trade's unit of a field, as a case file has it."""
    label = convert(0.0, field.unit, "trade", field.written or None)[1]
    return label.translate(_TYPED).replace("°C", "degC") if field.unit else ""
