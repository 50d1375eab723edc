"""What a sound case should still be told: its defaults, and values outside what the trade uses."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import groupby

from keyaction.cases.action.strokes import NO_NOTE
from keyaction.cases.fields.allowed import usual, usual_range, written
from keyaction.cases.fields.compass import Compass
from keyaction.cases.fields.context import Course
from keyaction.cases.fields.tables import field_at, finder
from keyaction.cases.text.assumed import Assumption
from keyaction.models.fields.fields import Field
from keyaction.models.fields.values import Given, Warned
from keyaction.models.units.quantity import System, format_value

_ROUNDING = 1e-9
LOST_MOTION = "lost_motion"


def assumptions(
    table: str, owner: str, fields: Sequence[Field], courses: Mapping[str, Course], system: System = "trade"
) -> Iterator[Assumption]:
    """Every default that a table relies on, its value in the reader's unit."""
    for path, course in courses.items():
        given = next((one for one in course.values() if one.default), None)
        field = field_at(fields, path)
        if given is not None and field is not None:
            yield Assumption(table, owner, path, _text(field, given, system), field.source)


def _text(field: Field, given: Given, system: System) -> str:
    value = given.value
    if isinstance(value, bool):
        return str(value).lower()
    return value if isinstance(value, str) else written(field, value, system)


def unusual(
    file: str, table: str, fields: Sequence[Field], courses: Mapping[str, Course], compass: Compass
) -> Iterator[str]:
    """One line for every field with values outside its usual range or course over the compass, naming the notes."""
    field_of = finder(fields)
    for path, course in courses.items():
        field = field_of(path)
        if field is None or (field.usual is None and field.per_octave is None):
            continue
        values_at = {note: float(one.value) for note, one in course.items()}
        source = f" ({field.range_source})" if field.range_source else ""
        odd_ones = {value for value in set(values_at.values()) if not usual(field, value)}  # most notes share theirs
        outside = {note: value for note, value in values_at.items() if value in odd_ones}
        if outside:
            values = _span(*(written(field, end) for end in (min(outside.values()), max(outside.values()))))
            at = "" if NO_NOTE in outside else f" at {compass.ranges(outside)}"
            yield f"{file}: {table}, field '{path}' = {values}{at}: outside the usual {usual_range(field)}{source}"
        elif told := _uneven(field, values_at, compass):
            yield f"{file}: {table}, field '{path}': {told}{source}"


def usual_on(fields: Sequence[Field], floats: bool) -> Sequence[Field]:
    """Fields with what is usual where a rail floats: its load draws rods as tight as they else have play (assumed)."""
    if not floats:
        return fields
    return [
        replace(one, usual=(-one.usual[1], one.usual[1]), usual_source="tight on a floating rail: assumed")
        if one.name == LOST_MOTION and one.usual
        else one
        for one in fields
    ]


def _span(low: str, high: str) -> str:
    return low if low == high else f"{low} to {high}"


def _uneven(field: Field, values: Mapping[int, float], compass: Compass) -> str:
    """Where a value changes more from a note to its octave than is usual; the octave where it does so most."""
    if field.per_octave is None:
        return ""
    low, high = field.per_octave
    ratios = {note: values[note + 12] / value for note, value in values.items() if note + 12 in values and value > 0}
    beyond = {note: max(ratio / high, low / max(ratio, 1e-30)) for note, ratio in ratios.items()}
    worst = max(beyond, key=lambda note: beyond[note], default=NO_NOTE)
    if worst == NO_NOTE or beyond[worst] <= 1 + _ROUNDING:
        return ""
    ends = [f"{written(field, values[note])} at {compass.name(note)}" for note in (worst, worst + 12)]
    return f"{ends[0]}, {ends[1]}: outside the usual {low:g} to {high:g} times from a note to its octave"


def odd(file: str, compass: Compass, warned: Mapping[int, Sequence[Warned]]) -> Iterator[str]:
    """One line for every field that a part warned of, with its values and the notes; `warned` is by note."""
    found = [(one.part, one.field, one.brief, note, one) for note, each in warned.items() for one in each if one.field]
    for (part, path, told), group in groupby(sorted(found, key=lambda row: row[:4]), key=lambda row: row[:3]):
        rows = list(group)
        at = {row[3]: row[4] for row in rows}
        values = _span(*(format_value(end, rows[0][4].unit) for end in _ends([one.value for one in at.values()])))
        yield f"{file}: [[train]] {part}, field '{path}' = {values} at {compass.ranges(at)}: {told}"


def _ends(values: Sequence[float]) -> tuple[float, float]:
    return min(values), max(values)
