"""Labelled arrays with units and names, in memory as in the file."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from numpy.typing import NDArray

from keyaction.models.notes import Naming, note_name, parse_note

Array = NDArray[Any]


@dataclass(frozen=True)
class Variable:
    """An array with named axes, unit and long name."""

    dims: tuple[str, ...]
    data: Array
    unit: str = ""
    label: str = ""
    definition: str = ""


@dataclass(frozen=True)
class Result:
    """Labelled arrays over the notes of a run.

    Attributes
    ----------
    variables : mapping of name to Variable
        The axes (``note``, ``time``, ``body`` ...) are among them, under their own names.
    about : mapping of name to text
        Case text, versions, tolerances, assumptions: what is needed to believe the figures.
    """

    variables: Mapping[str, Variable]
    about: Mapping[str, str] = field(default_factory=dict)

    def __getitem__(self, name: str) -> Array:
        """The array of that name."""
        return self.variables[name].data

    def __contains__(self, name: object) -> bool:
        return name in self.variables

    @property
    def naming(self) -> Naming:
        return "trade" if self.about.get("note_names") == "trade" else "scientific"

    @property
    def notes(self) -> list[str]:
        """Names of the notes, rising."""
        return [str(name) for name in self["note"]]

    @property
    def title(self) -> str:
        return self.about.get("title", "")

    def index(self, note: str) -> int:
        """Row of a note.

        Raises
        ------
        KeyError
            If the result does not hold it; the message says which notes it holds.
        """
        wanted = note_name(parse_note(note, self.naming), self.naming)
        if wanted not in self.notes:
            raise KeyError(f"note {wanted} is not in this result; it holds {', '.join(self.notes)}")
        return self.notes.index(wanted)

    def value(self, name: str, note: str) -> float:
        """One figure of one note, SI."""
        return float(self[name][self.index(note)])

    def assumptions(self) -> list[str]:
        """Every value that the case left to the program, with its source."""
        return list(json.loads(self.about.get("assumptions", "[]")))
