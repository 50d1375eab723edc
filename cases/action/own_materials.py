"""The materials that a case brings along."""

from __future__ import annotations

from collections.abc import Mapping

from keyaction.cases.text.defects import Defect, Place, shown
from keyaction.models.materials.library import Library, MaterialDefect
from keyaction.models.materials.reading import KINDS


def own_materials(place: Place, tables: Mapping[str, object], library: Library) -> Library:
    """The library with the case's [materials.NAME] tables; defects go into the log of `place`."""
    defects: list[MaterialDefect] = []
    merged = library.merged(_with_kind(place, tables), place.file, defects)
    place.log.extend(_of_case(defect, tables) for defect in defects)
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


def _of_case(found: MaterialDefect, tables: Mapping[str, object]) -> Defect:
    """The defect with the value as the case has it."""
    table = tables.get(found.name)
    value = shown(table[found.field]) if isinstance(table, dict) and found.field in table else ""
    return Defect(found.origin, f"[materials.{found.name}]", found.field, value, found.message)
