"""Couplers: what lets a key, or a lever of its train, move the key or a lever of another. They push one way only."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

from keyaction.models import algebra
from keyaction.models.fields.fields import Field, choice, length
from keyaction.models.fields.values import Values
from keyaction.models.many import maths
from keyaction.models.materials.types import SOLID
from keyaction.models.parts import arms
from keyaction.models.parts.base import Part, Shape, Shown
from keyaction.models.parts.common import GRAVITY, PIN_RUBS, measured_inertia, measured_mass, pin, pin_table
from keyaction.models.parts.felts import felt, felt_law, felt_table

if TYPE_CHECKING:
    from keyaction.models.algebra.builder import Builder, Coordinate, Port

Expr = Any
TAKE, GIVE = "take", "give"
"""Places of a coupler's contacts: on the played side, and on the driven one."""
AT_REST, UNSET = "x0_give", "not yet known"
"""What the gap lacks at rest of what sizes alone would leave, and its origin until the train's rest is known."""


def _side(name: str, doc: str) -> Field:
    return replace(choice(name, doc, "tail", "front", default="tail"), source="most couplers stand at the tails")


_ENDS = (
    length(
        "take_arm",
        "from the pivot of what it takes hold of to where it does; left out: where the rod hooks on",
        high=2.0,
        usual=(0.02, 0.6),
        source="common practice",
    ),
    _side("take_side", "on which side of the played key's pivot it takes hold"),
    length(
        "give_arm",
        "from the pivot of what it moves to where it does; left out: where the rod hooks on",
        high=2.0,
        usual=(0.02, 0.6),
        source="common practice",
    ),
    _side("give_side", "on which side of the driven key's pivot it works"),
    Field(
        "play",
        "gap where it gives, all keys at rest, before it moves what it drives",
        unit="m",
        low=0.0,
        high=0.02,
        usual=(0.0, 0.0015),
        default=0.0004,
        source="common practice: 0.3 to 0.5 mm",
    ),
    felt_table(
        "felt",
        "what quiets it where it takes hold",
        material="key-felt",
        thickness=0.002,
        area=8e-5,
    ),
)
_MASS = Field(
    "mass",
    "its mass",
    unit="kg",
    positive=True,
    high=1.0,
    usual=(0.001, 0.1),
    default=0.008,
    source="common practice",
)
_STIFFNESS = (
    Field(
        "stiffness",
        "stiffness of jack or sticker with its ends, where it gives",
        unit="N/m",
        positive=True,
        high=1e8,
        usual=(5e3, 1e6),
        default=4e4,
        source="common practice",
    ),
    Field(
        "damping",
        "rise of that force per speed of squeeze, F = k e (1 + damping x speed)",
        unit="s/m",
        low=0.0,
        high=50.0,
        usual=(0.1, 15.0),
        usual_source="assumed: as of a tracker's ends; common practice has no figure",
        default=3.0,
        source="assumed: as of a tracker's ends; common practice has no figure",
    ),
)


