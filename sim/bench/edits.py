"""Fields that were moved on the bench: laid over the tables of a case file, and written into its text."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Callable, Mapping, Sequence
from copy import deepcopy
from dataclasses import dataclass
from functools import partial
from typing import Any

from keyaction.cases.action.case import Case
from keyaction.cases.action.train import kinds_by_name
from keyaction.cases.fields.kinds import from_text, read_scalar
from keyaction.cases.fields.profile import spread
from keyaction.cases.fields.tables import field_at
from keyaction.cases.text.defects import BadValue
from keyaction.cases.text.edit import EditProblem, with_cell, with_values
from keyaction.cases.text.written import Names, Written
from keyaction.models.fields.fields import Field
from keyaction.models.fields.values import Given
from keyaction.models.materials.library import default_library
from keyaction.models.notes import NAMINGS, Naming, NoteProblem, note_name, parse_note
from keyaction.models.parts import PARTS
from keyaction.models.units.quantity import UnitProblem, convert, parse_quantity

_INNER = re.compile(r"\[\[?\s*train\s*\.")
"""The header of a table within a part: it belongs to the part before it."""
_NEXT = re.compile(r"^\[", re.MULTILINE)
_NUMBER = re.compile(r"^\s*[-+−\d./½¼¾⅛⅜⅝⅞ ]*(?:[eE][-+]?\d+)?")
_TYPED = str.maketrans({"²": "^2", "³": "^3", "⁴": "^4", "·": "*", "µ": "u"})
_ONE = re.compile(r"^\[\[\s*train\s*\]\]", re.MULTILINE)


@dataclass(frozen=True)
class Edit:
    """One field that was moved.

    Attributes
    ----------
    part, path : str
        Name of the part in the case, and dotted path of its field.
    value : str or mapping
        As it is written in a case file, with its unit: "2.1 N", "0.37", "true"; of the whole compass also a table of
        control points, ``{"between": "linear", "C2": "2.7 N", "G6": "1.2 N"}``.
    note : int, optional
        Whose own value it is; None for the whole compass.
    """

    part: str
    path: str
    value: str | Mapping[str, str]
    note: int | None = None


class UnknownField(ValueError):
    """An edit of a part or a field that the case does not have."""

    def __init__(self, text: str, part: str = "", path: str = "") -> None:
        super().__init__(text)
        self.part, self.path = part, path


@dataclass(frozen=True)
class Ground:
    """What edits are laid over.

    Attributes
    ----------
    text : str
        Of the case's file.
    naming : {"scientific", "trade", "german"}
    fields : mapping of str to sequence of Field
        Of every part, in the order of the file.
    case : Case, optional
        None of a file with defects: a row of one note alone cannot be changed there.
    """

    text: str
    naming: Naming
    fields: Mapping[str, Sequence[Field]]
    case: Case | None = None

    @classmethod
    def of(cls, case: Case) -> Ground:
        """That of a sound case."""
        return cls(case.text, case.naming, {part.name: part.part.fields for part in case.parts}, case)

    @classmethod
    def unsound(cls, text: str, data: Mapping[str, Any]) -> Ground:
        """That of a file with defects, as far as it names its parts."""
        head = data.get("case")
        naming = head.get("note_names") if isinstance(head, dict) else None
        kinds = kinds_by_name(data.get("train"))
        fields = {name: PARTS[kind].fields if kind in PARTS else () for name, kind in kinds.items()}
        return cls(text, naming if naming in NAMINGS else "scientific", fields)


def latest(edits: Sequence[Edit]) -> tuple[Edit, ...]:
    """Edits without those that later ones take the place of: one of the whole compass goes over those of its notes."""
    kept: list[Edit] = []
    for one in edits:
        same = [k for k in kept if (k.part, k.path) == (one.part, one.path)]
        gone = [k for k in same if one.note is None or k.note == one.note]
        kept = [k for k in kept if k not in gone] + [one]
    return tuple(kept)


def key_of(edits: Sequence[Edit]) -> tuple[object, ...]:
    """What is the same of edits that do the same."""
    return tuple(
        (one.part, one.path, one.note, one.value if isinstance(one.value, str) else tuple(one.value.items()))
        for one in latest(edits)
    )


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
    for names, value in _placed(ground, made, edits).items():
        _set(made, names, value)
    return {name: table for name, table in made.items() if name in data or table}


def written(ground: Ground, edits: Sequence[Edit], about: str = "") -> str:
    """The case's text with edits written into it, comments kept.

    Parameters
    ----------
    ground : Ground
    edits : sequence of Edit
    about : str
        A remark before tables that are added.

    Raises
    ------
    UnknownField
        As of `overlaid`.
    keyaction.cases.text.edit.EditProblem
        When the text cannot be changed so.
    """
    data = tomllib.loads(ground.text)
    data.setdefault("notes", {})
    placed = _placed(ground, data, edits)
    text = ground.text
    for index in sorted({int(names[1]) for names in placed if names[0] == "train"}):
        own = {names[2:]: one for names, one in placed.items() if names[:2] == ("train", str(index))}
        cells = [one for one in latest(edits) if one.note is None and one.part == list(ground.fields)[index]]
        text = _in_train(text, index, partial(_set_all, ground, own, cells))
    text = with_values(text, {names: one for names, one in placed.items() if names[0] == "notes"}, about)
    if tomllib.loads(text) != overlaid(ground, tomllib.loads(ground.text), edits):
        raise EditProblem("the text stands in a form that cannot be changed")
    return text


def _set_all(ground: Ground, values: Mapping[Names, Written], edits: Sequence[Edit], piece: str) -> str:
    """One part's text with its values set: those in rows one by one, so that the rows stay as they are written."""
    plain = dict(values)
    for one in edits:
        steps = tuple(one.path.split("."))
        if rows := _row_step(steps):
            names = ("train", *steps[:rows])
            try:
                value = _toml(_field(ground, one)[1], one.value)
                piece = with_cell(piece, names, int(steps[rows]), steps[rows + 1 :], value)
                plain.pop(steps[:rows], None)
            except EditProblem:
                continue  # then the whole list is written anew
    return with_values(piece, {("train", *names): value for names, value in plain.items()})


