"""The roller: a shaft with two arms that carries the motion sideways and twists on the way."""

from __future__ import annotations

from typing import TYPE_CHECKING

from keyaction.models import algebra
from keyaction.models.fields.fields import Field, choice, length
from keyaction.models.fields.values import Values
from keyaction.models.formulas.bending import between
from keyaction.models.materials.types import SOLID
from keyaction.models.parts import arms
from keyaction.models.parts.base import Part, Shape, Shown
from keyaction.models.parts.bending import SWITCH, set_gives
from keyaction.models.parts.common import (
    SIZED,
    Sizes,
    damped,
    end_pin_table,
    measured_inertia,
    measured_mass,
    pin,
    pin_table,
    section,
    section_fields,
    set_weight,
)
from keyaction.models.parts.geometry import check_roller
from keyaction.models.parts.roller_arms import roller_arms

if TYPE_CHECKING:
    from keyaction.models.algebra.builder import Builder


_SIZES = Sizes(
    length=(0.03, 2.5), diameter=(0.005, 0.045), wall=(0.0005, 0.006), width=(0.008, 0.045), thickness=(0.008, 0.045)
)


class Roller(Part):
    """Each end turns by itself; the shaft's inertia is shared between them, its torsion joins them."""

    kind = "roller"
    title = "roller"
    role = "lever"
    outlets = ("out",)
    rubs = ("tau0_in", "c_in", "tau0_out", "c_out")
    fields = (
        length("length", "shaft between the two arms", low=0.005, usual=_SIZES.length, source=_SIZES.source),
        *section_fields(_SIZES),
        *arms.both_fields(
            (0.03, 0.12), "51 to 76 mm (W. E. Dickson, Practical Organ-Building, 1882, p. 35); common practice"
        ),
        length(
            "pin_to_arm",
            "along the shaft from each of its pins to the arm beside it",
            high=1.0,
            usual=(0.005, 0.06),
            default=0.015,
            source="common practice",
        ),
        choice(
            "arms",
            "let-in: pieces of their own, of `arm_material` and its sizes; bent: the ends of the round shaft itself",
            "let-in",
            "bent",
        ),
        Field("arm_material", "what the arms are made of", kind="material", kinds=SOLID),
        length("arm_width", "width of an arm", high=0.1, usual=(0.005, 0.04), source="common practice"),
        length("arm_thickness", "thickness of an arm", high=0.05, usual=(0.0015, 0.025), source="common practice"),
        Field(
            "torsional_stiffness",
            "measured torque per twist, in place of the section",
            unit="N*m/rad",
            positive=True,
            high=1e5,
            usual=(2.0, 5000.0),
            source=SIZED,
        ),
        measured_inertia("measured inertia of shaft and arms, in place of their sizes", usual=(1e-6, 1e-3)),
        measured_mass("measured mass, in place of the sizes", (0.01, 1.5), 20.0),
        Field(
            "loss",
            "damping of the twist, as a share of critical",
            kind="number",
            low=0.0,
            high=1.0,
            usual=(0.001, 0.2),
            default=0.02,
            source="assumed; common practice has no figure",
        ),
        SWITCH,
        pin_table("cloth-on-pin", 0.003, 0.0003),
        end_pin_table("in"),
        end_pin_table("out"),
    )

    @classmethod
    def resolve(cls, values: Values) -> None:
        arms.set_both(values)
        bar = section(values) if values.has("section") else None
        shaft = ("length", "material", "section")
        made = roller_arms(values, bar)
        needs, how = shaft + made.needs, made.how

        def shaft_mass() -> float:
            return values.of("material", "density") * (bar.area if bar else 1.0) * values.number("length")

        def inertia() -> float:
            polar = bar.weak_axis + bar.strong_axis if bar else 1.0
            turning = values.of("material", "density") * values.number("length") * polar
            return turning + made.inertia()

        def mass() -> float:
            return shaft_mass() + made.mass()

        stiffness = values.either(
            "K",
            "N*m/rad",
            "torque per twist",
            "torsional_stiffness",
            shaft,
            lambda: values.of("material", "G") * (bar.torsion if bar else 1.0) / values.number("length"),
            "G J / L",
        )
        total = values.either(
            "J",
            "kg*m^2",
            "inertia of the roller, both ends",
            "inertia",
            needs,
            inertia,
            how,
        )
        set_weight(values, "weight of the roller", needs, mass, how)
        values.set(
            "C",
            damped(total / 4, stiffness, values.number("loss")),
            "N*m*s/rad",
            "damping of the twist",
            values.origin("loss"),
        )
        arms.set_ratio(values)
        made.set_bending()
        if values.has("length"):
            inset = values.number("pin_to_arm")
            bow = between(inset, values.number("length") + inset)
            set_gives(values, "material", shaft, bar, {"in": bow, "out": bow})
        pin(values, ("in", "out"))
        arms.set_senses(values)
        check_roller(values)

    @classmethod
    def hooked(cls, values: Values, end: str, rod: Values) -> None:
        arms.hook(values, end, rod)

    @classmethod
    def assemble(cls, builder: Builder, name: str, shape: Shape) -> None:  # noqa: ARG003
        p = builder.param
        near = builder.coordinate("rad", "rotation of the roller's end nearer the key", piece="in")
        far = builder.coordinate("rad", "rotation of the roller's end nearer the pallet", piece="out")
        inertia, weight = p("J", "kg*m^2", "inertia of the roller"), p("W", "N", "weight of the roller")
        for end in (near, far):
            builder.inertia(end, inertia / 2)
        near_pin, far_pin = builder.pin("in", near), builder.pin("out", far)
        for pivot, sense in zip((near_pin, far_pin), arms.senses(builder), strict=True):
            builder.bears(pivot, weight / 2, (sense, 1 - sense**2))  # seen from the rod's own line
        builder.arrive(algebra.arm(builder, near, "in", (1, 0), near_pin))
        twist = algebra.Bar(p("K", "N*m/rad", "torque per twist"), p("C", "N*m*s/rad", "damping of the twist"))
        builder.element(
            "twist",
            "twist",
            [(algebra.Port(near.name, near, near.q), 1), (algebra.Port(far.name, far, far.q), -1)],
            twist,
            f"twist of {name}",
            unit="rad",
        )
        builder.outlet(algebra.arm(builder, far, "out", (1, 0), far_pin))

    @classmethod
    def brief(cls, values: Values, shown: Shown) -> str:  # noqa: ARG003
        return f"{shown('K')}, {shown('r_in')} : {shown('r_out')}"
