"""[[member]], [rail] and [season] as they are written, before settings from outside and before anything is compared."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from keyaction.cases.fields.context import Context, Scope
from keyaction.cases.fields.tables import TableReader
from keyaction.cases.seasons.fields import CARRIES, MEMBER_FIELDS, RAIL_FIELDS, SEASON_FIELDS
from keyaction.cases.seasons.ground import TableRead
from keyaction.cases.text.defects import Place
from keyaction.cases.text.near import hint
from keyaction.models.fields.fields import Field
from keyaction.models.frame.member import FLOOR

MEMBER, RAIL, SEASON = "member", "rail", "season"
TABLES = (MEMBER, RAIL, SEASON)
"""Top-level names of a case that speak of its seasons."""
_NAME = re.compile(r"[A-Za-z][A-Za-z0-9-]{0,39}")
_TAKEN = (FLOOR, RAIL, SEASON, "strokes", "materials")
"""Names that mean something else, here or to settings from outside."""


@dataclass(frozen=True)
class FrameDraft:
    """What a case says of its seasons, field by field."""

    members: Sequence[TableRead]
    rail: TableRead | None
    season: TableRead | None

    @property
    def tables(self) -> list[TableRead]:
        """All of them."""
        return [*self.members, *(one for one in (self.rail, self.season) if one)]


def read_drafts(context: Context, place: Place, data: Mapping[str, object], parts: Sequence[str]) -> FrameDraft | None:
    """Read the tables of a case's seasons; None where it has none of them.

    Parameters
    ----------
    context : Context
    place : Place
        The file; takes defects.
    data : mapping
        The whole file.
    parts : sequence of str
        Names of the train's parts, which no member may have.
    """
    if not any(name in data for name in TABLES):
        return None
    members = _members(context, place, data[MEMBER], parts) if MEMBER in data else []
    rail = _single(context, place, data, RAIL, RAIL_FIELDS, (CARRIES,))
    season = _single(context, place, data, SEASON, SEASON_FIELDS)
    return FrameDraft(members, rail, season)


def _members(context: Context, place: Place, value: object, parts: Sequence[str]) -> list[TableRead]:
    """Each under a name of its own; those without one are recorded."""
    if not isinstance(value, list) or not all(isinstance(row, dict) for row in value):
        told = "each member needs a table of its own, headed [[member]] in double brackets"
        place.at("[[member]]").defect("", told)
        return []
    found: dict[str, TableRead] = {}
    for number, row in enumerate(value, 1):
        name = row.get("name")
        called = name if isinstance(name, str) and name else f"number {number}"
        here = place.at(f"[[member]] {called}")
        if wrong := _wrong_name(name, found, parts):
            here.defect("name", wrong, *([name] if "name" in row else []))
        key = f"number {number}" if wrong else called
        found[key] = _read(context, here, MEMBER_FIELDS, row, (CARRIES,), key)
    return list(found.values())


def _wrong_name(name: object, before: Mapping[str, TableRead], parts: Sequence[str]) -> str:
    """Why a member cannot be called that; empty if it can."""
    if name is None:
        return 'missing; each member has a name, such as "posts" or "key-frame"'
    if not isinstance(name, str) or not _NAME.fullmatch(name):
        return "a name begins with a letter and is of letters, digits and hyphens, 40 at most, such as key-frame"
    if name in before:
        return "named twice; names of members must differ"
    if name in parts:
        return "a part of the train has this name; names must differ"
    return f"this name means something else; others than {', '.join(_TAKEN)} are free" if name in _TAKEN else ""


def _single(
    context: Context,
    place: Place,
    data: Mapping[str, object],
    name: str,
    fields: Sequence[Field],
    beside: Sequence[str] = (),
) -> TableRead | None:
    if name not in data:
        return None
    value, here = data[name], place.at(f"[{name}]")
    if not isinstance(value, dict):
        one = "; an action case has one rail" if name == RAIL and isinstance(value, list) else ""
        here.defect("", f"a table is needed: [{name}]{one}", value)
        return None
    return _read(context, here, fields, value, beside, name)


def _read(
    context: Context,
    place: Place,
    fields: Sequence[Field],
    data: Mapping[str, object],
    beside: Sequence[str],
    name: str,
) -> TableRead:
    """Read a table, and record what is unknown in it; `beside` stand in it and are read elsewhere."""
    known = [*(one.name for one in fields), *beside]
    for key, value in data.items():
        if key not in known:
            place.defect(key, f"unknown field{hint(key, known)}", value)
    plain = {key: value for key, value in data.items() if key in known and key not in beside}
    reading = TableReader(context, Scope(context.compass.notes, "case"), place).read(fields, plain)
    return TableRead(place.table, name, fields, reading.courses, data)


def names_of(place: Place, read: TableRead, needed: str = "") -> list[str]:
    """The names in a table's `carries`; what is not a list of names, or names one twice, is recorded."""
    if CARRIES not in read.data:
        if needed:
            place.at(read.table).defect(CARRIES, f"missing; {needed}")
        return []
    value = read.data[CARRIES]
    if not isinstance(value, list) or not all(isinstance(one, str) for one in value):
        place.at(read.table).defect(CARRIES, 'a list of names is needed, such as ["roller", "pallet"]', value)
        return []
    names = list(dict.fromkeys(value))
    if needed and not names:
        place.at(read.table).defect(CARRIES, f"empty; {needed}")
    for name in names:
        if value.count(name) > 1:
            place.at(read.table).defect(CARRIES, "named twice", name)
    return names