def _placed(ground: Ground, data: Mapping[str, Any], edits: Sequence[Edit]) -> dict[Names, Written]:
    """Where every edit stands, from the outermost table in; a row of a note has its whole list."""
    keys = _own_keys(ground, data)
    found: dict[Names, Written] = {}
    before: list[tuple[Edit, Field, Written]] = []
    for one in latest(edits):
        index, field = _field(ground, one)
        value, table = _toml(field, one.value), data["train"][index]
        if one.note is None:
            found.update(_in_rows(one, ("train", str(index)), value, table, found))
            for note, key in keys.items():
                own = ("notes", key, one.part)
                there = _at_note(ground, field, value, note)
                found.update(_in_rows(one, own, there, _at(data, own), found, there=True))
            before.append((one, field, value))
            continue
        key = keys.setdefault(one.note, note_name(one.note, ground.naming))
        steps, own = tuple(one.path.split(".")), ("notes", key, one.part)
        rows = _row_step(steps)
        if rows:
            names = (*own, *steps[:rows])
            start = found.get(names) or _moved_rows(ground, one, steps[:rows], table, before)
            found[names] = _with_row(one, start, steps[rows:], value)
        else:
            found[(*own, *steps)] = value
    return found


def _moved_rows(
    ground: Ground, one: Edit, path: Names, table: Mapping[str, Any], before: Sequence[tuple[Edit, Field, Written]]
) -> Written:
    """The rows of a list as a note has them, after earlier edits of the whole compass."""
    found, note = _rows_at(ground, one, path, table), one.note or 0
    for other, field, value in before:
        steps = tuple(other.path.split("."))
        if other.part == one.part and steps[: len(path)] == path and _row_step(steps) == len(path):
            found = _with_row(other, found, steps[len(path) :], _at_note(ground, field, value, note))
    return found


