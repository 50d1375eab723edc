"""What is wrong with a case: one record per defect, all of them in one exception."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from keyaction.cases.text.signs import legible

_LONGEST = 60
_MOST = 100
"""Defects of one file that a message names."""
_ALIKE = 10
"""Defects of a table that are alike but for line and value, of which each is named."""


@dataclass(frozen=True)
class Defect:
    """One defect of a case.

    Parameters
    ----------
    file : str
        Name of the case file or of the CSV file beside it.
    table : str
        Table or place in the file ("[[train]] roller", "line 3, column 5"); may be empty.
    field : str
        Dotted path of the field; may be empty.
    value : str
        The value as written; may be empty.
    message : str
        What is wrong, what is allowed, the nearest valid name.
    """

    file: str
    table: str
    field: str
    value: str
    message: str

    def __str__(self) -> str:
        field = f"field '{self.field}'" if self.field else ""
        where = ", ".join(part for part in (self.table, field) if part)
        if self.value:
            where = f"{where} = {self.value}"
        return legible(": ".join(part for part in (self.file, where, self.message) if part).replace("\n", "?"))


class CaseProblem(Exception):
    """A case that cannot be used; `defects` lists everything that is wrong with it, `path` is the file."""

    def __init__(self, path: Path, defects: Sequence[Defect]) -> None:
        super().__init__(path, defects)
        self.path = path
        self.defects = list(defects)

    def __str__(self) -> str:
        """A line for each defect, but of no file more than a hundred."""
        by_file: dict[str, list[Defect]] = {}
        for defect in self.defects:
            by_file.setdefault(defect.file, []).append(defect)
        lines: list[str] = []
        for file, found in by_file.items():
            lines += map(str, found[:_MOST])
            if len(found) > _MOST:
                lines.append(legible(f"{file}: and {len(found) - _MOST} more defects like these"))
        return "\n".join(lines)


def first_alike(log: Sequence[Defect]) -> list[Defect]:
    """The first ten of defects that are alike but for their line and value, and how many more there are."""
    seen, found = Counter[tuple[str, str, str]](), list[Defect]()
    for one in log:
        kind = (one.file, one.field, one.message)
        seen[kind] += 1
        if seen[kind] <= _ALIKE:
            found.append(one)
    return found + [
        Defect(file, "", field, "", f"and {count - _ALIKE} more like it: {message}")
        for (file, field, message), count in seen.items()
        if count > _ALIKE
    ]


class BadValue(ValueError):
    """Why one value is refused; the reader adds where it stands."""


@dataclass(frozen=True)
class Place:
    """A table of a file; `defect` writes into the common `log` what is wrong there."""

    file: str
    table: str
    log: list[Defect]

    def defect(self, field: str, message: str, *value: object) -> None:
        """Record a defect of `field`; the value, if there is one to show, comes last."""
        self.log.append(Defect(self.file, self.table, field, shown(value[0]) if value else "", message))

    def at(self, table: str) -> Place:
        """Another table of the same file."""
        return Place(self.file, table, self.log)


def shown(value: object) -> str:
    """A value about as the case file writes it, shortened."""
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, dict):
        return _shorten("{ " + ", ".join(map(str, value)) + " }")
    if isinstance(value, list):
        return f"[{len(value)} values]"
    if isinstance(value, str):
        return _shorten(json.dumps(value, ensure_ascii=False))
    return _shorten(str(value))


def _shorten(text: str) -> str:
    return text if len(text) <= _LONGEST else text[: _LONGEST - 4] + " ..."
