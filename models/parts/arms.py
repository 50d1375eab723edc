"""Arms that rods pull on: their fields, their parameters, and what the two arms of a lever weigh."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from keyaction.models.fields.fields import Field, length
from keyaction.models.fields.values import Values
from keyaction.models.formulas.bending import cantilever
from keyaction.models.parts import bending
from keyaction.models.parts.common import box_inertia

if TYPE_CHECKING:
    from keyaction.models.algebra.builder import Builder

Expr = Any

_SIDES = ("in_arm", "out_arm")


def arm_fields(
    name: str, doc: str, usual: tuple[float, float], source: str = "common practice", angle_doc: str = ""
) -> tuple[Field, Field]:
    """An arm's length, what is usual (m) and who says so; and how far it stands past square to its rod at rest."""
    return (
        length(f"{name}", doc, low=0.002, high=2.0, usual=usual, source=source),
        Field(
            f"{name}_angle",
            angle_doc or f"{name}: angle past square to its rod at rest; below zero: short of it",
            unit="rad",
            low=-1.0,
            high=1.0,
            usual=(-0.35, 0.35),
            usual_source="common practice: arms square to their rods at half way",
            default=0.0,
            source="arm square to its rod at rest",
        ),
    )


def set_arm(values: Values, field: str, base: str) -> None:
    """Parameters of the arm declared by `arm_fields`."""
    values.set(
        f"r_{base}",
        values.number(field),
        "m",
        f"{field.replace('_', ' ')}",
        values.origin(field) if values.has(field) else "missing",
    )
    values.set(
        f"delta_{base}",
        values.number(f"{field}_angle"),
        "rad",
        f"{field} past square at rest, below zero before it",
        values.origin(f"{field}_angle"),
    )


def both_fields(usual: tuple[float, float], source: str = "common practice") -> tuple[Field, ...]:
    """The arms of a lever that takes the motion in on one side and gives it out on the other; what is usual, m."""
    return (
        *arm_fields("in_arm", "arm on the side of the key", usual, source),
        *arm_fields("out_arm", "arm on the side of the pallet", usual, source),
    )


def set_both(values: Values) -> None:
    """Parameters of the arms declared by `both_fields`."""
    set_arm(values, "in_arm", "in")
    set_arm(values, "out_arm", "out")


_ACTS = "+1 where the rod at its {} arm acts downwards on it, -1 upwards, 0 level"


def set_senses(values: Values) -> None:
    """Senses in which rods act on both arms: level until a rod that hooks on says otherwise."""
    for end in ("in", "out"):
        values.set(f"s_{end}", 0.0, "", _ACTS.format(end), "no rod there moves down or up")


def hook(values: Values, end: str, rod: Values) -> None:
    """The sense in which a rod acts on an arm: as it moves where it drives, against its motion where it is driven."""
    if f"s_{end}" in values.derived and "down" in rod.derived:
        moves = rod.derived["down"]
        sense = moves.value if end == "in" else -moves.value
        values.set(f"s_{end}", sense, "", _ACTS.format(end), f"{rod.part}, moves: {moves.origin}")


def senses(builder: Builder) -> tuple[Expr, Expr]:
    """Those senses as parameters of the current part."""
    near, far = (builder.param(f"s_{end}", "", _ACTS.format(end)) for end in ("in", "out"))
    return near, far


def set_ratio(values: Values) -> None:
    """What such a lever makes of the way."""
    values.fact("ratio", values.number("out_arm") / values.number("in_arm"), "", "way out per way in, arms square")


def set_bending(values: Values, prefix: str = "") -> None:
    """Each arm bends as a cantilever from the hub, in the plane in which it turns; `prefix` as for `needs`."""
    material, *sizes = needs(prefix)
    known = values.has(*sizes)
    bar = bending.upright(values.number(sizes[1]), values.number(sizes[0])) if known else None
    bows = {"in": cantilever(values.number("in_arm")), "out": cantilever(values.number("out_arm"))} if known else {}
    bending.set_gives(values, material, sizes, bar, bows)


def needs(prefix: str = "") -> tuple[str, ...]:
    """Fields that the arms' masses are computed from; those of wood and size begin with `prefix`."""
    return (f"{prefix}material", f"{prefix}width", f"{prefix}thickness", *_SIDES)


def masses(values: Values, prefix: str = "") -> tuple[float, float]:
    """Masses of the two arms as bars, kg."""
    per_metre = values.of(f"{prefix}material", "density") * values.number(f"{prefix}width")
    per_metre *= values.number(f"{prefix}thickness")
    return per_metre * values.number("in_arm"), per_metre * values.number("out_arm")


def inertia(values: Values, prefix: str = "") -> float:
    """Inertia of the two arms about the pivot between them, kg m2."""
    deep = values.number(f"{prefix}width")
    sides = zip(masses(values, prefix), _SIDES, strict=True)
    return sum(box_inertia(mass, values.number(side), deep) for mass, side in sides)
