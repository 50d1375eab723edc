"""What was moved, in the reader's units."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from keyaction.cases.action.case import Case
from keyaction.cases.fields.allowed import written
from keyaction.cases.fields.kinds import from_text, read_scalar
from keyaction.cases.fields.tables import field_at
from keyaction.cases.text.defects import BadValue
from keyaction.models.fields.fields import Field
from keyaction.models.units.quantity import System
from keyaction.sim.bench.edits import Edit, latest


@dataclass(frozen=True)
class Told:
    """An edit with its value as it is told; empty of what is taken out."""

    part: str
    path: str
    note: int | None
    text: str


def told_edits(case: Case, edits: Sequence[Edit], units: System = "trade") -> list[Told]:
    """Edits that hold, each with its value in the reader's unit.

    Parameters
    ----------
    case : Case
        With these edits.
    edits : sequence of Edit
    units : {"trade", "si"}
    """
    return [Told(one.part, one.path, one.note, _text(case, one, units)) for one in latest(edits)]


def _text(case: Case, one: Edit, units: System) -> str:
    fields = next((part.part.fields for part in case.parts if part.name == one.part), ())
    field = field_at(fields, one.path) or field_at(fields, one.path.rpartition(".")[0])
    if one.value is None:
        return ""
    if not isinstance(one.value, Mapping):
        return _scalar(case, field, one.value, units)
    points = [f"{name} {_scalar(case, field, value, units)}" for name, value in one.value.items() if name != "between"]
    return f"{one.value.get('between', '')}: {', '.join(points)}"


def _scalar(case: Case, field: Field | None, text: str, units: System) -> str:
    """A value of the field; another text as it stands."""
    if field is None or field.kind not in ("quantity", "number", "count"):
        return text
    try:
        return written(field, float(read_scalar(field, from_text(field, text), case.library)), units)
    except BadValue:
        return text