def _row_step(steps: Names) -> int:
    """Where a path has the number of a row; 0 where it has none."""
    return next((i for i, step in enumerate(steps) if step.isdecimal()), 0)


def _own_keys(ground: Ground, data: Mapping[str, Any]) -> dict[int, str]:
    """How the file calls the notes that have values of their own."""
    found = {}
    for key in data.get("notes", {}):
        try:
            found[parse_note(key, ground.naming)] = key
        except NoteProblem:
            continue
    return found


def _field(ground: Ground, one: Edit) -> tuple[int, Field]:
    if one.part not in ground.fields:
        raise UnknownField(f"no part '{one.part}'", one.part)
    field = field_at(ground.fields[one.part], one.path)
    if field is None:
        raise UnknownField(f"{one.part}: no field '{one.path}'", one.part, one.path)
    return list(ground.fields).index(one.part), field


def _toml(field: Field, value: str | Mapping[str, str]) -> Written:
    """A value in the form that TOML gives it."""
    if isinstance(value, Mapping):
        return {key: one if key == "between" else _toml(field, one) for key, one in value.items()}
    found: Written = from_text(field, value)  # type: ignore[assignment]  # text, or what that is of other kinds
    return value if isinstance(found, int) and abs(found) >= 2**63 else found  # TOML has no larger ones


def _in_rows(
    one: Edit, own: Names, value: Written, table: Any, found: Mapping[Names, Written], there: bool = False
) -> dict[Names, Written]:
    """A value under its own names, or in the whole list of its rows; none where it must be `there` and is not."""
    steps = tuple(one.path.split("."))
    rows = _row_step(steps)
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


def _at(table: Any, steps: Names) -> Any:
    """What stands in a table at a path; None where nothing does."""
    for step in steps:
        table = table.get(step) if isinstance(table, Mapping) else None
    return table


def _with_row(one: Edit, rows: Any, steps: Names, value: Written) -> Written:
    """A list of tables with one value of one of them changed."""
    if not isinstance(rows, list) or int(steps[0]) >= len(rows):
        raise UnknownField(f"{one.part}: there is no row {steps[0]} for '{one.path}'", one.part, one.path)
    made = deepcopy(rows)
    table = made[int(steps[0])]
    for step in steps[1:-1]:
        table = table.setdefault(step, {})
    table[steps[-1]] = value
    return made


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


def _cell(rows: Any, number: int, inner: Sequence[str]) -> Any:
    """What the file has in a row for the whole compass; None where it has no such row."""
    return _at(rows[number], tuple(inner)) if isinstance(rows, list) and number < len(rows) else None


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


def _set(data: dict[str, Any], names: Names, value: Written) -> None:
    table: Any = data
    for name in names[:-1]:
        table = table[int(name)] if isinstance(table, list) else table.setdefault(name, {})
        if not isinstance(table, dict | list):
            raise UnknownField(f"{'.'.join(names)}: stands in the file in a form that cannot be changed")
    table[names[-1]] = value


def _in_train(text: str, index: int, change: Callable[[str], str]) -> str:
    """Change one of the [[train]] tables, the tables within it included."""
    starts = [found.start() for found in _ONE.finditer(text)]
    if index >= len(starts):
        raise EditProblem("[[train]] stands in a form that cannot be changed; write each part under a header")
    begin = starts[index]
    end = next(
        (found.start() for found in _NEXT.finditer(text, begin + 1) if not _INNER.match(text, found.start())), len(text)
    )
    made = change(_ONE.sub("[train]", text[begin:end], count=1))
    return text[:begin] + made.replace("[train]", "[[train]]", 1) + text[end:]
