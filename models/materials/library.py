"""The library of materials: woods, carbon fibre, metals, felts and friction pairs, and a case's own."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from importlib.resources import files
from typing import Any

from keyaction.models.materials.reading import MaterialDefect, TableReader, nearest
from keyaction.models.materials.types import Material, MissingProperty, Property, WireStrength

__all__ = [
    "Library",
    "Material",
    "MaterialDefect",
    "MaterialDefects",
    "MissingProperty",
    "Property",
    "UnknownMaterial",
    "WireStrength",
    "default_library",
]


class UnknownMaterial(ValueError):
    """A name that the library does not hold; the message gives the nearest ones."""


class MaterialDefects(ValueError):
    """Everything that is wrong with a set of material tables; `defects` lists it."""

    def __init__(self, defects: list[MaterialDefect]) -> None:
        super().__init__("\n".join(map(str, defects)))
        self.defects = defects


def _plain(name: str) -> str:
    """Names are compared without regard to case, spaces and underscores."""
    return "-".join(name.strip().lower().replace("_", "-").split())


@dataclass(frozen=True)
class Library:
    """Materials by name, with the other names they go by."""

    materials: Mapping[str, Material]
    aliases: Mapping[str, str]

    def names(self, kind: str | None = None) -> tuple[str, ...]:
        """The proper names in the library, all or those of one kind (``wood``, ``cloth`` ...)."""
        return tuple(name for name, one in self.materials.items() if kind in (None, one.kind))

    def __contains__(self, name: object) -> bool:
        return isinstance(name, str) and (_plain(name) in self.materials or _plain(name) in self.aliases)

    def get(self, name: str, kind: str | None = None) -> Material:
        """Find a material by its name or one of its other names.

        Parameters
        ----------
        name : str
            Upper and lower case, spaces, underscores and hyphens count alike.
        kind : str, optional
            The kind that is wanted (``wood``, ``composite``, ``metal``, ``cloth``, ``friction``).

        Returns
        -------
        Material

        Raises
        ------
        UnknownMaterial
            If there is none of that name, or it is of another kind; the message gives the nearest names.
        """
        plain = _plain(name)
        found = self.materials.get(self.aliases.get(plain, plain))
        if found is None:
            known = [*self.names(kind), *(a for a, to in self.aliases.items() if to in self.names(kind))]
            near = nearest(plain, known, 3)
            hint = f"; nearest: {', '.join(near)}" if near else f"; known: {', '.join(self.names(kind))}"
            raise UnknownMaterial(f"material '{name}' is not known{hint}")
        if kind is not None and found.kind != kind:
            raise UnknownMaterial(
                f"material '{name}' is a {found.kind}; a {kind} is needed: {', '.join(self.names(kind))}"
            )
        return found

    def merged(self, tables: Mapping[str, Any], origin: str, defects: list[MaterialDefect] | None = None) -> Library:
        """Add a case's own materials.

        Parameters
        ----------
        tables : mapping
            Name to table, as read from ``[materials.NAME]``; values are plain texts ("9.9 GPa", with one
            `source` for the table) or rows ``{ value, source, status, spread }``.
        origin : str
            The file's name, for messages.
        defects : list of MaterialDefect, optional
            Takes every defect found; the sound materials are added all the same.

        Returns
        -------
        Library
            A new library; this one is unchanged.

        Raises
        ------
        MaterialDefects
            If something is wrong and no `defects` list was given.
        """
        reader = TableReader(origin)
        added = self._with(tables, reader)
        if reader.defects:
            if defects is None:
                raise MaterialDefects(reader.defects)
            defects.extend(reader.defects)
        return added

    def _with(self, tables: Mapping[str, Any], reader: TableReader) -> Library:
        materials, aliases = dict(self.materials), dict(self.aliases)
        for given, table in tables.items():
            name, before = _plain(given), len(reader.defects)
            material = reader.read(name, table)
            others = reader.aliases(name, table) if isinstance(table, Mapping) else ()
            for other in (name, *map(_plain, others)):
                if other in materials or other in aliases:
                    reader.defect(given, "", f"the name '{other}' is taken; choose another")
            if material is not None and len(reader.defects) == before:
                materials[name] = material
                aliases.update((_plain(other), name) for other in others)
        return Library(materials, aliases)


@lru_cache(maxsize=1)
def default_library() -> Library:
    """The built-in materials, read once from ``materials.toml``.

    Raises
    ------
    MaterialDefects
        If the table itself is wrong.
    """
    text = files("keyaction.models.materials").joinpath("materials.toml").read_text(encoding="utf-8")
    tables = tomllib.loads(text)
    reader = TableReader("materials.toml", tables.pop("sources"))
    library = Library({}, {})._with(tables, reader)
    if reader.defects:
        raise MaterialDefects(reader.defects)
    return library
