"""The two-stage beam: a loose lever that turns about a near fulcrum first, and then about a farther one."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from keyaction.models import algebra
from keyaction.models.fields.fields import Field, choice, length
from keyaction.models.fields.values import Values
from keyaction.models.many import maths
from keyaction.models.materials.types import SOLID
from keyaction.models.parts.arms import arm_fields, set_arm
from keyaction.models.parts.base import Part, Shape, Shown
from keyaction.models.parts.common import SIZED, box_inertia, imbalance, measured_mass
from keyaction.models.parts.felts import felt, felt_law, felt_table

if TYPE_CHECKING:
    from keyaction.models.algebra.builder import Builder, Coordinate, Port

_SIZES = ("material", "width", "thickness", "in_arm", "out_arm", "second_at")


class Beam(Part):
    """Two coordinates: the turn of the beam, and the way of its near fulcrum's place off the felt there.

    `beyond`: both rods pull on one side of the fulcrums, and a point at x goes x turn + way. `between`: the rods pull
    on either side, and the in arm goes x turn - way. The second fulcrum stands off the beam by its gap; as the beam
    turns, its place there comes to the felt with second_at x turn - way, and from then on the beam turns about it.
    """

    kind = "beam"
    title = "two-stage beam"
    role = "lever"
    outlets = ("out",)
    stages = (("second", "turns about its second fulcrum"),)
    fields = (
        *arm_fields("in_arm", "from the near fulcrum to the rod from the key", (0.03, 0.4)),
        *arm_fields("out_arm", "from the near fulcrum to the rod to the pallet", (0.005, 0.2)),
        choice(
            "fulcrums",
            "beyond: both rods on one side of them; between: the second one lies between near fulcrum and in arm",
            "beyond",
            "between",
        ),
        length(
            "second_at",
            "from the near fulcrum to the second one",
            high=1.0,
            usual=(0.01, 0.3),
            source="common practice",
        ),
        length(
            "second_gap",
            "way of the beam's place there until the second fulcrum's felt is touched",
            high=0.03,
            usual=(0.0003, 0.008),
            source="common practice: set by a nut so that the pallet has cracked by then",
        ),
        felt_table("near_felt", "felt of the near fulcrum"),
        felt_table("second_felt", "felt of the second fulcrum"),
        Field(
            "hold",
            "force that lays the beam on its near fulcrum at rest: its weight, or a spring",
            unit="N",
            low=0.0,
            high=20.0,
            usual=(0.02, 1.5),
            usual_source="common practice",
            default=0.1,
            source="common practice: about the weight of a small beam",
        ),
        imbalance("moment of its weight about the near fulcrum, positive when it helps the finger"),
        Field("material", "what it is made of", kind="material", kinds=SOLID),
        length("width", "width of the beam", high=0.2, usual=(0.006, 0.06), source="common practice"),
        length("thickness", "thickness of the beam", high=0.1, usual=(0.004, 0.04), source="common practice"),
        measured_mass("measured mass, in place of its size", (0.003, 0.3)),
        Field(
            "inertia",
            "measured inertia about the near fulcrum, in place of its size",
            unit="kg*m^2",
            positive=True,
            high=1.0,
            usual=(1e-6, 0.01),
            source=SIZED,
        ),
        Field(
            "middle",
            "from the near fulcrum towards the in arm to its centre of mass, in place of its size",
            unit="m",
            low=-1.0,
            high=1.0,
            usual=(-0.15, 0.2),
            source=SIZED,
        ),
    )

    @classmethod
    def resolve(cls, values: Values) -> None:
        set_arm(values, "in_arm", "in")
        set_arm(values, "out_arm", "out")
        values.set("r_second", values.number("second_at"), "m", "second fulcrum from the near one", "case")
        values.set("gap_second", values.number("second_gap"), "m", "way until its felt is touched", "case")
        felt(values, "near_felt", "near")
        felt(values, "second_felt", "second")
        beyond = _beyond(values)
        _masses(values, beyond)
        values.set("hold", values.number("hold"), "N", "force that lays it on its near fulcrum", values.origin("hold"))
        values.set("B", values.number("imbalance"), "N*m", "moment of its weight", values.origin("imbalance"))
        k = values.derived["K_near"].value
        values.set("x0_near", (values.number("hold") / k) ** (2 / 3), "m", "squeeze of the near felt at rest", "hold")
        near, far, second = (values.number(one) for one in ("in_arm", "out_arm", "second_at"))
        values.fact("ratio", far / near, "", "way out per way in about the near fulcrum, arms square")
        rest = near + second if beyond else near - second
        if rest <= 0.0:
            values.refuse("second_at", "m", "not short of the in arm, between which and the near fulcrum it lies")
            return
        values.fact("ratio_second", (far + second) / rest, "", "the same about the second fulcrum")

    @classmethod
    def shape(cls, values: Values) -> Shape:
        """+1: both rods on one side of the fulcrums; -1: on either side."""
        return (1 if _beyond(values) else -1,)

    @classmethod
    def assemble(cls, builder: Builder, name: str, shape: Shape) -> None:
        p = builder.param
        turn = builder.coordinate("rad", "rotation of the beam")
        off = builder.coordinate("m", "way of the beam off its near fulcrum", piece="off")
        side = int(str(shape[0]))
        mass, middle = p("m", "kg", "mass of the beam"), p("r_mid", "m", "its middle from the near fulcrum")
        builder.inertia(turn, p("J_mid", "kg*m^2", "inertia about its middle"))
        way = algebra.Port(f"{name}.middle", turn, middle * turn.q, beside=_off(name, off, side))
        builder.point_mass(way, mass)
        builder.weight(p("hold", "N", "force that lays it on its near fulcrum") * off.q)
        builder.weight(-p("B", "N*m", "moment of its weight, helping the finger") * turn.q)
        near = algebra.Port(f"{name}.near", off, off.q)
        squeezed = p("x0_near", "m", "squeeze of the near felt at rest")
        law = felt_law(builder, "near")
        builder.element("near", "felt", [(near, -1)], law, "felt of the near fulcrum", offset=squeezed)
        place = algebra.Port(f"{name}.second", turn, p("r_second", "m", "second fulcrum from the near one") * turn.q)
        gap = p("gap_second", "m", "way until the second felt is touched")
        law = felt_law(builder, "second")
        builder.element("second", "felt", [(place, 1), (near, -1)], law, "felt of the second fulcrum", offset=-gap)
        arrives = algebra.arm(builder, turn, "in", (1, 0), None)
        builder.arrive(replace(arrives, beside=_off(name, off, side)))
        builder.outlet(replace(algebra.arm(builder, turn, "out", (1, 0), None), beside=_off(name, off, 1)))

    @classmethod
    def brief(cls, values: Values, shown: Shown) -> str:  # noqa: ARG003
        return f"{shown('r_in')} : {shown('r_out')}, then over {shown('r_second')}"


def _beyond(values: Values) -> bool:
    return not values.has("fulcrums") or values.text("fulcrums") == "beyond"


def _off(name: str, off: Coordinate, sign: int) -> Port:
    """What the way off the near fulcrum adds to a point's."""
    made: Port = algebra.Port(f"{name}.off", off, sign * off.q)
    return made


