"""The library of materials: woods, carbon fibre, metals, felts and friction pairs, and a case's own."""

from __future__ import annotations

import tomllib
import unicodedata
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
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


_MANY = 16
"""Names that a message lists one by one."""


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


def _folded(name: str) -> str:
    """A name of another language without its accents: épicéa as epicea, Weißtanne as weisstanne."""
    bare = unicodedata.normalize("NFKD", _plain(name).casefold())
    return "".join(letter for letter in bare if not unicodedata.combining(letter))


@dataclass(frozen=True)
class Library:
    """Materials by name.

    `aliases` are the other names that they answer to; `local` those of other languages, without accents, each with the
    materials that may be meant: a hint for people, never a choice made for them.
    """

    materials: Mapping[str, Material]
    aliases: Mapping[str, str]
    local: Mapping[str, tuple[str, ...]] = field(default_factory=dict)

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
            raise UnknownMaterial(f"material '{name}' is not known{self._hint(name, kind)}")
        if kind is not None and found.kind != kind:
            raise UnknownMaterial(
                f"material '{name}' is a {found.kind}; a {kind} is needed: {', '.join(self.names(kind))}"
            )
        return found

    def also_called(self, name: str) -> tuple[str, ...]:
        """The other names that a material answers to, by its proper name."""
        return tuple(alias for alias, proper in self.aliases.items() if proper == name)

    def namesakes(self, name: str) -> tuple[str, ...]:
        """Other materials that the same word could mean: of "spruce", those called something-spruce.

        Parameters
        ----------
        name : str
            A name that the library knows, as somebody wrote it.
        """
        plain = _plain(name)
        if plain in self.materials:
            return ()
        return tuple(other for other in self.materials if f"-{plain}-" in f"-{other}-" and other != self.aliases[plain])

    def _hint(self, name: str, kind: str | None) -> str:
        """The end of a message about an unknown name: what it means elsewhere, or what is spelled like it."""
        known = self.names(kind)
        meant = [one for one in self.local.get(_folded(name), ()) if one in known]
        if meant:
            return f"; did you mean {' or '.join(map(repr, meant))}?"
        near = list(dict.fromkeys(self._spelled_like(_plain(name), known)))[:3]
        if near:
            return f"; nearest: {', '.join(near)}"
        return f"; known: {', '.join(known)}" if len(known) <= _MANY else "; 'keyaction materials' lists what there is"

    def _spelled_like(self, plain: str, known: tuple[str, ...]) -> Iterator[str]:
        """Names and other names spelled like one, best first; those of other languages as the name here."""
        own = {one: one for one in (*known, *(alias for alias, to in self.aliases.items() if to in known))}
        foreign = {word: to for word, names in self.local.items() for to in names if to in known}
        spelled = {**foreign, **own}
        yield from (spelled[word] for word in nearest(_folded(plain), list(spelled), 3))

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
        materials, aliases, local = dict(self.materials), dict(self.aliases), dict(self.local)
        for given, table in tables.items():
            name, before = _plain(given), len(reader.defects)
            material = reader.read(name, table)
            others, foreign = (
                reader.names(name, table, key) if isinstance(table, Mapping) else () for key in ("aliases", "local")
            )
            for other in (name, *map(_plain, others)):
                if other in materials or other in aliases:
                    reader.defect(given, "", f"the name '{other}' is taken; choose another")
            if material is not None and len(reader.defects) == before:
                materials[name] = material
                aliases.update((_plain(other), name) for other in others)
                for word in map(_folded, foreign):
                    local[word] = (*local.get(word, ()), name)
        return Library(materials, aliases, local)


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
