"""The key: a lever under the finger, balanced on a pin or hung from its tail."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, ClassVar

from keyaction.models import algebra
from keyaction.models.fields.fields import Field, choice, length
from keyaction.models.fields.values import Values
from keyaction.models.formulas.bending import Bow, between, overhang
from keyaction.models.many import maths
from keyaction.models.parts.arms import arm_fields, set_arm
from keyaction.models.parts.base import Part, Shape, Shown
from keyaction.models.parts.bending import SWITCH, set_gives, upright
from keyaction.models.parts.common import (
    GRAVITY,
    PIN_RUBS,
    SIZED,
    measured_inertia,
    measured_mass,
    pin,
    pin_table,
    set_weight,
)
from keyaction.models.parts.felts import felt, felt_law, felt_table
from keyaction.models.parts.finger import hold, press
from keyaction.models.parts.geometry import check_key
from keyaction.models.units.names import STANDARD_GRAVITY

if TYPE_CHECKING:
    from keyaction.models.algebra.builder import Builder


def _beam(values: Values) -> tuple[float, float]:
    """Mass and first moment (forward positive) of the bare key stick."""
    front, tail = values.number("stick_front"), values.number("stick_tail")
    area = values.number("width") * values.number("height")
    mass = values.of("material", "density") * area * (front + tail)
    return mass, mass * (front - tail) / 2


def _bow(values: Values) -> Bow:
    """The stick under a rod's force, carried by its pin and by the finger: the key's way is that of its front."""
    front, arm = values.number("front"), values.number("arm")
    if values.text("balance") == "balanced":
        return overhang(arm, front)
    return between(arm, front - arm) if arm < front else overhang(arm - front, front)


def _leads(values: Values) -> list[tuple[float, float]]:
    rows = range(values.count_rows("leads"))
    return [(values.number(f"leads.{i}.mass"), values.number(f"leads.{i}.at")) for i in rows]


class Key(Part):
    """A key with its finger, rest felt and bottom felt."""

    kind = "key"
    title = "key"
    role = "key"
    outlets = ("out",)
    rubs = PIN_RUBS
    keyboard: ClassVar[str] = "manual"
    usual_pluck: ClassVar[tuple[float, float]] = (0.8, 2.5)
    """N: of an uncoupled keyboard of this kind (common practice)."""
    comfortable: ClassVar[float | None] = 150 * STANDARD_GRAVITY * 1e-3
    """N: pluck of one keyboard above which the trade calls a touch heavy (common practice: 150 gf)."""
    usual_coupled: ClassVar[tuple[float, float] | None] = (200 * STANDARD_GRAVITY * 1e-3, 400 * STANDARD_GRAVITY * 1e-3)
    """N: pluck of coupled keyboards (common practice: 200 to 400 gf; no survey is known)."""
    fields: ClassVar[tuple[Field, ...]] = (
        choice("balance", "balanced (pin near the middle) or tail-hinged (hung)", "balanced", "tail-hinged"),
        *arm_fields("front", "from the pivot to where the finger presses", usual=(0.12, 0.7)),
        *arm_fields("arm", "from the pivot to the first rod", usual=(0.05, 0.5)),
        length(
            "dip",
            "travel of the front until it touches the bottom felt",
            high=0.03,
            usual=(0.0075, 0.012),
            source="7.9 to 9.5 mm (console standard of the American Guild of Organists, 1933, second-hand); 9 to 11 mm "
            "(Dom Bedos, L'Art du facteur d'orgues, 1766-78, art. 473)",
        ),
        length(
            "stick_front",
            "from the pivot to the front end of the stick",
            high=2.0,
            usual=(0.12, 0.75),
            source="common practice",
        ),
        length(
            "stick_tail",
            "from the pivot to the tail end of the stick (small for a hung key)",
            high=2.0,
            usual=(0.004, 0.6),
            source="common practice",
        ),
        length(
            "width",
            "width of the stick",
            high=0.1,
            usual=(0.008, 0.03),
            source="seven naturals to an octave of about 165 mm: 23.5 mm each",
        ),
        length("height", "height of the stick", high=0.1, usual=(0.01, 0.04), source="common practice"),
        Field("material", "wood of the stick", kind="material"),
        Field(
            "leads",
            "lead weights let into the stick",
            kind="rows",
            fields=(
                Field(
                    "mass",
                    "mass of the weight",
                    unit="kg",
                    positive=True,
                    high=1.0,
                    usual=(0.005, 0.1),
                    source="common practice",
                ),
                Field(
                    "at",
                    "its place from the pivot, forward positive",
                    unit="m",
                    low=-1.0,
                    high=1.0,
                    usual=(-0.6, 0.6),
                    source="common practice",
                ),
            ),
        ),
        measured_inertia("measured inertia about the pivot, in place of the stick and leads", usual=(5e-4, 0.05)),
        Field(
            "balance_moment",
            "measured moment of weight about the pivot, front-heavy positive",
            unit="N*m",
            low=-5.0,
            high=5.0,
            usual=(-0.2, 0.6),
            source=SIZED,
        ),
        measured_mass("measured mass of the whole key", (0.03, 0.6)),
        felt_table("rest_felt", "where the key rests when not played"),
        felt_table("bottom_felt", "what stops the key at the bottom"),
        length(
            "rest_felt_at", "from the pivot to the rest felt", high=2.0, usual=(0.02, 0.7), source="common practice"
        ),
        SWITCH,
        pin_table("cloth-on-pin", 0.0025, 0.0005),
    )

    @classmethod
    def resolve(cls, values: Values) -> None:
        set_arm(values, "front", "front")
        set_arm(values, "arm", "out")
        stick = ("stick_front", "stick_tail", "width", "height", "material")
        leads = _leads(values)

        def inertia() -> float:
            mass, _ = _beam(values)
            front, tail = values.number("stick_front"), values.number("stick_tail")
            own = mass * ((front**3 + tail**3) / (3 * (front + tail)) + values.number("height") ** 2 / 12)
            return own + sum(lead * at**2 for lead, at in leads)

        values.either(
            "J",
            "kg*m^2",
            "inertia of the key about its pivot",
            "inertia",
            stick,
            inertia,
            "stick as a bar, leads as points",
        )
        values.either(
            "B",
            "N*m",
            "moment of the key's weight, front-heavy positive",
            "balance_moment",
            stick,
            lambda: GRAVITY * (_beam(values)[1] + sum(m * at for m, at in leads)),
            "stick and leads",
        )

        cls.lift(values)

        def mass() -> float:
            return _beam(values)[0] + sum(m for m, _ in leads)

        set_weight(values, "weight of the key on its pin", stick, mass, "stick and leads")
        sizes = ("width", "height", "front", "arm", "balance")
        if values.has(*sizes):
            bar = upright(values.number("width"), values.number("height"))
            set_gives(values, "material", sizes, bar, {"out": _bow(values)})
        values.set("dip", values.number("dip"), "m", "front travel at the bottom felt", "case")
        pin(values)
        felt(values, "bottom_felt", "bottom")
        felt(values, "rest_felt", "rest")
        at = "rest_felt_at" if values.has("rest_felt_at") else "front"
        values.set(
            "r_rest",
            values.number(at),
            "m",
            "rest felt from the pivot",
            "case" if at != "front" else "assumed: as far from the pivot as the finger",
        )
        check_key(values)
        closing = -values.derived["B"].value / values.derived["r_rest"].value
        squeezed = maths.larger(0.0, closing / values.derived["K_rest"].value) ** (2 / 3)
        values.set("x0_rest", squeezed, "m", "squeeze of the rest felt by the resting key", "equilibrium")

    @classmethod
    def driven(cls, values: Values) -> None:
        """Of a key that couplers move: the force with which another hand holds it down, which no case can give."""
        given = values.given.get("held")
        force = maths.number(given.value) if given else 0.0
        told = "force with which another hand holds the key down"
        values.set("f_held", force, "N", told, "given" if given else "no other hand")

    @classmethod
    def lift(cls, values: Values) -> None:
        """Put what else turns the resting key into its moment: nothing but its weight."""

    @classmethod
    def assemble(cls, builder: Builder, name: str, shape: Shape) -> None:
        body = builder.coordinate("rad", "rotation of the key")
        builder.inertia(body, builder.param("J", "kg*m^2", "inertia about the pivot"))
        builder.weight(-builder.param("B", "N*m", "moment of weight, front-heavy positive") * algebra.sin(body.q))
        pivot = builder.pin("", body, builder.param("W", "N", "weight on the pin"))
        inner = shape[0]
        front = algebra.arm(builder, body, "front", (1, 0), pivot)
        if len(builder.coordinates) == 1:
            press(builder, front)
        else:
            hold(builder, front)
        dip = builder.param("dip", "m", "front travel at the bottom felt")
        bed = replace(front, along=(-1, 0))
        builder.element("bottom", "felt", [(bed, 1)], felt_law(builder, "bottom"), "bottom felt", offset=-dip)
        rest = algebra.Port(
            f"{name}.rest",
            body,
            builder.param("r_rest", "m", "rest felt from the pivot") * body.q,
            (-int(str(inner)), 0),
            pivot,
        )
        builder.element(
            "rest",
            "felt",
            [(rest, -1)],
            felt_law(builder, "rest"),
            "rest felt",
            offset=builder.param("x0_rest", "m", "squeeze of the rest felt at rest"),
        )
        builder.outlet(algebra.arm(builder, body, "out", (int(str(inner)), 0), pivot))

    @classmethod
    def brief(cls, values: Values, shown: Shown) -> str:  # noqa: ARG003
        return f"inertia {shown('J')}, dip {shown('dip')}"

    @classmethod
    def shape(cls, values: Values) -> Shape:
        """+1: the rod's load adds to the finger's on the pin (balanced); -1: it relieves it (hung)."""
        return (1 if values.has("balance") and values.text("balance") == "balanced" else -1,)
