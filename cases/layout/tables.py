"""The tables under [layout]: which there are, and how one is read."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from keyaction.cases.fields.context import Context, Course, Scope
from keyaction.cases.fields.tables import TableReader
from keyaction.cases.layout.within import Within
from keyaction.cases.text.defects import Defect, Place
from keyaction.cases.text.near import hint
from keyaction.models.fields.fields import Field
from keyaction.models.fields.values import Scalar

TABLES = ("keyboard", "chest", "run", "board", "fan")
WHOLE = 0
"""What a layout says holds for all notes; such courses hold this one entry."""


@dataclass(frozen=True)
class Read:
    """A table that was read: its fields, and the course of each that it has or that has a default."""

    table: str
    fields: Sequence[Field]
    courses: Mapping[str, Course]

    def get(self, path: str) -> Scalar | None:
        """The one value of a field, SI; None where there is none."""
        return self.courses[path][WHOLE].value if path in self.courses else None

    def number(self, path: str, default: float = 0.0) -> float:
        """The one value of a field of numbers; `default` where a defect has been recorded."""
        found = self.get(path)
        return default if found is None else float(found)


def read_table(context: Context, place: Place, fields: Sequence[Field], data: Mapping[str, object]) -> Read:
    """Read a table whose fields have one value each; defects go into the log of `place`."""
    reader = TableReader(context, Scope((WHOLE,), "case", fixed=True), place)
    return Read(place.table, fields, reader.read(fields, data).courses)


def tables_of(place: Place, data: Mapping[str, object], within: Within | None) -> dict[str, dict[str, Any]]:
    """The tables under [layout], those of the instrument over those of the case; what is no table is recorded."""
    found: dict[str, dict[str, Any]] = {}
    for name, value in data.items():
        if name not in TABLES:
            place.defect(name, f"unknown table{hint(name, TABLES)}")
        elif not isinstance(value, dict):
            place.at(f"[layout.{name}]").defect("", f"a table is needed: [layout.{name}]", value)
        else:
            found[name] = value
    if within is None:
        return found
    if within.shares:
        found.pop("chest", None)
    over = {name: {**found.get(name, {}), **table} for name, table in within.tables.items() if name != "run"}
    if "run" in within.tables:
        over["run"] = _parts_over(found.get("run", {}), within.tables["run"])
    return {**found, **over}


def _parts_over(own: Mapping[str, Any], over: Mapping[str, Any]) -> dict[str, Any]:
    """Places of axes: part by part, and of each part field by field."""
    both = {name: {**own[name], **table} for name, table in over.items() if _tables(own.get(name), table)}
    return {**own, **over, **both}


def _tables(*values: object) -> bool:
    return all(isinstance(value, dict) for value in values)


def told_of(within: Within | None, log: list[Defect], since: int) -> None:
    """Put defects of values that stand in the instrument where they stand: what the log has from `since` on."""
    if within is None:
        return
    for i, defect in enumerate(log[since:], since):
        table = defect.table.removeprefix("[layout.").removesuffix("]")
        if defect.field.split(".")[0] in within.tables.get(table, {}):
            field, division = f"{table}.{defect.field}", f"[[division]] {within.division}"
            log[i] = replace(defect, file=within.instrument, table=division, field=field)
