"""What can be moved on the bench: every field of a note's parts with its value, its usual range and its steps."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any

from keyaction.cases.action.case import Case, PartSpec
from keyaction.cases.fields.allowed import allowed_range, usual, usual_range, written
from keyaction.cases.fields.tables import finder
from keyaction.models.fields.fields import Field
from keyaction.models.fields.values import Given
from keyaction.models.units.quantity import System, convert
from keyaction.sim.bench.edits import Ground
from keyaction.sim.bench.laid import own_keys, value_in

ASIDE = 2.0
"""A field without a usual range is moved from half to twice its value (assumed)."""
STEPS, FEWEST = 100, 20
"""Steps of a slider, most and fewest, about; each is 1, 2 or 5 of a power of ten."""
_WORKED = {"mm": 0.1, "gf": 1.0, "g": 0.5, "°": 0.5, "deg": 0.5, "mmH2O": 1.0, "°C": 1.0, "mm²": 1.0, "hPa": 1.0}
"""What a shop works to, by the trade's unit (common practice)."""
_SLACK = 1e-9


@dataclass(frozen=True)
class Slider:
    """Where a figure is moved, in the reader's unit: least, most, step."""

    low: float
    high: float
    step: float


@dataclass(frozen=True)
class Own:
    """What one note has of its own in the file, in words."""

    note: int
    text: str


@dataclass(frozen=True)
class Movable:
    """One field of a note that can be moved.

    Attributes
    ----------
    part, path : str
    label, doc : str
        Its name in words, and what it means.
    kind : str
        As of `keyaction.models.fields.fields.Field`.
    value : float, str or bool
        In the reader's unit.
    unit : str
        As people write it; empty of plain numbers and words.
    text : str
        As a case file would have it.
    slider : Slider, optional
        Of figures.
    choices : tuple of str
        Of words: what may be chosen.
    allowed, usual : str
        Ranges in words; empty where there is none.
    odd : bool
        Whether the value is outside its usual range.
    origin : str
        Where the value comes from; `default` where the case leaves it to the program.
    default : bool
    each : bool
        Whether it may differ from note to note.
    course : mapping of str to str, optional
        Law (`between`) and control points as the case has them; None where it has none, as of a CSV column.
    own : tuple of Own
        Notes that have a value of their own in the file, whatever the compass has.
    """

    part: str
    path: str
    label: str
    doc: str
    kind: str
    value: float | str | bool
    unit: str
    text: str
    slider: Slider | None
    choices: tuple[str, ...]
    allowed: str
    usual: str
    odd: bool
    origin: str
    default: bool
    each: bool
    course: Mapping[str, str] | None = None
    own: tuple[Own, ...] = ()


def movable(
    case: Case, note: int, units: System = "trade", data: Mapping[str, Any] | None = None
) -> dict[str, list[Movable]]:
    """Every field of a note, by part in the order of the train.

    Parameters
    ----------
    case : Case
    note : int
    units : {"trade", "si"}
    data : mapping, optional
        Tables of the file as they are moved, for the control points and for what notes have of their own.
    """
    tables = value_in(data, ("train",)) or ()
    keys = own_keys(Ground.of(case), data or {})
    notes = {note: value_in(data, ("notes", key)) for note, key in keys.items() if note in case.compass}
    return {
        part.name: list(_of_part(case, part, note, units, tables[i] if i < len(tables) else {}, notes))
        for i, part in enumerate(case.parts)
    }


def course_of(table: object) -> dict[str, str] | None:
    """Law and control points of a value of the file, each as a case file would have it; None of any other value."""
    if not isinstance(table, Mapping) or {"csv", "layout"} & set(table):
        return None
    return {name: as_said(one) for name, one in table.items() if isinstance(one, str | int | float)}


def as_said(value: object) -> str:
    """A plain value of the file as an edit has it; empty of none."""
    if isinstance(value, bool):
        return str(value).lower()
    return "" if value is None or isinstance(value, Mapping | list) else str(value)


