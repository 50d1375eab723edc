"""A felted stop that limits how far the pallet opens: a bar or pin beyond it, which a case may give."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from keyaction.models import algebra
from keyaction.models.fields.fields import Field, length
from keyaction.models.fields.values import Values
from keyaction.models.parts.felts import felt, felt_law, felt_table

if TYPE_CHECKING:
    from keyaction.models.algebra.builder import Builder, Coordinate
    from keyaction.models.algebra.names import Name

_PLACE = ("stop.gap", "stop.angle")


def table() -> Field:
    """The stop's table of the pallet: none unless given."""
    whole = felt_table("stop", "what limits the pallet's opening: a felted bar or pin beyond it")
    own = (
        length(
            "gap",
            "way of the eye from the shut pallet to the stop's felt",
            high=0.05,
            usual=(0.003, 0.012),
            source="lift of 4 to 9 mm; common practice",
        ),
        Field(
            "angle",
            "turn of the pallet to its felt, in place of the gap",
            unit="rad",
            positive=True,
            high=0.5,
            usual=(0.01, 0.12),
            source="lift of 4 to 9 mm; common practice",
        ),
        length(
            "at",
            "from the hinge to where the stop bears; at the eye unless given",
            high=1.0,
            usual=(0.05, 0.35),
            source="common practice",
        ),
    )
    return replace(whole, fields=(*own, *whole.fields))


def given(values: Values) -> bool:
    """Whether the case gives a stop."""
    return any(path.startswith("stop.") for path in values.given)


def resolve(values: Values) -> None:
    """The stop's place and felt."""
    if not given(values):
        return
    if not any(values.has(path) for path in _PLACE):
        values.defects.append("stop.gap: give it, or else stop.angle")
    eye = values.number("eye")
    turn = values.number("stop.gap") / eye if values.has("stop.gap") else values.number("stop.angle")
    at = values.number("stop.at") if values.has("stop.at") else eye
    values.set("r_stop", at, "m", "stop from the hinge", "case" if values.has("stop.at") else "at the eye")
    values.set("gap_stop", turn * at, "m", "way there until the stop's felt is touched", "turn x place")
    felt(values, "stop", "stop")


def assemble(builder: Builder, name: str, body: Coordinate, hinge: Name) -> None:
    """Felt that pushes the opened pallet back."""
    at = builder.param("r_stop", "m", "stop from the hinge")
    place = algebra.Port(f"{name}.stop", body, at * body.q, (-1, 0), hinge)
    gap = builder.param("gap_stop", "m", "way until the stop's felt is touched")
    builder.element("stop", "felt", [(place, 1)], felt_law(builder, "stop"), "stop of the pallet", offset=-gap)
