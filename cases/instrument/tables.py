"""The tables of an instrument file, each checked by itself."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, cast

from keyaction.cases.action.strokes import NO_NOTE
from keyaction.cases.fields.context import Context, Scope
from keyaction.cases.fields.tables import TableReader
from keyaction.cases.instrument.instrument import Division
from keyaction.cases.text.defects import Place
from keyaction.cases.text.flat import flattened
from keyaction.cases.text.near import hint
from keyaction.models.fields.fields import Field
from keyaction.models.fields.values import Scalar
from keyaction.models.notes import NAMINGS, Naming
from keyaction.models.parts import PARTS

TOP = ("format", "instrument", "climate", "materials", "keyboard", "division", "coupler", "historic")
CLIMATE = ("temperature", "humidity", "atmosphere")
LAYOUT = ("chest", "run", "board", "fan")
"""Tables of a division that go over its case's [layout]."""
RESERVED = ("about",)
"""Names that a result keeps for itself."""
_NAME = re.compile(r"[A-Za-z0-9]([A-Za-z0-9-]{0,58}[A-Za-z0-9])?")
_INSTRUMENT = (
    Field("title", "what the instrument is", kind="text", varies=False),
    Field("description", "more about it", kind="text", varies=False, default=""),
    Field(
        "note_names",
        "how notes are written, here and in all cases",
        kind="choice",
        choices=NAMINGS,
        varies=False,
        default="scientific",
    ),
)
_DIVISION = (
    Field("case", "an action case beside the instrument, or a shipped one", kind="text", varies=False),
    Field("keyboard", "on which it is played", kind="text", varies=False),
    Field("enclosed", "whether it stands in a box with shutters", kind="flag", varies=False, default=False),
    Field("shares", "the division on whose chest its grooves stand", kind="text", varies=False, default=""),
)


@dataclass(frozen=True)
class Entry:
    """A [[division]] table: where it stands in the file, its case's name, what goes over the case."""

    name: str
    place: Place
    case: str
    division: Division
    settings: tuple[tuple[str, Scalar], ...]
    tables: Mapping[str, Mapping[str, Any]]


def check_top(place: Place, data: Mapping[str, object]) -> None:
    """Record every name at the top of the file that is not known."""
    for key, value in data.items():
        if key not in TOP:
            table, field = (f"[{key}]", "") if isinstance(value, dict | list) else ("", key)
            place.at(table).defect(field, f"unknown table or field of an instrument{hint(key, TOP)}")


def read_head(context: Context, place: Place, table: Mapping[str, object], stem: str) -> tuple[str, str, Naming]:
    """Title, description and naming; without a title the file's own name."""
    found = _values(context, place.at("[instrument]"), _INSTRUMENT, table)
    naming = cast(Naming, found.get("note_names", "scientific"))
    return str(found.get("title", stem)), str(found.get("description", "")), naming


def read_climate(context: Context, place: Place, table: Mapping[str, object]) -> dict[str, Scalar]:
    """The fields of [climate] as they are written, those that are sound."""
    fields = tuple(field for field in PARTS["box"].fields if field.name in CLIMATE)
    found = _values(context, place.at("[climate]"), fields, table)
    return {name: cast(Scalar, table[name]) for name in table if name in found}


def rows(place: Place, data: Mapping[str, object], name: str) -> list[tuple[str, Place, dict[str, Any]]]:
    """The [[keyboard]] or [[division]] tables by their names; those without a sound one are recorded."""
    value = data.get(name, [])
    if not isinstance(value, list) or not all(isinstance(row, dict) for row in value):
        place.at(f"[[{name}]]").defect(
            "", f"each {name} needs a table of its own, headed [[{name}]] in double brackets"
        )
        return []
    if not value:
        place.at(f"[[{name}]]").defect("", f"missing; an instrument has one {name} at least")
    found: dict[str, tuple[str, Place, dict[str, Any]]] = {}
    for number, row in enumerate(value, 1):
        title = row.get("name")
        here = place.at(f"[[{name}]] {title if isinstance(title, str) else number}")
        if wrong := _wrong_name(name, title, found):
            here.defect("name", wrong, *([title] if "name" in row else []))
        else:
            found[title.lower()] = title, here, {key: one for key, one in row.items() if key != "name"}
    return list(found.values())


def _wrong_name(kind: str, name: object, before: Mapping[str, tuple[str, Place, dict[str, Any]]]) -> str:
    """Why a keyboard or division cannot be called that; empty if it can."""
    if name is None:
        return f'missing; each {kind} has a name of its own, such as "great", "II" or "pedal"'
    if not isinstance(name, str) or not _NAME.fullmatch(name):
        return "a name is of letters, digits and hyphens between them, 60 at most, such as great, II or pedal-left"
    if kind == "division" and name.lower() in RESERVED:
        return "a result keeps this name for itself; choose another"
    if name.lower() in before:
        return f"named twice; small and capital letters are alike: '{before[name.lower()][0]}' is there already"
    return ""


def read_division(context: Context, name: str, place: Place, row: Mapping[str, Any]) -> Entry:
    """A [[division]] table without its name; defects go into the log of `place`."""
    known = [*(field.name for field in _DIVISION), "set", *LAYOUT]
    for key in row:
        if key not in known:
            place.defect(key, f"unknown field of a division{hint(key, known)}", row[key])
    plain = {key: value for key, value in row.items() if key in known and key != "set" and key not in LAYOUT}
    found = _values(context, place, _DIVISION, plain)
    for needed in ("case", "keyboard"):
        if needed not in row or row[needed] == "":
            place.defect(needed, f"missing; {next(one.doc for one in _DIVISION if one.name == needed)}")
    tables = {key: row[key] for key in LAYOUT if key in row}
    for key, value in tables.items():
        if not isinstance(value, dict):
            place.defect(key, f"a table is needed: [division.{key}]", value)
        elif key == "chest" and "divisions" in value:
            told = 'who stands on this chest is said by the other division: shares = "NAME" there'
            place.defect("chest.divisions", told, value["divisions"])
    division = Division(str(found.get("keyboard", "")), bool(found.get("enclosed")), str(found.get("shares", "")))
    return Entry(
        name,
        place,
        str(found.get("case", "")),
        division,
        tuple(_settings(place, row.get("set", {}))),
        {key: value for key, value in tables.items() if isinstance(value, dict)},
    )


def _settings(place: Place, table: object) -> list[tuple[str, Scalar]]:
    """The values of `set`, by field of the case."""
    if not isinstance(table, dict):
        place.defect("set", 'a table is needed: { "box.pressure" = "80 mmH2O" }', table)
        return []
    found: list[tuple[str, Scalar]] = []
    for path, value in flattened(table):
        if isinstance(value, str | int | float):
            found.append((path, value))
        else:
            place.defect(f"set.{path}", "one value is needed", value)
    return found


def _values(
    context: Context, place: Place, fields: Sequence[Field], table: Mapping[str, object]
) -> dict[str, Scalar | bool]:
    courses = TableReader(context, Scope((NO_NOTE,), "instrument", fixed=True), place).read(fields, table).courses
    return {path: course[NO_NOTE].value for path, course in courses.items()}
