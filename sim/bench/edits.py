"""Fields that were moved on the bench: laid over the tables of a case file, and written into its text."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping, Sequence
from copy import deepcopy
from dataclasses import dataclass
from typing import Any

from keyaction.cases.action.case import Case, PartSpec
from keyaction.cases.fields.kinds import from_text
from keyaction.cases.fields.tables import field_at
from keyaction.cases.text.edit import EditProblem, with_values
from keyaction.cases.text.written import Names, Written
from keyaction.models.fields.fields import Field
from keyaction.models.fields.values import Given
from keyaction.models.notes import NoteProblem, note_name, parse_note

_HEADER = re.compile(r"^\[\[?\s*train\b[^\]]*\]?\]", re.MULTILINE)
_NEXT = re.compile(r"^\[", re.MULTILINE)
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


def latest(edits: Sequence[Edit]) -> tuple[Edit, ...]:
    """Edits without those that later ones take the place of: one of the whole compass goes over those of its notes."""
    kept: list[Edit] = []
    for one in edits:
        same = [k for k in kept if (k.part, k.path) == (one.part, one.path)]
        gone = [k for k in same if one.note is None or k.note == one.note]
        kept = [k for k in kept if k not in gone] + [one]
    return tuple(kept)


def overlaid(case: Case, data: Mapping[str, Any], edits: Sequence[Edit]) -> dict[str, Any]:
    """The tables of the case's file with edits laid over them; the tables themselves stay as they are.

    Parameters
    ----------
    case : Case
        As its file has it.
    data : mapping
        Tables of that file.
    edits : sequence of Edit

    Raises
    ------
    UnknownField
        When the case has no such part, or the part no such field.
    """
    made = dict(data)
    made["train"] = deepcopy(data["train"])
    made["notes"] = deepcopy(data.get("notes", {}))
    for names, value in _placed(case, made, edits).items():
        _set(made, names, value)
    if not made["notes"]:
        del made["notes"]
    return made


def written(case: Case, edits: Sequence[Edit], about: str = "") -> str:
    """The case's text with edits written into it, comments kept.

    Parameters
    ----------
    case : Case
        As its file has it.
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
    data = tomllib.loads(case.text)
    data.setdefault("notes", {})
    placed = _placed(case, data, edits)
    text = case.text
    for index in sorted({int(names[1]) for names in placed if names[0] == "train"}):
        own = {names[2:]: one for names, one in placed.items() if names[:2] == ("train", str(index))}
        text = _in_train(text, index, own)
    return with_values(text, {names: one for names, one in placed.items() if names[0] == "notes"}, about)


def _placed(case: Case, data: Mapping[str, Any], edits: Sequence[Edit]) -> dict[Names, Written]:
    """Where every edit stands, from the outermost table in; a row of a note has its whole list."""
    keys = _own_keys(case, data)
    found: dict[Names, Written] = {}
    for one in latest(edits):
        index, part, field = _field(case, one)
        steps = tuple(one.path.split("."))
        value = _toml(field, one.value)
        if one.note is None:
            found.update(_in_rows(("train", str(index)), steps, value, data["train"][index], found))
            continue
        own = ("notes", keys.get(one.note, note_name(one.note, case.naming)), part.name)
        rows = next((i for i, step in enumerate(steps) if step.isdecimal()), 0)
        if rows:
            names = (*own, *steps[:rows])
            start = found.get(names) or _rows_at(part, steps[:rows], one.note)
            found[names] = _with_row(start, steps[rows:], value)
        else:
            found[(*own, *steps)] = value
    return found


def _own_keys(case: Case, data: Mapping[str, Any]) -> dict[int, str]:
    """How the file calls the notes that have values of their own."""
    found = {}
    for key in data.get("notes", {}):
        try:
            found[parse_note(key, case.naming)] = key
        except NoteProblem:
            continue
    return found


