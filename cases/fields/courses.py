"""One field over the compass: a plain value, control points or a CSV column."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Mapping
from itertools import pairwise

from keyaction.cases.fields.asked import ask_layout
from keyaction.cases.fields.context import Context, Course, Scope
from keyaction.cases.fields.csvfile import CsvTable
from keyaction.cases.fields.kinds import may_join, read_scalar, unit_defect, with_unit
from keyaction.cases.fields.profile import BETWEEN, point_origin, spread
from keyaction.cases.text.defects import BadValue, Place
from keyaction.cases.text.near import hint
from keyaction.models.fields.fields import Field
from keyaction.models.fields.values import Given, Scalar

_CSV_KEYS = ("csv", "column", "unit")


def read_course(context: Context, scope: Scope, place: Place, field: Field, path: str, value: object) -> Course:
    """Read one field; what is wrong goes into the log of `place`, and the course is then empty.

    Parameters
    ----------
    context, scope
        The case, and what the table speaks of.
    place : Place
        The table, for messages.
    field : Field
        A field with a single value (not a table, not rows).
    path : str
        Its dotted path, for messages.
    value : object
        As TOML gives it.

    Returns
    -------
    dict
        Note to `Given`.
    """
    try:
        if isinstance(value, dict):
            if "layout" in value:
                return ask_layout(context, scope, place, field, path, value)
            _refuse_fixed(scope, field)
            read = _csv_column if "csv" in value else _control_points
            return read(context, scope, place, field, path, value)
        found = read_scalar(field, value, context.library)
        given = Given(found, scope.origin, written=_written(field, value, found))
    except BadValue as problem:
        place.defect(path, str(problem), value)
        return {}
    return dict.fromkeys(scope.notes, given)


def _written(field: Field, value: object, found: Scalar) -> str:
    """The word for a material, where it is not its proper name."""
    return value if field.kind == "material" and isinstance(value, str) and value != found else ""


def _refuse_fixed(scope: Scope, field: Field) -> None:
    if scope.fixed:
        raise BadValue("one value is needed here, no control points and no CSV column")
    if not field.varies:
        raise BadValue("this field holds for the whole compass; give one value")


def _control_points(
    context: Context, scope: Scope, place: Place, field: Field, path: str, value: Mapping[str, object]
) -> Course:
    before = len(place.log)
    between = _between(place, field, path, value)
    points = _points(context, place, field, path, value)
    _check_order(context, place, path, points)
    if len(place.log) > before:
        return {}
    if len(points) < 2:
        raise BadValue("at least two control points are needed; write a single value without a table")
    values = spread(points, between, scope.notes)
    words = _point_words(context, field, value)
    origins = _origins(context, points, between, list(values))
    return {note: Given(one, origins[note], written=words.get(one, "")) for note, one in values.items()}


def _origins(context: Context, points: list[tuple[int, Scalar]], between: str, notes: list[int]) -> dict[int, str]:
    """Where the value of each note comes from: told once for all notes between the same two points."""
    at, told, found = [one for one, _ in points], dict[tuple[int, bool], str](), {}
    for note in notes:
        key = bisect_left(at, note), note in at
        if key not in told:
            told[key] = point_origin(points, between, note, context.compass.name)
        found[note] = told[key]
    return found


def _point_words(context: Context, field: Field, value: Mapping[str, object]) -> dict[Scalar, str]:
    """Proper name of each material of the control points to the word that stands there, if that is another."""
    if field.kind != "material":
        return {}
    read = [(read_scalar(field, one, context.library), one) for key, one in value.items() if key != "between"]
    return {found: word for found, one in read if (word := _written(field, one, found))}


def _between(place: Place, field: Field, path: str, value: Mapping[str, object]) -> str:
    laws = BETWEEN if may_join(field) else ("steps",)
    choices = ", ".join(f'"{law}"' for law in laws)
    if "between" not in value:
        place.defect(path, f"say how the control points are joined: between = {choices}", value)
        return ""
    between = value["between"]
    if not isinstance(between, str) or between not in laws:
        near = hint(between, laws) if isinstance(between, str) and between not in BETWEEN else ""
        message = f"cannot join a {field.kind} like that{near}; allowed: {choices}"
        place.defect(f"{path}.between", message, between)
        return ""
    return between


def _points(
    context: Context, place: Place, field: Field, path: str, value: Mapping[str, object]
) -> list[tuple[int, Scalar]]:
    points: list[tuple[int, Scalar]] = []
    for key, one in value.items():
        if key == "between":
            continue
        try:
            points.append((_point_note(context, key), read_scalar(field, one, context.library)))
        except BadValue as problem:
            place.defect(f"{path}.{key}", str(problem), one)
    return points


def _point_note(context: Context, key: str) -> int:
    """The note of a control point; a key that is no note at all may be a slip for one of the other keys."""
    try:
        return context.compass.read(key)
    except BadValue as problem:
        near = hint(key, ("between", *_CSV_KEYS))
        raise BadValue(f"{problem}{near if 'did you mean' in near else ''}") from None


def _check_order(context: Context, place: Place, path: str, points: list[tuple[int, Scalar]]) -> None:
    for (before, _), (after, _) in pairwise(points):
        names = context.compass.name(after), context.compass.name(before)
        if after == before:
            place.defect(path, f"control point {names[0]} is given twice")
        elif after < before:
            place.defect(path, f"control points out of order: {names[0]} after {names[1]}; write them rising")


def _csv_column(
    context: Context, scope: Scope, place: Place, field: Field, path: str, value: Mapping[str, object]
) -> Course:
    if not _csv_keys_ok(place, path, value):
        return {}
    name, column, unit = (str(value.get(key, "")) for key in _CSV_KEYS)
    wrong = unit_defect(field, unit)
    if wrong:
        place.defect(f"{path}.unit", wrong, unit)
    try:
        table = context.shelf.table(name)
    except BadValue as problem:
        place.defect(f"{path}.csv", str(problem), name)
        return {}
    if table is None or wrong:
        return {}
    if column not in table.cells:
        place.defect(f"{path}.column", f"no such column in {name}{hint(column, table.cells)}", column)
        return {}
    return _cells(context, scope, place, field, path, table, column, unit)


def _csv_keys_ok(place: Place, path: str, value: Mapping[str, object]) -> bool:
    before = len(place.log)
    for key, one in value.items():
        if key not in _CSV_KEYS:
            place.defect(f"{path}.{key}", f"unknown field{hint(key, _CSV_KEYS)}", one)
        elif not isinstance(one, str):
            place.defect(f"{path}.{key}", "a text in quotes is needed", one)
    if "column" not in value:
        place.defect(f"{path}.column", 'say which column of the CSV file is meant: column = "..."', value)
    return len(place.log) == before


def _cells(
    context: Context,
    scope: Scope,
    place: Place,
    field: Field,
    path: str,
    table: CsvTable,
    column: str,
    unit: str,
) -> Course:
    cells = table.cells[column]
    holes = [note for note, cell in cells.items() if not cell]
    if holes:
        place.defect(path, f"{table.name}, column '{column}' has no value at {context.compass.ranges(holes)}")
    origin = f"CSV {table.name} column {column}"
    course: Course = {}
    wrong: dict[str, list[int]] = {}
    for note in (note for note in scope.notes if cells.get(note)):
        try:
            value = read_scalar(field, with_unit(field, cells[note], unit), context.library)
        except BadValue as problem:
            wrong.setdefault(_reason(field, cells[note], unit, str(problem)), []).append(note)
            continue
        course[note] = Given(value, origin, written=_written(field, cells[note], value))
    for reason, notes in wrong.items():
        where = Place(table.name, f"column '{column}', {_lines(table, notes)}", place.log)
        message = f"{reason} (for {place.table}, at {context.compass.ranges(notes)})"
        where.defect(path, message, cells[notes[0]])
    return {} if wrong or holes else course


def _reason(field: Field, cell: str, unit: str, problem: str) -> str:
    """One reason for a whole column of bare numbers, so that it is reported once."""
    if field.kind == "quantity" and not unit and _is_bare(cell):
        return 'a number without unit; give the column\'s unit beside its name: unit = "..."'
    return problem


def _is_bare(cell: str) -> bool:
    try:
        float(cell)
    except ValueError:
        return False
    return True


def _lines(table: CsvTable, notes: list[int]) -> str:
    """The lines of a CSV file in which these notes stand, in words."""
    lines = [table.lines[note] for note in notes]
    return f"line {lines[0]}" if len(lines) == 1 else f"lines {lines[0]} to {lines[-1]}"
