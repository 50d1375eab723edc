"""What members and rail are read against: the parts of the train, and its rods note by note."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path as FilePath
from typing import NamedTuple

from keyaction.cases.fields.context import Context, Course
from keyaction.models.fields.fields import Field
from keyaction.models.fields.values import Given, Scalar, Values
from keyaction.models.frame.changes import RunRod
from keyaction.models.frame.rods import run_rods
from keyaction.models.instrument.path import Path
from keyaction.models.parts.base import Part

AXES = ("key", "lever", "pallet")
"""Roles of the parts that have an axis for a member to carry."""


@dataclass(frozen=True)
class PartRead:
    """A part of the train: its name, class and fields note by note, and what it leads on from where it branches."""

    name: str
    part: type[Part]
    courses: Mapping[str, Course]
    after: str = ""


class _AtNote(NamedTuple):
    """A part of one note."""

    name: str
    role: str
    part: type[Part]
    values: Values


@dataclass(frozen=True)
class Ground:
    """The train that members carry.

    Attributes
    ----------
    context : Context
    file : Path
        The case.
    parts : sequence of PartRead
    notes : tuple of int
        That the case has.
    paths : mapping of int to Path
        Of a layout, empty of none.
    sound : bool
        Whether nothing has been found wrong with the train, so that its rods can be asked for.
    """

    context: Context
    file: FilePath
    parts: Sequence[PartRead]
    notes: tuple[int, ...]
    paths: Mapping[int, Path]
    sound: bool

    def of_role(self, *roles: str) -> list[str]:
        """Names of the parts of these roles."""
        return [one.name for one in self.parts if one.part.role in roles]

    def part(self, name: str) -> PartRead | None:
        """The part of that name."""
        return next((one for one in self.parts if one.name == name), None)

    def rods(self, note: int) -> tuple[RunRod, ...]:
        """The rods of a note."""
        parts = [_AtNote(one.name, one.part.role, one.part, self._values(one, note)) for one in self.parts]
        branches = {one.name: one.after for one in self.parts if one.after}
        return run_rods(parts, self.paths.get(note), branches)

    def ends(self, rod: str) -> tuple[str, str]:
        """The parts that a rod joins, nearer the key and nearer the pallet; empty where there is none."""
        at = next((i for i, one in enumerate(self.parts) if one.name == rod), 0)
        before = [one.name for one in self.parts[:at] if one.part.role in AXES]
        behind = [one.name for one in self.parts[at:] if one.part.role in AXES]
        leads_on = self.parts[at].after if self.parts else ""
        return leads_on or (before[-1] if before else ""), behind[0] if behind else ""

    def number(self, name: str, path: str, note: int) -> float | None:
        """A field of a part at a note; None where it is not given."""
        one = self.part(name)
        given = one.courses.get(path, {}).get(note) if one else None
        return float(given.value) if isinstance(given, Given) else None

    def _values(self, one: PartRead, note: int) -> Values:
        given = {path: course[note] for path, course in one.courses.items() if note in course}
        return Values(one.name, given, self.context.library)


@dataclass(frozen=True)
class TableRead:
    """A table of the seasons before it is checked.

    Attributes
    ----------
    table : str
        As messages call it.
    name : str
        As settings from outside call it.
    fields : sequence of Field
    courses : dict of str to Course
        What settings from outside may change.
    data : mapping
        As TOML gives it.
    """

    table: str
    name: str
    fields: Sequence[Field]
    courses: dict[str, Course]
    data: Mapping[str, object]

    def get(self, path: str) -> Scalar | None:
        """The one value of a field that does not vary; None where there is none."""
        return next((one.value for one in self.courses.get(path, {}).values()), None)

    def text(self, path: str) -> str:
        """The one value of a field of words, empty where there is none."""
        found = self.get(path)
        return "" if found is None else str(found)

    def number(self, path: str) -> float:
        """The one value of a field of numbers, 0 where there is none: a defect then has been recorded."""
        found = self.get(path)
        return 0.0 if found is None else float(found)