def _masses(values: Values, beyond: bool) -> None:
    """A bar from the second fulcrum, or the out arm, to the in arm, unless it is measured."""
    near, far, second = (values.number(one) for one in ("in_arm", "out_arm", "second_at"))
    back = second if beyond else far
    front = maths.larger(near, far) if beyond else near
    long = front + back

    def mass() -> float:
        section = values.number("width") * values.number("thickness")
        return values.of("material", "density") * section * long

    m = values.either("m", "kg", "mass of the beam", "mass", _SIZES, mass, "a bar of its size")
    middle = values.number("middle") if values.has("middle") else (front - back) / 2
    values.set("r_mid", middle, "m", "its middle from the near fulcrum", "case" if values.has("middle") else "a bar")
    thick = values.number("thickness") if values.has("thickness") else 0.0

    def about_fulcrum() -> float:
        half = long / 2
        return 2 * box_inertia(m / 2, half, thick) + m * ((front - back) / 2) ** 2

    total = values.either(
        "J", "kg*m^2", "inertia about the near fulcrum", "inertia", _SIZES, about_fulcrum, "a bar of its size"
    )
    least = total - m * middle**2
    if least <= 0.0:
        values.defects.append("inertia: less than mass x middle squared; no body has so little about its near fulcrum")
        least = total
    values.set("J_mid", least, "kg*m^2", "inertia about its middle", "about the fulcrum, less mass x middle squared")
