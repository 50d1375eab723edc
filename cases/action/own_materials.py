"""The materials that a case brings along."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from keyaction.cases.text.defects import BadValue, Defect, Place, shown
from keyaction.cases.text.near import hint
from keyaction.models.fields.fields import Field
from keyaction.models.materials.library import Library, MaterialDefect, UnknownMaterial
from keyaction.models.materials.reading import KINDS, PROPERTY_FIELDS


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


def property_of(library: Library, inner: str) -> tuple[str, Field]:
    """The material's proper name and the property, as a field, that "sitka-spruce.E" names.

    Raises
    ------
    BadValue
        If there is none; the message gives the nearest name.
    """
    name, _, what = inner.rpartition(".")
    if not name:
        raise BadValue("write materials.NAME.PROPERTY, for instance materials.sitka-spruce.E")
    try:
        material = library.get(name)
    except UnknownMaterial as problem:
        raise BadValue(str(problem)) from None
    if what not in material:
        raise BadValue(f"{material.name} has no '{what}'{hint(what, material.properties)}")
    return material.name, property_field(material.name, what)


def property_field(material: str, what: str) -> Field:
    """A property of a material as a field."""
    rule = PROPERTY_FIELDS[what]
    plain = rule.unit == "1"
    return Field(
        what,
        f"{what} of {material}",
        "" if plain else rule.unit,
        "number" if plain else "quantity",
        low=rule.low,
        high=rule.high,
        varies=False,
    )


def with_properties(library: Library, values: Mapping[tuple[str, str], float], source: str | None = None) -> Library:
    """The library with other values (SI) of some properties; with `source`, that is where they now come from."""
    materials = dict(library.materials)
    for (name, what), value in values.items():
        one = materials[name]
        found = replace(one.properties[what], value=value)
        if source is not None:
            found = replace(found, source=source, status="given", spread=None)
        materials[name] = replace(one, properties={**one.properties, what: found})
    return replace(library, materials=materials)
