"""Edits laid over the tables of a case file."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from copy import deepcopy
from enum import Enum
from typing import Any, Final

from keyaction.cases.fields.kinds import from_text, read_scalar
from keyaction.cases.fields.profile import spread
from keyaction.cases.fields.tables import field_at
from keyaction.cases.text.defects import BadValue
from keyaction.cases.text.written import Names, Written
from keyaction.models.fields.fields import Field
from keyaction.models.fields.values import Given
from keyaction.models.materials.library import default_library
from keyaction.models.notes import Naming, NoteProblem, note_name, parse_note
from keyaction.sim.bench.edits import Edit, Ground, UnknownField, latest
from keyaction.sim.bench.units import as_text


class Gone(Enum):
    """What stands in the place of a value that is taken out."""

    GONE = "gone"


GONE: Final = Gone.GONE
_OF_COURSE = ("between", "csv", "column", "unit")
"""Keys of a field over the compass that are no notes."""
Laid = Written | Gone


def overlaid(ground: Ground, data: Mapping[str, Any], edits: Sequence[Edit]) -> dict[str, Any]:
    """The tables of a case's file with edits laid over them; the tables themselves stay as they are.

    Parameters
    ----------
    ground : Ground
    data : mapping
        Tables of the file.
    edits : sequence of Edit

    Raises
    ------
    UnknownField
        When the case has no such part, or the part no such field.
    """
    made = dict(data)
    made["train"] = deepcopy(data.get("train"))
    made["notes"] = deepcopy(data.get("notes", {}))
    for names, value in placed(ground, made, edits).items():
        _set(made, names, value)
    return {name: table for name, table in made.items() if name in data or table}


def _set(data: dict[str, Any], names: Names, value: Laid) -> None:
    table: Any = data
    for name in names[:-1]:
        table = table[int(name)] if isinstance(table, list) else table.setdefault(name, {})
        if not isinstance(table, dict | list):
            raise UnknownField(f"{'.'.join(names)}: stands in the file in a form that cannot be changed")
    if isinstance(value, Gone):
        table.pop(names[-1], None)
    else:
        table[names[-1]] = deepcopy(value)


def placed(ground: Ground, data: Mapping[str, Any], edits: Sequence[Edit]) -> dict[Names, Laid]:
    """Where every edit stands, from the outermost table in; a row of a note has its whole list."""
    keys = own_keys(ground, data)
    found: dict[Names, Laid] = {}
    before: list[tuple[Edit, Field, Written]] = []
    for one in latest(edits):
        if one.value is None or point_of(ground, one) is not None:
            found.update(_in_place(ground, data, keys, one, found))
            continue
        index, field = field_of(ground, one)
        value, table = as_toml(field, one.value), data["train"][index]
        if one.note is None:
            found.update(_in_rows(one, ("train", str(index)), value, table, found))
            for note, key in ((note, key) for note, key in keys.items() if note not in one.keep):
                own = ("notes", key, one.part)
                there = _at_note(ground, field, value, note)
                found.update(_in_rows(one, own, there, _at(data, own), found, there=True))
            before.append((one, field, value))
            continue
        key = keys.setdefault(one.note, note_name(one.note, ground.naming))
        steps, own = tuple(one.path.split(".")), ("notes", key, one.part)
        rows = row_step(steps)
        if rows:
            names = (*own, *steps[:rows])
            start = found.get(names) or _moved_rows(ground, one, steps[:rows], table, before)
            found[names] = _with_row(one, start, steps[rows:], value)
        else:
            found[(*own, *steps)] = value
    return found


def _in_place(
    ground: Ground, data: Mapping[str, Any], keys: Mapping[int, str], one: Edit, found: Mapping[Names, Laid]
) -> dict[Names, Laid]:
    """What is taken out, or a control point that is set: it must stand in the file, or in a course laid before it."""
    index = _number(ground, one)
    if one.note is not None and one.note not in keys:
        raise UnknownField(f"{one.part}: nothing of its own stands at this note", one.part, one.path)
    own = ("train", str(index)) if one.note is None else ("notes", keys[one.note], one.part)
    steps, point = tuple(one.path.split(".")), point_of(ground, one)
    rows = row_step(steps)
    holder = (*own, *steps[:-1])
    if rows:
        start = found.get((*own, *steps[:rows]), value_in(data, (*own, *steps[:rows])))
        there = value_in(start, steps[rows:] if one.value is None else steps[rows:-1])
    else:
        held = found.get(holder, value_in(data, holder))
        there = held if one.value is not None else value_in(held, steps[-1:])
    if there is None or (one.value is not None and not isinstance(there, Mapping)):
        told = f"'{one.path}' does not stand in the file" if one.value is None else f"no field '{one.path}'"
        raise UnknownField(f"{one.part}: {told}", one.part, one.path)
    value = GONE if one.value is None else one.value if point is None else _point(point, steps[-1], one.value)
    if rows:
        return {(*own, *steps[:rows]): _with_row(one, start, steps[rows:], value)}
    if holder not in found:
        return {(*own, *steps): value}
    made = dict(held)
    _set(made, steps[-1:], value)
    return {holder: made}


def _point(field: Field, name: str, value: str | Mapping[str, str]) -> Written:
    return value if name in _OF_COURSE else as_toml(field, value)


def point_of(ground: Ground, one: Edit) -> Field | None:
    """The field of whose control points, or whose law, a path names one; None of any other path."""
    fields = ground.fields.get(one.part, ())
    path, _, name = one.path.rpartition(".")
    if not path or field_at(fields, one.path) is not None or not _is_point(name, ground.naming):
        return None
    return field_at(fields, path)


def _is_point(name: str, naming: Naming) -> bool:
    if name in _OF_COURSE:
        return True
    try:
        parse_note(name, naming)
    except NoteProblem:
        return False
    return True


def value_in(data: Any, steps: Sequence[str]) -> Any:
    """What stands in tables and lists at a path; None where nothing does."""
    for step in steps:
        if isinstance(data, list):
            data = data[int(step)] if step.isdecimal() and int(step) < len(data) else None
        else:
            data = data.get(step) if isinstance(data, Mapping) else None
    return data


def row_step(steps: Names) -> int:
    """Where a path has the number of a row; 0 where it has none."""
    return next((i for i, step in enumerate(steps) if step.isdecimal()), 0)


def own_keys(ground: Ground, data: Mapping[str, Any]) -> dict[int, str]:
    """How the file calls the notes that have values of their own."""
    found = {}
    notes = data.get("notes", {})
    for key in notes if isinstance(notes, Mapping) else ():
        try:
            found[parse_note(key, ground.naming)] = key
        except NoteProblem:
            continue
    return found


def field_of(ground: Ground, one: Edit) -> tuple[int, Field]:
    """The number of the part in the file, and the field that an edit is of."""
    index = _number(ground, one)
    field = field_at(ground.fields[one.part], one.path)
    if field is None:
        raise UnknownField(f"{one.part}: no field '{one.path}'", one.part, one.path)
    return index, field


def _number(ground: Ground, one: Edit) -> int:
    """Which part of the file an edit is of."""
    if one.part not in ground.fields:
        raise UnknownField(f"no part '{one.part}'", one.part)
    return list(ground.fields).index(one.part)


def as_toml(field: Field, value: str | Mapping[str, str]) -> Written:
    """A value in the form that TOML gives it."""
    if isinstance(value, Mapping):
        return {key: one if key == "between" else as_toml(field, one) for key, one in value.items()}
    found: Written = from_text(field, value)  # type: ignore[assignment]  # text, or what that is of other kinds
    return value if isinstance(found, int) and abs(found) >= 2**63 else found  # TOML has no larger ones


def _in_rows(
    one: Edit, own: Names, value: Written, table: Any, found: Mapping[Names, Laid], there: bool = False
) -> dict[Names, Laid]:
    """A value under its own names, or in the whole list of its rows; none where it must be `there` and is not."""
    steps = tuple(one.path.split("."))
    rows = row_step(steps)
    names = (*own, *steps[:rows]) if rows else (*own, *steps)
    start: Any = found.get(names, _at(table, names[len(own) :]))
    if there and (start is None or (rows and (not isinstance(start, list) or int(steps[rows]) >= len(start)))):
        return {}
    return {names: _with_row(one, start, steps[rows:], value) if rows else value}


def _at_note(ground: Ground, field: Field, value: Written, note: int) -> Written:
    """What a value of the whole compass is at one note."""
    if not isinstance(value, Mapping):
        return value
    library = ground.case.library if ground.case else default_library()
    given = {name: one for name, one in value.items() if name != "between"}
    try:
        points = [(parse_note(name, ground.naming), read_scalar(field, one, library)) for name, one in given.items()]
        at = spread(points, str(value.get("between", "")), (note,))[note]
    except (BadValue, NoteProblem, KeyError, IndexError):
        return value  # which the reader refuses, with the reason
    return as_text(field, Given(at, ""), value)


def _moved_rows(
    ground: Ground, one: Edit, path: Names, table: Mapping[str, Any], before: Sequence[tuple[Edit, Field, Written]]
) -> Written:
    """The rows of a list as a note has them, after earlier edits of the whole compass."""
    found, note = _rows_at(ground, one, path, table), one.note or 0
    for other, field, value in before:
        steps = tuple(other.path.split("."))
        if note in other.keep:
            continue
        if other.part == one.part and steps[: len(path)] == path and row_step(steps) == len(path):
            found = _with_row(other, found, steps[len(path) :], _at_note(ground, field, value, note))
    return found


def _rows_at(ground: Ground, one: Edit, path: Names, table: Mapping[str, Any]) -> Written:
    """The rows of a list as a note has them, without defaults, in the units in which the file has them."""
    if ground.case is None or one.note is None:
        raise UnknownField(f"{one.part}: mend the case first, then '{'.'.join(path)}' of a note", one.part, one.path)
    part = ground.case.part(one.part)
    prefix = f"{'.'.join(path)}."
    rows: dict[int, dict[str, Any]] = {}
    for name, course in part.fields.items():
        given = course.get(one.note)
        field = field_at(part.part.fields, name)
        if name.startswith(prefix) and given is not None and field is not None and not given.default:
            number, *inner = name[len(prefix) :].split(".")
            told = _cell(_at(table, path), int(number), inner)
            row = rows.setdefault(int(number), {})
            for step in inner[:-1]:
                row = row.setdefault(step, {})
            row[inner[-1]] = as_text(field, given, told)
    if not rows:
        raise UnknownField(f"{part.name}: '{prefix[:-1]}' has no rows at this note", one.part, one.path)
    return [rows[number] for number in sorted(rows)]


def _with_row(one: Edit, rows: Any, steps: Names, value: Laid) -> Written:
    """A list of tables with one value of one of them changed."""
    if not isinstance(rows, list) or int(steps[0]) >= len(rows):
        raise UnknownField(f"{one.part}: there is no row {steps[0]} for '{one.path}'", one.part, one.path)
    made = deepcopy(rows)
    table = made[int(steps[0])]
    for step in steps[1:-1]:
        table = table.setdefault(step, {})
    if isinstance(value, Gone):
        table.pop(steps[-1], None)
    else:
        table[steps[-1]] = value
    return made


def _at(table: Any, steps: Names) -> Any:
    """What stands in a table at a path; None where nothing does."""
    for step in steps:
        table = table.get(step) if isinstance(table, Mapping) else None
    return table


def _cell(rows: Any, number: int, inner: Sequence[str]) -> Any:
    """What the file has in a row for the whole compass; None where it has no such row."""
    return _at(rows[number], tuple(inner)) if isinstance(rows, list) and number < len(rows) else None
