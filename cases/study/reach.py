"""Finding the field that a study means by "roller.width", "strokes.down" or "materials.sitka-spruce.E"."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from keyaction.cases.action.case import Case
from keyaction.cases.action.own_materials import property_of
from keyaction.cases.action.strokes import STROKE_FIELDS
from keyaction.cases.fields.tables import field_at, paths
from keyaction.cases.study.inputs import MATERIALS, STROKES, Target
from keyaction.cases.text.defects import BadValue
from keyaction.cases.text.near import hint
from keyaction.models.fields.fields import Field


def find_target(case: Case, path: str) -> Target:
    """The field of that dotted path.

    Parameters
    ----------
    case : Case
        The case that the study varies.
    path : str
        ``part.field``, ``strokes.field`` or ``materials.NAME.property``.

    Raises
    ------
    BadValue
        If there is none; the message gives the nearest name.
    """
    place, _, inner = path.partition(".")
    names = [one.name for one in case.parts]
    if place in names:
        part = case.part(place)
        return _in_table(place, inner, part.part.fields, part.fields)
    if place == STROKES:
        return _in_table(place, inner, STROKE_FIELDS, case.strokes.given)
    if place == MATERIALS:
        return _in_material(case, inner)
    raise BadValue(f"unknown part '{place}'{hint(place, [*names, STROKES, MATERIALS])}")


def _in_table(place: str, inner: str, fields: Sequence[Field], given: Mapping[str, object]) -> Target:
    if not inner:
        raise BadValue(f"which field of {place}? Write {place}.FIELD")
    field = field_at(fields, inner)
    if field is None:
        known = [*given, *(one for one, _ in paths(fields) if "*" not in one)]
        raise BadValue(f"{place} has no field '{inner}'{hint(inner, known)}")
    steps = inner.split(".")
    row = next((index for index, step in enumerate(steps) if step.isdecimal()), None)
    if row is not None and not any(path.startswith(".".join(steps[: row + 1]) + ".") for path in given):
        raise BadValue("there is no such row in the case")
    return Target(place, inner, field)


def _in_material(case: Case, inner: str) -> Target:
    name, field = property_of(case.library, inner)
    return Target(MATERIALS, f"{name}.{field.name}", field)
