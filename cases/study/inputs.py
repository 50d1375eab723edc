"""What a study varies: the fields that an input reaches, and the values that it gives them."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Literal

from keyaction.cases.action.case import Case
from keyaction.cases.study.spans import Choices, Deviation, Normal, Range, Span
from keyaction.models.fields.fields import Field
from keyaction.models.fields.values import Scalar

STROKES, MATERIALS = "strokes", "materials"


@dataclass(frozen=True)
class Target:
    """One field that a study reaches: of a part, of the strokes, or a property of a material.

    Parameters
    ----------
    place : str
        The part's name, ``strokes`` or ``materials``.
    inner : str
        Dotted path in it; a material's name and property.
    field : Field
        What values it may have.
    """

    place: str
    inner: str
    field: Field

    @property
    def path(self) -> str:
        """As a study writes it."""
        return f"{self.place}.{self.inner}"

    @property
    def property(self) -> tuple[str, str]:
        """Material and property of a target among the materials."""
        material, _, name = self.inner.rpartition(".")
        return material, name


Setting = tuple[Target, Scalar]
How = Literal["value", "factor", "offset"]
"""What an input's value is to a field: its value, or it multiplies what the case gives, or is added to it."""


@dataclass(frozen=True)
class Input:
    """One thing that varies from design to design.

    Parameters
    ----------
    name : str
        Its label, unique in the study.
    span : Range, Normal, Deviation or Choices
        Its values, SI.
    targets : tuple of Target
        The fields that all get the value; empty if every choice brings its own settings.
    factor, offset : bool
        The value multiplies, or is added to, what the case gives at each note.
    settings : tuple
        For choices with settings of their own: (target, value) pairs of each.
    levels : int
        Levels in a grid or one at a time.
    source : str
        Where the span comes from, if not from the study.
    """

    name: str
    span: Span
    targets: tuple[Target, ...] = ()
    factor: bool = False
    settings: tuple[tuple[Setting, ...], ...] = ()
    levels: int = 2
    source: str = ""
    offset: bool = False

    @property
    def how(self) -> How:
        """What its values are to its fields."""
        return "factor" if self.factor else "offset" if self.offset else "value"

    @property
    def chosen(self) -> bool:
        """Whether it goes by choices that are words and not numbers."""
        return isinstance(self.span, Choices) and not all(
            isinstance(value, float | int) and not isinstance(value, bool) for value in self.span.values
        )

    @property
    def labels(self) -> tuple[str, ...]:
        """The words of its choices; empty for numbers."""
        assert isinstance(self.span, Choices) or not self.chosen
        return (
            tuple(word(value) for value in self.span.values) if isinstance(self.span, Choices) and self.chosen else ()
        )

    @property
    def unit(self) -> str:
        """SI unit of its values; empty for words, numbers and factors."""
        return "" if self.factor or self.chosen or not self.targets else self.targets[0].field.unit

    @property
    def doc(self) -> str:
        """What it is, in words."""
        if not self.targets:
            return self.name
        told = {"value": "", "factor": ", times what the case gives", "offset": ", added to what the case gives"}
        return f"{self.targets[0].field.doc}{told[self.how]}"

    @property
    def reached(self) -> tuple[Target, ...]:
        """Every field that it may set."""
        return self.targets or tuple(dict.fromkeys(target for one in self.settings for target, _ in one))

    def meaning(self) -> dict[str, Any]:
        """All that matters of it for the designs, as plain data."""
        return {
            "name": self.name,
            "fields": [target.path for target in self.targets],
            "factor": self.factor,
            **({"offset": True} if self.offset else {}),
            "span": span_data(self.span),
            "settings": [{target.path: value for target, value in one} for one in self.settings],
            "levels": self.levels,
        }


def word(value: Scalar) -> str:
    """A choice as it is shown."""
    return str(value).lower() if isinstance(value, bool) else str(value)


def span_data(span: Span) -> dict[str, Any]:
    """A span as plain data."""
    if isinstance(span, Range):
        return {"low": span.low, "high": span.high, "spacing": "log" if span.log else "linear"}
    if isinstance(span, Normal):
        return {"mean": span.mean, "sd": span.sd}
    if isinstance(span, Deviation):
        form = "even" if span.even else "normal"
        return {"deviation": span.size, "form": form, "least": _end(span.least), "most": _end(span.most)}
    return {"values": list(span.values)}


def _end(value: float) -> float | None:
    """An end of a span; None if there is none."""
    return value if math.isfinite(value) else None


def own_value(case: Case, notes: tuple[int, ...], one: Input) -> Scalar | None:
    """What the case itself has in place of an input; None where that differs between notes or fields."""
    if one.how != "value":
        return 1.0 if one.factor else 0.0
    found = [own_values(case, notes, target) for target in one.targets]
    values = {value for given in found for value in given.values()}
    single = len(values) == 1 and all(len(given) == len(notes) for given in found)
    return values.pop() if single else None


def own_values(case: Case, notes: tuple[int, ...], target: Target) -> Mapping[int, Scalar]:
    """What the case itself gives a target at each note; notes without a value are left out."""
    if target.place == STROKES:
        given = case.strokes.given.get(target.inner)
        return {} if given is None else dict.fromkeys(notes, given.value)
    if target.place == MATERIALS:
        name, what = target.property
        return dict.fromkeys(notes, case.library.get(name)[what].value)
    course = case.part(target.place).fields.get(target.inner, {})
    return {note: course[note].value for note in notes if note in course}
