"""What every step of reading a case needs to know."""

from __future__ import annotations

from dataclasses import dataclass, field

from keyaction.cases.fields.compass import Compass
from keyaction.cases.fields.csvfile import Shelf
from keyaction.models.fields.values import Given
from keyaction.models.materials.library import Library

Course = dict[int, Given]
"""One field's value at each note."""


@dataclass(frozen=True)
class Context:
    """The compass, materials and CSV files of the case being read; `asked` grows by every field that takes a figure of
    the layout.
    """

    compass: Compass
    library: Library
    shelf: Shelf
    asked: list[str] = field(default_factory=list)


@dataclass(frozen=True)
class Scope:
    """Which notes a table speaks of, and the origin of a plain value in it.

    In a `fixed` table a field has one value: no control points and no CSV. `whole` tables fill in defaults. Fields of
    a table `of_train` may take figures of the layout.
    """

    notes: tuple[int, ...]
    origin: str
    fixed: bool = False
    whole: bool = True
    one_note: bool = False
    of_train: bool = False
