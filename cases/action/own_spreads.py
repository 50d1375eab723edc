"""The table [spreads]: how uncertain figures are, where a case or a study says so itself."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import NamedTuple

from keyaction.cases.action.own_materials import property_of
from keyaction.cases.fields.tables import field_at, paths
from keyaction.cases.text.defects import BadValue, Place
from keyaction.cases.text.near import hint
from keyaction.models.fields.fields import Field
from keyaction.models.materials.library import Library
from keyaction.models.spreads.table import FORMS, MEASURES, Size, Spread, read_size
from keyaction.models.units.quantity import UnitProblem

TABLE = "[spreads]"
KEYS = ("common", "note", "form", "source")
_MATERIALS = "materials"
_NEEDED = '{ common = "3 %", note = "5 %" } is needed: what all notes share, and what each has of its own'


class Reach(NamedTuple):
    """What a spread may be said of in one part: its fields, and the paths of those that the case gives."""

    fields: Sequence[Field]
    given: Mapping[str, object]


def read_spreads(
    place: Place, table: Mapping[str, object], parts: Mapping[str, Reach], library: Library
) -> dict[str, Spread]:
    """Read the table; defects go into the log of `place`.

    Parameters
    ----------
    place : Place
        The file.
    table : mapping
        As TOML gives it: PART.FIELD or materials.NAME.PROPERTY to `KEYS`.
    parts : mapping of name to Reach
    library : Library

    Returns
    -------
    dict of str to Spread
        By full path, materials under their proper names.
    """
    place, found = place.at(TABLE), dict[str, Spread]()
    for path, value in _leaves(table):
        try:
            full, field = _field(path, parts, library)
        except BadValue as problem:
            place.defect(path, str(problem), value)
            continue
        spread = _spread(place, path, value, field)
        if spread is not None:
            found[full] = spread
    return found


def _leaves(table: Mapping[str, object], prefix: str = "") -> Iterator[tuple[str, object]]:
    """Paths with what is said of each: a table that holds no further table, or no table at all."""
    for key, value in table.items():
        if isinstance(value, dict) and any(isinstance(inner, dict) for inner in value.values()):
            yield from _leaves(value, f"{prefix}{key}.")
        else:
            yield f"{prefix}{key}", value


def _field(path: str, parts: Mapping[str, Reach], library: Library) -> tuple[str, Field]:
    """The full path and the field that is meant.

    Raises
    ------
    BadValue
        If there is none, or it is no measure.
    """
    name, _, inner = path.partition(".")
    if name == _MATERIALS:
        material, field = property_of(library, inner)
        return f"{_MATERIALS}.{material}.{field.name}", field
    if name not in parts:
        raise BadValue(f"unknown part '{name}'{hint(name, [*parts, _MATERIALS])}")
    fields, given = parts[name]
    found = field_at(fields, inner)
    if found is None:
        known = [*given, *(one for one, _ in paths(fields) if "*" not in one)]
        raise BadValue(f"{name} has no field '{inner}'{hint(inner, known)}")
    if found.kind not in MEASURES:
        raise BadValue(f"a {found.kind} has no spread; vary it by [[vary]] in a study")
    return path, found


def _spread(place: Place, path: str, value: object, field: Field) -> Spread | None:
    if not isinstance(value, dict) or not {"common", "note"} & set(value):
        place.defect(path, _NEEDED, value)
        return None
    before = len(place.log)
    for key in value:
        if key not in KEYS:
            place.defect(f"{path}.{key}", f"unknown{hint(key, KEYS)}; allowed: {', '.join(KEYS)}", value[key])
    sizes = {key: _size(place, f"{path}.{key}", value[key], field) for key in ("common", "note") if key in value}
    form, source = value.get("form", "normal"), value.get("source", "")
    if form not in FORMS:
        place.defect(f"{path}.form", f"unknown; allowed: {', '.join(FORMS)}", form)
    if not isinstance(source, str):
        place.defect(f"{path}.source", "a text in quotes is needed", source)
    if len(place.log) > before:
        return None
    none = Size(0.0, True)
    return Spread(sizes.get("common", none), sizes.get("note", none), form, source or "as the case says", "given")


def _size(place: Place, path: str, value: object, field: Field) -> Size:
    try:
        return read_size(value, field)
    except UnitProblem as problem:
        place.defect(path, f"{problem}; or a share, such as '5 %'", value)
        return Size(0.0, True)