class Coupler(Part):
    """What all couplers share: where they take hold and what they move, a felted contact, and play."""

    role = "coupler"

    @classmethod
    def shape(cls, values: Values) -> Shape:
        """Whether it takes hold, and gives, at an arm of its own; and the side of the pivot: 1 tail, -1 front."""
        sides = [1 if values.text(f"{end}_side") != "front" else -1 for end in (TAKE, GIVE)]
        return (values.has("take_arm"), values.has("give_arm"), *sides)

    @classmethod
    def resolve(cls, values: Values) -> None:
        for end, told in ((TAKE, "where it takes hold, from the pivot there"), (GIVE, "where it gives, from there")):
            if values.has(f"{end}_arm"):
                values.set(f"r_{end}", values.number(f"{end}_arm"), "m", told, "case")
        values.set("play", values.number("play"), "m", "gap before it drives, all at rest", values.origin("play"))
        values.set(AT_REST, 0.0, "m", "way by which the driven side rests further off than sizes say", UNSET)
        felt(values, "felt", TAKE)

    @classmethod
    def ports(cls, builder: Builder, shape: Shape) -> tuple[Port, Port]:
        """Where it takes hold and where it gives."""
        taken, given = (builder.place(end) for end in builder.ends if end is not None)
        if shape[0]:
            taken = cls._at(builder, taken, TAKE, int(str(shape[2])))
        if shape[1]:
            given = cls._at(builder, given, GIVE, -int(str(shape[3])))
        return taken, given

    @classmethod
    def _at(cls, builder: Builder, hook: Port, end: str, sense: int) -> Port:
        """A place on the same body at an arm of its own; its pin bears what acts there in that sense."""
        body = hook.coordinate
        r = builder.param(f"r_{end}", "m", f"{end} arm from the pivot")
        return replace(hook, name=f"{body.name}.{builder.scope}", travel=r * algebra.sin(body.q), along=(sense, 0))

    @classmethod
    def takes(cls, builder: Builder, taken: Port, own: Port, squeezed: Expr) -> None:
        """The felted contact on the played side, squeezed at rest by what lies on it."""
        told = "felt where the coupler takes hold"
        builder.element(TAKE, "coupler", [(taken, 1), (own, -1)], felt_law(builder, TAKE), told, offset=squeezed)

    @classmethod
    def gives(cls, builder: Builder, own: Port, given: Port) -> None:
        """The contact on the driven side, behind the play."""
        law = algebra.Pull(
            builder.param("k", "N/m", "stiffness of jack or sticker"),
            builder.param("alpha", "s/m", "damping of its ends"),
        )
        play = builder.param("play", "m", "way before it drives")
        told, sunk = "coupler where it gives", cls.sunk(builder)
        builder.element(GIVE, "coupler", [(own, 1), (given, -1)], law, told, offset=sunk, slack=play)

    @classmethod
    def sunk(cls, builder: Builder) -> Expr:
        """How much further off the driven side rests than sizes say."""
        return builder.param(AT_REST, "m", "way by which the driven side rests further off than sizes say")

    @classmethod
    def push(cls, values: Values, resting: float) -> None:
        """Figures of the giving contact, and the squeeze of the felt under what rests on it (N)."""
        values.set("k", values.number("stiffness"), "N/m", "stiffness of jack or sticker", values.origin("stiffness"))
        values.set("alpha", values.number("damping"), "s/m", "damping of its ends", values.origin("damping"))
        squeeze = (maths.larger(resting, 0.0) / values.derived[f"K_{TAKE}"].value) ** (2 / 3)
        values.set("x0_take", squeeze, "m", "squeeze of its felt at rest", "equilibrium")

    @classmethod
    def squeezed(cls, builder: Builder) -> Expr:
        """The squeeze of the felt at rest."""
        return builder.param("x0_take", "m", "squeeze of its felt at rest")

    @classmethod
    def brief(cls, values: Values, shown: Shown) -> str:  # noqa: ARG003
        return f"play {shown('play')}"


class CouplerHook(Coupler):
    """A hook, or the heel of a keyboard that is shoved in: one contact between what is played and what is driven."""

    kind = "coupler-hook"
    title = "coupler hook or heel"
    fields = (*_ENDS, replace(_MASS, doc="mass that the played side carries, where it carries any", default=None))
    rubs = ()

    @classmethod
    def resolve(cls, values: Values) -> None:
        super().resolve(values)
        mass, origin = (values.number("mass"), values.origin("mass")) if values.has("mass") else (0.0, "none given")
        values.set("m", mass, "kg", "mass that the played side carries", origin)

    @classmethod
    def assemble(cls, builder: Builder, name: str, shape: Shape) -> None:  # noqa: ARG003
        taken, given = cls.ports(builder, shape)
        mass, g = builder.param("m", "kg", "mass"), builder.constant("g", "m/s^2", "acceleration of gravity")
        builder.point_mass(taken, mass)
        if shape[0]:
            builder.weight(int(str(shape[2])) * mass * g * taken.travel)
        told, play = "coupler where it gives", builder.param("play", "m", "way before it drives")
        law, sunk = felt_law(builder, TAKE), cls.sunk(builder)
        builder.element(GIVE, "coupler", [(taken, 1), (given, -1)], law, told, offset=sunk, slack=play)


