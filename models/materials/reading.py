"""Reading material tables (the built-in one and a case's own) with every defect named at once."""

from __future__ import annotations

import difflib
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from keyaction.models.materials.types import Material, Property, WireStrength
from keyaction.models.units.quantity import UnitProblem, format_value, parse_quantity

STATUSES = ("read", "second-hand", "from memory", "derived", "common practice", "given")


@dataclass(frozen=True)
class PropertyField:
    """A property that materials may have: SI unit, kind in words, and the believable range (SI)."""

    unit: str
    kind: str | None
    low: float
    high: float
    of_wood: bool = False
    """Whether wood alone may have it."""


PROPERTY_FIELDS: Mapping[str, PropertyField] = {
    "density": PropertyField("kg/m^3", None, 50.0, 25_000.0),
    "E": PropertyField("Pa", "modulus", 1e6, 1e12),
    "E_flexural": PropertyField("Pa", "modulus", 1e6, 1e12),
    "G": PropertyField("Pa", "modulus", 1e5, 5e11),
    "strength": PropertyField("Pa", "stress", 1e5, 1e10),
    "thermal_expansion": PropertyField("1/K", None, -1e-5, 1e-3),
    "specific_gravity": PropertyField("1", None, 0.05, 1.5, of_wood=True),
    "shrinkage_radial": PropertyField("1", "share", 0.0, 0.2, of_wood=True),
    "shrinkage_tangential": PropertyField("1", "share", 0.0, 0.25, of_wood=True),
    "shrinkage_longitudinal": PropertyField("1", "share", 0.0, 0.02, of_wood=True),
    "movement_radial": PropertyField("1", None, 0.0, 0.01, of_wood=True),
    "movement_tangential": PropertyField("1", None, 0.0, 0.01, of_wood=True),
    "stiffness": PropertyField("Pa", "stress", 1e2, 1e10),
    "alpha": PropertyField("s/m", None, 0.0, 20.0),
    "coefficient": PropertyField("1", None, 0.0, 2.0),
    "static_coefficient": PropertyField("1", None, 0.0, 2.0),
}

_WOOD_EXTRA = tuple(name for name, rule in PROPERTY_FIELDS.items() if rule.of_wood)

#: Kind of material: the properties it must have, and those it may have.
KINDS: Mapping[str, tuple[tuple[str, ...], tuple[str, ...]]] = {
    "wood": (("density", "E"), ("G", "E_flexural", "strength", "thermal_expansion", *_WOOD_EXTRA)),
    "composite": (("density", "E"), ("G", "E_flexural", "strength", "thermal_expansion")),
    "metal": (("density", "E"), ("G", "strength", "thermal_expansion")),
    "cloth": (("stiffness", "alpha"), ("density",)),
    "friction": (("coefficient",), ("static_coefficient",)),
}

_HEAD = ("kind", "description", "aliases", "local", "source", "status", "spread")
_ROW = ("value", "source", "status", "spread", "others")


def nearest(name: str, known: list[str] | tuple[str, ...], count: int = 1) -> list[str]:
    """The known names most like `name`, best first."""
    return difflib.get_close_matches(name, known, n=count, cutoff=0.5)


def _suggest(name: str, known: tuple[str, ...]) -> str:
    near = nearest(name, known)
    return f"; did you mean '{near[0]}'?" if near else f"; known: {', '.join(known)}"


@dataclass(frozen=True)
class MaterialDefect:
    """What is wrong with one material table.

    Parameters
    ----------
    origin : str
        The file's name.
    name : str
        The material's.
    field : str
        Dotted path in its table; empty for the whole table.
    message : str
        What is wrong and what is allowed.
    """

    origin: str
    name: str
    field: str
    message: str

    def __str__(self) -> str:
        where = f"[materials.{self.name}]" + (f" {self.field}" if self.field else "")
        return f"{self.origin}: {where}: {self.message}"


