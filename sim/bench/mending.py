"""Fields of a case with defects that can be given another value on the bench."""

from __future__ import annotations

from typing import Any

from keyaction.cases.fields.allowed import allowed_range, usual_range
from keyaction.cases.fields.tables import field_at
from keyaction.models.fields.fields import Field
from keyaction.models.fields.values import Given
from keyaction.models.materials.library import Library, default_library
from keyaction.models.units.quantity import System, convert
from keyaction.sim.bench.movable import Movable, slider_of
from keyaction.sim.bench.refused import Said
from keyaction.sim.bench.workbench import Workbench


def mendable(bench: Workbench, said: Said, units: System = "trade") -> Movable | None:
    """The field that a defect is about, with the value as the file has it; None where no edit can mend it.

    Parameters
    ----------
    bench : Workbench
    said : Said
    units : {"trade", "si"}
        Of the slider.
    """
    path = said.path
    field = field_at(bench.ground.fields.get(said.part, ()), path)
    if field is None or bench.data is None:
        return None
    raw = _raw(bench, said)
    text = (
        raw
        if isinstance(raw, str)
        else (str(raw).lower() if isinstance(raw, bool) else "" if raw is None else str(raw))
    )
    figure = field.kind in ("quantity", "number", "count")
    library = bench.case.library if bench.case else default_library()
    middle = sum(field.usual) / 2 if field.usual else None
    return Movable(
        said.part, path, path.replace("_", " ").replace(".", " "), field.doc, field.kind, text,
        convert(0.0, field.unit, units, field.written or None)[1] if field.unit else "", text,
        slider_of(field, middle, units) if figure and middle is not None else None,
        field.choices if field.kind == "choice" else _materials(field, library),
        allowed_range(field) if figure else "", usual_range(field) if figure else "", True,
        Given("", "case").origin, False, field.varies,
    )  # fmt: skip


def _materials(field: Field, library: Library) -> tuple[str, ...]:
    return library.names() if field.kind == "material" else ()


def _raw(bench: Workbench, said: Said) -> Any:
    """What the file has there; None where nothing stands."""
    data = bench.data or {}
    tables: Any = data.get("train")
    index = list(bench.ground.fields).index(said.part)
    found: Any = tables[index] if isinstance(tables, list) and index < len(tables) else None
    for step in said.path.split("."):
        if isinstance(found, list) and step.isdecimal() and int(step) < len(found):
            found = found[int(step)]
        else:
            found = found.get(step) if isinstance(found, dict) else None
    return found
