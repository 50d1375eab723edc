"""What a sound case should still be told: its defaults, and values outside what the trade uses."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from keyaction.cases.fields.allowed import usual, usual_range, written
from keyaction.cases.fields.compass import Compass
from keyaction.cases.fields.context import Course
from keyaction.cases.fields.tables import field_at
from keyaction.cases.text.assumed import Assumption
from keyaction.models.fields.fields import Field
from keyaction.models.fields.values import Given


def assumptions(table: str, owner: str, fields: Sequence[Field], courses: Mapping[str, Course]) -> Iterator[Assumption]:
    """Every default that a table relies on."""
    for path, course in courses.items():
        given = next((one for one in course.values() if one.default), None)
        field = field_at(fields, path)
        if given is not None and field is not None:
            yield Assumption(table, owner, path, _text(field, given), field.source)


def _text(field: Field, given: Given) -> str:
    value = given.value
    if isinstance(value, bool):
        return str(value).lower()
    return value if isinstance(value, str) else written(field, value)


def unusual(
    file: str, table: str, fields: Sequence[Field], courses: Mapping[str, Course], compass: Compass
) -> Iterator[str]:
    """One line for every field with values outside its usual range, naming the notes."""
    for path, course in courses.items():
        field = field_at(fields, path)
        if field is None or field.usual is None:
            continue
        values_at = {note: float(one.value) for note, one in course.items()}
        outside = {note: value for note, value in values_at.items() if not usual(field, value)}
        if outside:
            low, high = (written(field, end) for end in (min(outside.values()), max(outside.values())))
            values = low if low == high else f"{low} to {high}"
            source = f" ({field.source})" if field.source else ""
            yield (
                f"{file}: {table}, field '{path}' = {values} at {compass.ranges(outside)}: "
                f"outside the usual {usual_range(field)}{source}"
            )
