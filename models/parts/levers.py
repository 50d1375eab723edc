"""Levers that turn or carry on the motion: square (bell-crank) and backfall (straight)."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, ClassVar

from keyaction.models import algebra
from keyaction.models.fields.fields import Field, length
from keyaction.models.fields.values import Values
from keyaction.models.many import maths
from keyaction.models.materials.types import SOLID
from keyaction.models.parts import arms
from keyaction.models.parts.base import Part, Shape, Shown
from keyaction.models.parts.bending import SWITCH
from keyaction.models.parts.common import (
    PIN_RUBS,
    imbalance,
    measured_inertia,
    measured_mass,
    pin,
    pin_table,
    set_weight,
)
from keyaction.models.parts.geometry import check_lever

if TYPE_CHECKING:
    from keyaction.models.algebra.builder import Builder, Port

Expr = Any


@dataclass(frozen=True)
class _Usual:
    """What a lever usually is: angle and its range (rad), arms (m), inertia (kg m2) and mass (kg)."""

    turn: float
    turns: tuple[float, float]
    arm: tuple[float, float]
    inertia: tuple[float, float]
    mass: tuple[float, float]


def _lever_fields(usual: _Usual) -> tuple[Field, ...]:
    return (
        *arms.both_fields(usual.arm),
        Field(
            "turn",
            "angle between the arms",
            unit="rad",
            low=0.0,
            high=math.pi,
            usual=usual.turns,
            usual_source="common practice",
            default=usual.turn,
            source="the part's usual shape",
        ),
        Field("material", "what the arms are made of", kind="material", kinds=SOLID),
        length("width", "width of the arms", high=0.1, usual=(0.005, 0.05), source="common practice"),
        length("thickness", "thickness of the arms", high=0.05, usual=(0.001, 0.02), source="common practice"),
        measured_inertia("measured inertia about the pin, in place of the arms' size", usual.inertia),
        measured_mass("measured mass, in place of the arms' size", usual.mass),
        imbalance("moment of its weight, positive when it helps the finger"),
        SWITCH,
        pin_table("cloth-on-pin", 0.002, 0.0002),
    )


class Lever(Part):
    """What square and backfall share."""

    role = "lever"
    outlets = ("out",)
    rubs = PIN_RUBS
    what: ClassVar[str]

    @classmethod
    def resolve(cls, values: Values) -> None:
        arms.set_both(values)
        needs, how = arms.needs(), "two arms as bars"
        values.either(
            "J",
            "kg*m^2",
            f"inertia of the {cls.what} about its pin",
            "inertia",
            needs,
            lambda: arms.inertia(values),
            how,
        )
        set_weight(values, f"weight of the {cls.what}", needs, lambda: sum(arms.masses(values)), how)
        turn = values.number("turn")
        values.set("cos_turn", maths.cos(turn), "", "cosine of the angle between the arms", values.origin("turn"))
        values.set("sin_turn", maths.sin(turn), "", "sine of the angle between the arms", values.origin("turn"))
        values.set("B", values.number("imbalance"), "N*m", "moment of its weight", values.origin("imbalance"))
        arms.set_ratio(values)
        arms.set_bending(values)
        pin(values)
        arms.set_senses(values)
        check_lever(values)

    @classmethod
    def hooked(cls, values: Values, end: str, rod: Values) -> None:
        arms.hook(values, end, rod)

    @classmethod
    def assemble(cls, builder: Builder, name: str, shape: Shape) -> None:  # noqa: ARG003
        p = builder.param
        body = builder.coordinate("rad", f"rotation of the {cls.what}")
        builder.inertia(body, p("J", "kg*m^2", "inertia about the pin"))
        builder.weight(-p("B", "N*m", "moment of its weight, helping the finger") * body.q)
        pivot = builder.pin("", body)
        beside = (
            -p("cos_turn", "", "cosine of the angle between the arms"),
            p("sin_turn", "", "sine of the angle between the arms"),
        )
        builder.bears(pivot, p("W", "N", "weight on the pin"), cls._downwards(beside, *arms.senses(builder)))
        builder.arrive(cls.mounted(builder, algebra.arm(builder, body, "in", (1, 0), pivot)))
        builder.outlet(cls.mounted(builder, algebra.arm(builder, body, "out", beside, pivot)))

    @staticmethod
    def _downwards(beside: tuple[Expr, Expr], near: Expr, far: Expr) -> tuple[Expr, Expr, Expr]:
        """Down, seen from the in arm's rod: in its line, else in the other's (`beside`), else along the pin."""
        other = far * (1 - near**2)
        return near + other * beside[0], other * beside[1], (1 - near**2) * (1 - far**2)

    @classmethod
    def mounted(cls, builder: Builder, port: Port) -> Port:  # noqa: ARG003  a pin that stands still
        """The end of an arm as the place of the lever's pin moves it: a lever on a rail that moves has its own."""
        return port

    @classmethod
    def brief(cls, values: Values, shown: Shown) -> str:  # noqa: ARG003
        return f"{shown('r_in')} : {shown('r_out')}, {shown('J')}"


class Square(Lever):
    """A bell-crank that turns the line of motion."""

    kind = "square"
    title = "square"
    what = "square"
    fields = _lever_fields(_Usual(math.pi / 2, (1.0, 2.2), (0.025, 0.15), (3e-7, 5e-4), (5e-4, 0.1)))


class Backfall(Lever):
    """A straight lever on a bridge; the pin carries both rods."""

    kind = "backfall"
    title = "backfall"
    what = "backfall"
    fields = _lever_fields(_Usual(math.pi, (2.6, math.pi), (0.04, 0.6), (1e-6, 0.03), (2e-3, 0.5)))
