"""Fields that were moved on the bench, and what they are moved on."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from keyaction.cases.action.case import Case
from keyaction.cases.action.train import kinds_by_name
from keyaction.models.fields.fields import Field
from keyaction.models.notes import NAMINGS, Naming
from keyaction.models.parts import PARTS


@dataclass(frozen=True)
class Edit:
    """One field that was moved.

    Attributes
    ----------
    part, path : str
        Name of the part in the case, and dotted path of its field, or of one of its control points ("force.C2").
    value : str or mapping
        As it is written in a case file, with its unit: "2.1 N", "0.37", "true"; of the whole compass also a table of
        control points, ``{"between": "linear", "C2": "2.7 N", "G6": "1.2 N"}``. None takes out what stands there.
    note : int, optional
        Whose own value it is; None for the whole compass.
    keep : tuple of int
        Of the whole compass: notes that keep what they have of their own; all others take this value.
    """

    part: str
    path: str
    value: str | Mapping[str, str] | None
    note: int | None = None
    keep: tuple[int, ...] = ()


class UnknownField(ValueError):
    """An edit of a part or a field that the case does not have."""

    def __init__(self, text: str, part: str = "", path: str = "") -> None:
        super().__init__(text)
        self.part, self.path = part, path


@dataclass(frozen=True)
class Ground:
    """What edits are laid over.

    Attributes
    ----------
    text : str
        Of the case's file.
    naming : {"scientific", "trade", "german"}
    fields : mapping of str to sequence of Field
        Of every part, in the order of the file.
    case : Case, optional
        None of a file with defects: a row of one note alone cannot be changed there.
    """

    text: str
    naming: Naming
    fields: Mapping[str, Sequence[Field]]
    case: Case | None = None

    @classmethod
    def of(cls, case: Case) -> Ground:
        """That of a sound case."""
        return cls(case.text, case.naming, {part.name: part.part.fields for part in case.parts}, case)

    @classmethod
    def unsound(cls, text: str, data: Mapping[str, Any]) -> Ground:
        """That of a file with defects, as far as it names its parts."""
        head = data.get("case")
        naming = head.get("note_names") if isinstance(head, dict) else None
        kinds = kinds_by_name(data.get("train"))
        fields = {name: PARTS[kind].fields if kind in PARTS else () for name, kind in kinds.items()}
        return cls(text, naming if naming in NAMINGS else "scientific", fields)


def latest(edits: Sequence[Edit]) -> tuple[Edit, ...]:
    """Edits without those that later ones take the place of.

    One of the whole compass goes over those of its notes, but for notes that it keeps; one of a field over those of its
    control points.
    """
    kept: list[Edit] = []
    for one in edits:
        same = [k for k in kept if k.part == one.part and f"{k.path}.".startswith(f"{one.path}.")]
        gone = [k for k in same if (one.note is None and k.note not in one.keep) or k.note == one.note]
        kept = [k for k in kept if k not in gone] + [one]
    return tuple(kept)


def key_of(edits: Sequence[Edit]) -> tuple[object, ...]:
    """What is the same of edits that do the same."""
    values = [(one, tuple(one.value.items()) if isinstance(one.value, Mapping) else one.value) for one in latest(edits)]
    return tuple((one.part, one.path, one.note, one.keep, value) for one, value in values)
