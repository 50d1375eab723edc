"""The materials that a case brings along."""

from __future__ import annotations

import re
from collections.abc import Mapping

from keyaction.cases.text.defects import Defect, Place, shown
from keyaction.models.materials.library import Library
from keyaction.models.materials.reading import KINDS

_LINE = re.compile(r".*?: \[materials\.(?P<name>[^\]]*)\](?: (?P<field>[^:]*))?: (?P<message>.*)", re.DOTALL)


def own_materials(place: Place, tables: Mapping[str, object], library: Library) -> Library:
    """The library with the case's [materials.NAME] tables; defects go into the log of `place`."""
    lines: list[str] = []
    merged = library.merged(_with_kind(place, tables), place.file, lines)
    for line in lines:
        place.log.append(_defect(place.file, line, tables))
    return merged


def _with_kind(place: Place, tables: Mapping[str, object]) -> dict[str, object]:
    """The tables without those whose kind is no text at all, which the library cannot look up."""
    sound: dict[str, object] = {}
    for name, table in tables.items():
        if isinstance(table, dict) and not isinstance(table.get("kind", ""), str):
            message = f"the kind of material is needed, in quotes: {', '.join(KINDS)}"
            place.at(f"[materials.{name}]").defect("kind", message, table["kind"])
        else:
            sound[name] = table
    return sound


def _defect(file: str, line: str, tables: Mapping[str, object]) -> Defect:
    found = _LINE.fullmatch(line)
    if found is None:
        return Defect(file, "[materials]", "", "", line)
    field = found["field"] or ""
    table = tables.get(found["name"])
    value = shown(table[field]) if isinstance(table, dict) and field in table else ""
    return Defect(file, f"[materials.{found['name']}]", field, value, found["message"])