class CouplerSticker(Coupler):
    """A lifted sticker: it stands on the played side by its weight, and pushes the driven side up."""

    kind = "coupler-sticker"
    title = "coupler sticker"
    fields = (*_ENDS, _MASS, *_STIFFNESS)
    rubs = ()

    @classmethod
    def resolve(cls, values: Values) -> None:
        super().resolve(values)
        values.set("m", values.number("mass"), "kg", "mass of the sticker", values.origin("mass"))
        cls.push(values, values.number("mass") * GRAVITY)

    @classmethod
    def assemble(cls, builder: Builder, name: str, shape: Shape) -> None:
        taken, given = cls.ports(builder, shape)
        body = builder.coordinate("m", f"way of {name}, upwards")
        mass, g = builder.param("m", "kg", "mass"), builder.constant("g", "m/s^2", "acceleration of gravity")
        builder.inertia(body, mass)
        builder.weight(mass * g * body.q)
        own = algebra.Port(name, body, body.q)
        cls.takes(builder, taken, own, cls.squeezed(builder))
        cls.gives(builder, own, given)


class CouplerLever(Coupler):
    """A rocking lever that lies on the played side and moves the driven one by its jack."""

    kind = "coupler-lever"
    title = "coupler lever with a jack"
    rubs = PIN_RUBS
    fields = (
        *_ENDS,
        *arms.both_fields((0.03, 0.4)),
        Field("material", "what the lever is made of", kind="material", kinds=SOLID),
        length("width", "width of the lever", high=0.1, usual=(0.005, 0.05), source="common practice"),
        length("thickness", "thickness of the lever", high=0.05, usual=(0.002, 0.02), source="common practice"),
        measured_inertia("measured inertia about the pin, in place of wood and size", (1e-7, 0.01)),
        measured_mass("measured mass, in place of wood and size", (5e-4, 0.3)),
        Field(
            "hold",
            "moment that lays it on the played side",
            unit="N*m",
            low=0.0,
            high=1.0,
            usual=(0.0005, 0.05),
            default=0.005,
            source="common practice: it falls back by its own weight",
        ),
        *_STIFFNESS,
        pin_table("cloth-on-pin", 0.0025, 0.0003),
    )

    @classmethod
    def resolve(cls, values: Values) -> None:
        super().resolve(values)
        arms.set_both(values)
        needs, how = arms.needs(), "two arms as bars"
        values.either("J", "kg*m^2", "inertia about its pin", "inertia", needs, lambda: arms.inertia(values), how)
        values.either("m", "kg", "mass of the lever", "mass", needs, lambda: sum(arms.masses(values)), how)
        values.set("W", GRAVITY * values.derived["m"].value, "N", "weight on its pin", "its mass")
        values.set("B", values.number("hold"), "N*m", "moment that lays it on the played side", values.origin("hold"))
        arms.set_ratio(values)
        pin(values)
        arm = values.number("in_arm") * maths.cos(values.number("in_arm_angle"))
        cls.push(values, values.number("hold") / arm if arm > 0 else 0.0)

    @classmethod
    def assemble(cls, builder: Builder, name: str, shape: Shape) -> None:  # noqa: ARG003
        taken, given = cls.ports(builder, shape)
        body = builder.coordinate("rad", "rotation of the coupler's lever")
        builder.inertia(body, builder.param("J", "kg*m^2", "inertia about its pin"))
        builder.weight(builder.param("B", "N*m", "moment that lays it on the played side") * body.q)
        pivot = builder.pin("", body, builder.param("W", "N", "weight on its pin"))
        cls.takes(builder, taken, _arm(builder, body, "in", pivot), cls.squeezed(builder))
        cls.gives(builder, _arm(builder, body, "out", pivot), given)

    @classmethod
    def brief(cls, values: Values, shown: Shown) -> str:  # noqa: ARG003
        return f"{shown('r_in')} : {shown('r_out')}, play {shown('play')}"


def _arm(builder: Builder, body: Coordinate, end: str, pivot: Any) -> Port:
    made: Port = algebra.arm(builder, body, end, (1, 0), pivot)
    return made


class CouplerTumbler(CouplerLever):
    """A tumbler: a short lever that is turned in between the two sides when the coupler is drawn."""

    kind = "coupler-tumbler"
    title = "coupler tumbler"
    fields = tuple(
        replace(one, usual=(0.008, 0.06)) if one.name in ("in_arm", "out_arm") else one for one in CouplerLever.fields
    )
