"""What can be moved on the bench: every field of a note's parts with its value, its usual range and its steps."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from keyaction.cases.action.case import Case, PartSpec
from keyaction.cases.fields.allowed import allowed_range, usual, usual_range, written
from keyaction.cases.fields.tables import field_at
from keyaction.models.fields.fields import Field
from keyaction.models.fields.values import Given
from keyaction.models.units.quantity import System, convert

ASIDE = 2.0
"""A field without a usual range is moved from half to twice its value (assumed)."""
STEPS = 100
"""Steps of a slider, about; each is 1, 2 or 5 of a power of ten."""


@dataclass(frozen=True)
class Slider:
    """Where a figure is moved, in the reader's unit: least, most, step."""

    low: float
    high: float
    step: float


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


def movable(case: Case, note: int, units: System = "trade") -> dict[str, list[Movable]]:
    """Every field of a note, by part in the order of the train.

    Parameters
    ----------
    case : Case
    note : int
    units : {"trade", "si"}
    """
    return {part.name: list(_of_part(case, part, note, units)) for part in case.parts}


def _of_part(case: Case, part: PartSpec, note: int, units: System) -> Iterator[Movable]:
    for path, course in part.fields.items():
        field, given = field_at(part.part.fields, path), course.get(note)
        if field is not None and given is not None:
            yield _movable(case, part, path, field, given, units)


def _movable(case: Case, part: PartSpec, path: str, field: Field, given: Given, units: System) -> Movable:
    figure = field.kind in ("quantity", "number", "count")
    value: float | str | bool = given.written or given.value
    unit, slider, text = "", None, str(value).lower() if isinstance(value, bool) else str(value)
    if figure:
        si = float(given.value)
        shown, unit = convert(si, field.unit, units, field.written or None) if field.unit else (si, "")
        slider, value, text = _slider(field, si, units), _tidy(float(shown)), written(field, si, units)
    choices = field.choices if field.kind == "choice" else _alike(case, field, str(given.value))
    return Movable(
        part.name, path, path.replace("_", " ").replace(".", " "), field.doc, field.kind, value, unit, text, slider,
        choices,
        allowed_range(field) if figure else "",
        usual_range(field) if figure else "",
        figure and not usual(field, float(given.value)),
        given.origin, given.default, field.varies,
    )  # fmt: skip


def _alike(case: Case, field: Field, name: str) -> tuple[str, ...]:
    """Materials of the same kind."""
    return case.library.names(case.library.get(name).kind) if field.kind == "material" else ()


def _slider(field: Field, si: float, units: System) -> Slider | None:
    """From the ends of what is usual, widened to the value that is there; else from half of it to twice it."""
    low, high = field.usual or (min(si / ASIDE, si * ASIDE), max(si / ASIDE, si * ASIDE))
    low, high = max(min(low, si), field.least), min(max(high, si), field.high)
    if not math.isfinite(low + high) or high <= low:
        return None
    ends = [convert(one, field.unit, units, field.written or None)[0] if field.unit else one for one in (low, high)]
    step = round_step((float(ends[1]) - float(ends[0])) / STEPS)
    step = max(step, 1.0) if field.kind == "count" else step
    return Slider(
        _tidy(math.floor(float(ends[0]) / step + 1e-9) * step),
        _tidy(math.ceil(float(ends[1]) / step - 1e-9) * step),
        step,
    )


def round_step(about: float) -> float:
    """The largest of 1, 2 and 5 times a power of ten that is not above."""
    power = 10.0 ** math.floor(math.log10(about))
    return _tidy(next(k for k in (5.0, 2.0, 1.0) if k * power <= about * (1 + 1e-9)) * power)


def _tidy(value: float) -> float:
    return float(f"{value:.10g}")