def _field(case: Case, one: Edit) -> tuple[int, PartSpec, Field]:
    for index, part in enumerate(case.parts):
        if part.name == one.part:
            field = field_at(part.part.fields, one.path)
            if field is None:
                raise UnknownField(f"{one.part}: no field '{one.path}'")
            return index, part, field
    raise UnknownField(f"no part '{one.part}'")


def _toml(field: Field, value: str | Mapping[str, str]) -> Written:
    """A value in the form that TOML gives it."""
    if isinstance(value, Mapping):
        return {key: one if key == "between" else _toml(field, one) for key, one in value.items()}
    return from_text(field, value)  # type: ignore[return-value]  # text, or what that is of a number, count or flag


def _in_rows(
    own: Names, steps: Names, value: Written, table: Mapping[str, Any], found: Mapping[Names, Written]
) -> dict[Names, Written]:
    """A value of the whole compass: under its own names, or as the whole list of rows that it stands in."""
    rows = next((i for i, step in enumerate(steps) if step.isdecimal()), 0)
    if not rows:
        return {(*own, *steps): value}
    names = (*own, *steps[:rows])
    start: Any = found.get(names)
    if start is None:
        start = table
        for step in steps[:rows]:
            start = start[step]
    return {names: _with_row(start, steps[rows:], value)}


def _with_row(rows: Any, steps: Names, value: Written) -> Written:
    """A list of tables with one value of one of them changed."""
    made = deepcopy(rows)
    if int(steps[0]) >= len(made):
        raise UnknownField(f"there is no row {steps[0]}")
    table = made[int(steps[0])]
    for step in steps[1:-1]:
        table = table.setdefault(step, {})
    table[steps[-1]] = value
    return made  # type: ignore[no-any-return]


def _rows_at(part: PartSpec, path: Names, note: int) -> Written:
    """The rows of a list as a note has them, without defaults."""
    prefix = f"{'.'.join(path)}."
    rows: dict[int, dict[str, Any]] = {}
    for name, course in part.fields.items():
        given = course.get(note)
        field = field_at(part.part.fields, name)
        if name.startswith(prefix) and given is not None and field is not None and not given.default:
            number, *inner = name[len(prefix) :].split(".")
            table = rows.setdefault(int(number), {})
            for step in inner[:-1]:
                table = table.setdefault(step, {})
            table[inner[-1]] = as_text(field, given)
    if not rows:
        raise UnknownField(f"{part.name}: '{prefix[:-1]}' has no rows at this note")
    return [rows[number] for number in sorted(rows)]


def as_text(field: Field, given: Given) -> Written:
    """A value as a case file would have it, in SI units."""
    value = given.written or given.value
    if field.kind == "quantity" and isinstance(value, int | float):
        return f"{value:.12g} {field.unit}".strip()
    return value


def _set(data: dict[str, Any], names: Names, value: Written) -> None:
    table: Any = data
    for name in names[:-1]:
        table = table[int(name)] if isinstance(table, list) else table.setdefault(name, {})
        if not isinstance(table, dict | list):
            raise UnknownField(f"{'.'.join(names)}: stands in the file in a form that cannot be changed")
    table[names[-1]] = value


def _in_train(text: str, index: int, values: Mapping[Names, Written]) -> str:
    """Set values in one of the [[train]] tables, the tables within it included."""
    starts = [found.start() for found in _ONE.finditer(text)]
    if index >= len(starts):
        raise EditProblem("[[train]] stands in a form that cannot be changed; write each part under a header")
    begin = starts[index]
    end = next(
        (found.start() for found in _NEXT.finditer(text, begin + 1) if not _inner(text, found.start())), len(text)
    )
    piece = _ONE.sub("[train]", text[begin:end], count=1)
    made = with_values(piece, {("train", *names): value for names, value in values.items()})
    return text[:begin] + made.replace("[train]", "[[train]]", 1) + text[end:]


def _inner(text: str, at: int) -> bool:
    """Whether a header belongs to the part before it: ``[train.pin]``, no ``[[train]]``; lists go on over lines."""
    found = _HEADER.match(text, at)
    return (found is None and text[at] != "[") or (found is not None and not text.startswith("[[", at))