def _of_part(
    case: Case, part: PartSpec, note: int, units: System, table: Mapping[str, Any], notes: Mapping[int, Any]
) -> Iterator[Movable]:
    field_of = finder(part.part.fields)
    for path, course in part.fields.items():
        field, given = field_of(path), course.get(note)
        if field is not None and given is not None:
            found = _movable(case, part, path, field, given, units)
            steps = path.split(".")
            owners = [one for one, own in notes.items() if value_in(own, (part.name, *steps)) is not None]
            texts = [(one, _text(field, course.get(one), units)) for one in owners]
            own = tuple(Own(one, text) for one, text in texts if text)
            yield replace(found, course=course_of(value_in(table, steps)), own=own)


def _text(field: Field, given: Given | None, units: System) -> str:
    """A value in words; empty where there is none."""
    if given is None:
        return ""
    figure = field.kind in ("quantity", "number", "count")
    return written(field, float(given.value), units) if figure else as_said(given.written or given.value)


def _movable(case: Case, part: PartSpec, path: str, field: Field, given: Given, units: System) -> Movable:
    figure = field.kind in ("quantity", "number", "count")
    value: float | str | bool = given.written or given.value
    unit, slider, text = "", None, str(value).lower() if isinstance(value, bool) else str(value)
    if figure:
        si = float(given.value)
        shown, unit = convert(si, field.unit, units, field.written or None) if field.unit else (si, "")
        slider, value, text = slider_of(field, si, units), _tidy(float(shown)), written(field, si, units)
    choices = field.choices if field.kind == "choice" else _alike(case, field, str(given.value))
    return Movable(
        part.name, path, path.replace("_", " ").replace(".", " "), field.doc, field.kind, value, unit, text, slider,
        choices,
        allowed_range(field, units) if figure else "",
        usual_range(field, units) if figure else "",
        figure and not usual(field, float(given.value)),
        given.origin, given.default, field.varies,
    )  # fmt: skip


def _alike(case: Case, field: Field, name: str) -> tuple[str, ...]:
    """Materials of the kinds that the field offers, or of the same kind."""
    if field.kind != "material":
        return ()
    kinds = field.kinds or (case.library.get(name).kind,)
    return tuple(one for kind in kinds for one in case.library.names(kind))


def slider_of(field: Field, si: float, units: System) -> Slider | None:
    """Within what is usual and allowed, widened to the value that is there; else from half of it to twice it.

    Parameters
    ----------
    field : Field
    si : float
        The value that is there.
    units : {"trade", "si"}
    """
    low, high = field.usual or (min(si / ASIDE, si * ASIDE), max(si / ASIDE, si * ASIDE))
    low, high = max(low, field.least), min(high, field.high)
    if not math.isfinite(low + high) or high <= low:
        return None
    low, high, here = (_shown(field, one, units) for one in (low, high, si))
    step = _step(field, high - low, units)
    low, high = math.ceil(low / step - _SLACK) * step, math.floor(high / step + _SLACK) * step
    return Slider(_tidy(min(low, here)), _tidy(max(high, here)), step)


def _shown(field: Field, si: float, units: System) -> float:
    return float(convert(si, field.unit, units, field.written or None)[0]) if field.unit else float(si)


def _step(field: Field, whole: float, units: System) -> float:
    """A hundredth of the way, or what the shop works to where that is more; a twentieth at most."""
    if field.kind == "count":
        return 1.0
    unit = convert(0.0, field.unit, units, field.written or None)[1] if field.unit else ""
    return round_step(min(max(whole / STEPS, _WORKED.get(unit, 0.0)), whole / FEWEST))


def round_step(about: float) -> float:
    """The largest of 1, 2 and 5 times a power of ten that is not above."""
    power = 10.0 ** math.floor(math.log10(about))
    return _tidy(next(k for k in (5.0, 2.0, 1.0) if k * power <= about * (1 + 1e-9)) * power)


def _tidy(value: float) -> float:
    return float(f"{value:.10g}")
