"""The range of a field: whether a value is inside, and how to say what is allowed."""

from __future__ import annotations

import math

from keyaction.models.fields.fields import Field
from keyaction.models.many import maths
from keyaction.models.units.quantity import System, format_value

_SLACK = 1e-12


def inside(field: Field, value: float) -> bool:
    """Whether an SI value is in the allowed range; the ends count, give or take the rounding of a unit."""
    if field.positive and value <= 0:
        return False
    return _within(value, field.least, field.high)


def usual(field: Field, value: float) -> bool:
    """Whether an SI value is in the range that the trade uses, or no such range is known.

    What reads as an end of that range is in it: nobody is told that 3 is outside 0 to 3.
    """
    if field.usual is None or _within(value, *field.usual):
        return True
    return written(field, value) in [written(field, end) for end in field.usual]


def _within(value: float, low: float, high: float) -> bool:
    return low - _SLACK * abs(low) <= value <= high + _SLACK * abs(high) if maths.isfinite(value) else False


def written(field: Field, value: float, system: System = "trade") -> str:
    """An SI value of the field in the reader's unit."""
    if not (field.kind == "quantity" and field.unit):
        return f"{value:.0f}" if field.kind == "count" else f"{value:g}"
    return maths.written(value, lambda one: format_value(one, field.unit, system, kind=field.written or None))


def allowed_range(field: Field, system: System = "trade") -> str:
    """The allowed range in the reader's unit, for instance "allowed: above 0 mm, up to 200 mm"."""
    low, high = (written(field, end, system) for end in (field.least, field.high))
    if field.positive and field.least <= 0:
        above = f"above {written(field, 0.0, system)}"
        return f"allowed: {above}, up to {high}" if math.isfinite(field.high) else f"allowed: {above}"
    if math.isfinite(field.least) and math.isfinite(field.high):
        return f"allowed: {low} to {high}"
    if math.isfinite(field.least):
        return f"allowed: {low} or more"
    return f"allowed: up to {high}"


def usual_range(field: Field, system: System = "trade") -> str:
    """The usual range in the reader's unit, for instance "7.5 mm to 12 mm"; empty if none is known."""
    return "" if field.usual is None else " to ".join(written(field, end, system) for end in field.usual)
