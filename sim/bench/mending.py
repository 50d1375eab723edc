"""What can be done on the bench about a defect of a case: another value, another name, or nothing there."""

from __future__ import annotations

from dataclasses import dataclass
from difflib import get_close_matches
from typing import Any

from keyaction.cases.fields.allowed import allowed_range, usual_range
from keyaction.cases.fields.kinds import may_join
from keyaction.cases.fields.profile import BETWEEN
from keyaction.cases.fields.tables import field_at, paths
from keyaction.models.fields.fields import Field
from keyaction.models.materials.library import Library, default_library
from keyaction.models.units.quantity import System, convert
from keyaction.sim.bench.edits import Edit
from keyaction.sim.bench.laid import own_keys, point_of, value_in
from keyaction.sim.bench.movable import Movable, as_said, course_of, slider_of
from keyaction.sim.bench.refused import Said
from keyaction.sim.bench.workbench import Workbench

_ALIKE = 0.6
"""How alike a name is that may have been meant, as of hints."""


@dataclass(frozen=True)
class Mend:
    """What mends a defect.

    Attributes
    ----------
    field : Movable, optional
        What wants another value.
    out : bool
        Whether an edit without a value takes out what stands there.
    near : str
        Path of the field that an unknown name was perhaps meant for; empty where there is none.
    was : str
        The plain value that stands in the file, as an edit has it, to be given under the other name.
    """

    field: Movable | None = None
    out: bool = False
    near: str = ""
    was: str = ""


def mend_of(bench: Workbench, said: Said, units: System = "trade") -> Mend:
    """What can be done about a defect; nothing where it is mended in the file alone.

    Parameters
    ----------
    bench : Workbench
    said : Said
    units : {"trade", "si"}
        Of the slider.
    """
    if not said.part or not said.path or bench.data is None:
        return Mend()
    stands = _raw(bench, said)
    field = mendable(bench, said, units)
    starred = ".".join("*" if step.isdecimal() else step for step in said.path.split("."))
    known = any(f"{path}.".startswith(f"{starred}.") for path, _ in paths(bench.ground.fields.get(said.part, ())))
    out = stands is not None and not known
    return Mend(field, out, _near(bench, said) if out and field is None else "", as_said(stands) if out else "")


def _near(bench: Workbench, said: Said) -> str:
    """The nearest field beside an unknown one."""
    prefix, _, name = said.path.rpartition(".")
    beside = {}
    for path, _ in paths(bench.ground.fields[said.part]):
        steps, mine = path.split("."), prefix.split(".") if prefix else []
        if len(steps) > len(mine) and all(a in (b, "*") for a, b in zip(steps, mine, strict=False)):
            beside[steps[len(mine)].lower()] = steps[len(mine)]
    near = get_close_matches(name.lower(), beside, n=3, cutoff=_ALIKE)
    swapped = [one for one in near if sorted(one) == sorted(name.lower())]  # two letters changed over
    return f"{prefix}.{beside[(swapped or near)[0]]}".lstrip(".") if near else ""


def mendable(bench: Workbench, said: Said, units: System = "trade") -> Movable | None:
    """The field or control point that wants another value, with the value as the file has it; None where none does.

    Parameters
    ----------
    bench, said, units
        As of `mend_of`.
    """
    if bench.data is None:
        return None
    field, raw = field_at(bench.ground.fields.get(said.part, ()), said.path), _raw(bench, said)
    if field is None:
        edit = Edit(said.part, said.path, as_said(raw))
        of = point_of(bench.ground, edit) if raw is not None or said.path.endswith(".between") else None
        return _movable(bench, of, said, raw, units, point=True) if of else None
    return _movable(bench, field, said, raw, units)


def _movable(bench: Workbench, field: Field, said: Said, raw: Any, units: System, point: bool = False) -> Movable:
    text, label = as_said(raw), said.path.replace("_", " ").replace(".", " ")
    key = said.path.rpartition(".")[2] if point else ""
    if key in ("between", "csv", "column", "unit"):
        laws = (BETWEEN if may_join(field) else ("steps",)) if key == "between" else ()
        kind = "choice" if key == "between" else "text"
        return Movable(
            said.part, said.path, label, field.doc, kind, text, "", text, None, laws, "", "", True, "case", False, False
        )
    figure = field.kind in ("quantity", "number", "count")
    library = bench.case.library if bench.case else default_library()
    middle = sum(field.usual) / 2 if field.usual else None
    return Movable(
        said.part, said.path, label, field.doc, field.kind, text,
        convert(0.0, field.unit, units, field.written or None)[1] if field.unit else "", text,
        slider_of(field, middle, units) if figure and middle is not None else None,
        field.choices if field.kind == "choice" else _materials(field, library),
        allowed_range(field, units) if figure else "", usual_range(field, units) if figure else "", True,
        "case", False, field.varies and not point, course_of(raw),
    )  # fmt: skip


def _materials(field: Field, library: Library) -> tuple[str, ...]:
    return library.names() if field.kind == "material" else ()


def _raw(bench: Workbench, said: Said) -> Any:
    """What the file has there, of the note where it is about one; None where nothing stands."""
    if said.part not in bench.ground.fields:
        return None
    steps = said.path.split(".")
    if said.note is not None:
        key = own_keys(bench.ground, bench.data or {}).get(said.note, "")
        own = value_in(bench.data, ("notes", key, said.part, *steps))
        if own is not None:
            return own
    index = list(bench.ground.fields).index(said.part)
    return value_in(bench.data, ("train", str(index), *steps))