@dataclass
class TableReader:
    """Reads material tables of one origin (a file's name) and collects what is wrong with them.

    `sources` maps short keys to full citations; a source text that is no key stands for itself.
    """

    origin: str
    sources: Mapping[str, str] = field(default_factory=dict)
    defects: list[MaterialDefect] = field(default_factory=list)

    def read(self, name: str, table: Mapping[str, Any]) -> Material | None:
        """Read one material; None, with the reasons in `defects`, if anything is wrong."""
        before = len(self.defects)
        if not isinstance(table, Mapping):
            self.defect(name, "", "is not a table; write [materials." + name + "] with kind, E, density ...")
            return None
        kind = table.get("kind")
        if not isinstance(kind, str) or kind not in KINDS:
            self.defect(name, "kind", f"{kind!r} is not known; one of {', '.join(KINDS)}")
            return None
        required, optional = KINDS[kind]
        allowed = (*required, *optional)
        extra = ("wire_strength",) if kind == "metal" else ()
        for key in table:
            if key not in (*_HEAD, *allowed, *extra):
                self.defect(name, key, f"is not a property of a {kind}" + _suggest(key, allowed))
        for key in required:
            if key not in table:
                self.defect(name, key, f"is missing; a {kind} needs {' and '.join(required)}")
        properties: dict[str, Property] = {}
        for key in allowed:
            found = self._property(name, key, table) if key in table else None
            if found is not None:
                properties[key] = found
        wire = tuple(row for row in self._wire(name, table) if row is not None)
        if len(self.defects) > before:
            return None
        return Material(name, kind, str(table.get("description", "")), properties, wire)

    def names(self, name: str, table: Mapping[str, Any], key: str = "aliases") -> tuple[str, ...]:
        """The other names of a material: ``aliases``, which it answers to, or ``local`` ones, which are hints."""
        given = table.get(key, [])
        named = isinstance(given, list) and all(isinstance(one, str) and one.strip() for one in given)
        if not named:
            self.defect(name, key, "is not a list of names")
            return ()
        return tuple(given)

    def defect(self, name: str, key: str, problem: str) -> None:
        """Record what is wrong with a material's field, or with its whole table if `key` is empty."""
        self.defects.append(MaterialDefect(self.origin, name, key, problem))

    def _property(self, name: str, key: str, table: Mapping[str, Any]) -> Property | None:
        row = self._row(name, key, table)
        rule = PROPERTY_FIELDS[key]
        if row is None:
            return None
        value = self._quantity(name, key, row["value"], rule.unit, rule.kind)
        if value is not None and not rule.low <= value <= rule.high:
            low, high = (format_value(end, rule.unit, kind=rule.kind) for end in (rule.low, rule.high))
            self.defect(name, key, f"{row['value']} is out of range; {low} to {high} is allowed")
        source, status = self._source(name, key, row)
        spread = self._spread(name, key, row)
        others = row.get("others", "")
        if not isinstance(others, str):
            self.defect(name, key, "others is what other sources say, as a text in quotes")
        return None if value is None else Property(value, rule.unit, source, status, spread, str(others))

    def _row(self, name: str, key: str, table: Mapping[str, Any]) -> dict[str, Any] | None:
        """Bring a plain value and a full row to one form; the table's own source and spread fill the gaps."""
        given = table[key]
        row = dict(given) if isinstance(given, Mapping) else {"value": given}
        for inner in row:
            if inner not in _ROW:
                self.defect(name, key, f"'{inner}' is not a field of a property" + _suggest(inner, _ROW))
        if "value" not in row:
            self.defect(name, key, 'has no value; write e.g. { value = "9.9 GPa", source = "..." }')
            return None
        common = {inner: table[inner] for inner in ("source", "status", "spread") if inner in table}
        return {**common, **row}

    def _quantity(self, name: str, key: str, given: Any, unit: str, kind: str | None = None) -> float | None:
        try:
            return parse_quantity(given, unit, kind)
        except UnitProblem as problem:
            self.defect(name, key, str(problem))
            return None

    def _source(self, name: str, key: str, row: Mapping[str, Any]) -> tuple[str, str]:
        source, status = row.get("source"), row.get("status", "given")
        if not isinstance(source, str) or not source.strip():
            self.defect(name, key, 'has no source; say where the figure comes from, or "common practice"')
            source = ""
        if status not in STATUSES:
            self.defect(name, key, f"status {status!r} is not known; one of {', '.join(STATUSES)}")
        return self.sources.get(source, source), str(status)

    def _spread(self, name: str, key: str, row: Mapping[str, Any]) -> float | None:
        if "spread" not in row:
            return None
        spread = self._quantity(name, f"{key}.spread", row["spread"], "1", "share")
        if spread is not None and not 0.0 <= spread <= 2.0:
            self.defect(name, f"{key}.spread", f"{row['spread']} is out of range; 0 % to 200 % is allowed")
        return spread

    def _wire(self, name: str, table: Mapping[str, Any]) -> list[WireStrength | None]:
        rows = table.get("wire_strength", [])
        if not isinstance(rows, list):
            self.defect(name, "wire_strength", "is not a list of rows { from, to, A, m, source }")
            return []
        return [self._wire_row(name, f"wire_strength.{i}", row) for i, row in enumerate(rows)]

    def _wire_row(self, name: str, key: str, row: Any) -> WireStrength | None:
        fields = ("from", "to", "A", "m")
        if not isinstance(row, Mapping) or any(inner not in row for inner in fields):
            self.defect(name, key, "needs from, to, A and m")
            return None
        units = ("m", "m", "Pa", "1")
        values = [
            self._quantity(name, f"{key}.{inner}", row[inner], unit, "stress" if inner == "A" else None)
            for inner, unit in zip(fields, units, strict=True)
        ]
        source, status = self._source(name, key, row)
        low, high, strength, power = values
        if low is None or high is None or strength is None or power is None:
            return None
        if not 0.0 < low < high:
            self.defect(name, key, f"from {row['from']} to {row['to']} is not a range of diameters")
        return WireStrength(low, high, strength / 1e6, power, source, status)
