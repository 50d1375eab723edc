"""The pallet: a long hinged valve, held shut by its spring and by the wind."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, ClassVar

from keyaction.models import algebra
from keyaction.models.fields.fields import Field, choice, length
from keyaction.models.fields.values import Values, Warned
from keyaction.models.formulas.bending import pressed_evenly
from keyaction.models.many import maths
from keyaction.models.parts import stop
from keyaction.models.parts.base import Part, Shape, Shown
from keyaction.models.parts.bending import SWITCH, set_gives, upright
from keyaction.models.parts.common import (
    GRAVITY,
    PIN_RUBS,
    box_inertia,
    measured_inertia,
    measured_mass,
    pin,
    pin_table,
)
from keyaction.models.parts.felts import felt, felt_law, felt_table
from keyaction.models.parts.geometry import check_pallet

if TYPE_CHECKING:
    from keyaction.models.algebra.builder import Builder

_OPENING = "at most 325 x 20 mm in a manual (Dom Bedos, L'Art du facteur d'orgues, 1766-78, art. 473); common practice"
OPENS = {"down": 1.0, "sideways": 0.0, "up": -1.0}


class Pallet(Part):
    """Rotation about the tail; the seat is a felted or leathered face that seals until it is unloaded."""

    kind = "pallet"
    title = "pallet"
    role = "pallet"
    outlets = ("out",)
    stages: ClassVar[tuple[tuple[str, str], ...]] = (("seat_gap", "opens"),)
    rubs = PIN_RUBS
    fields: ClassVar[tuple[Field, ...]] = (
        length("opening_length", "length of the opening it covers", high=1.0, usual=(0.1, 0.35), source=_OPENING),
        length("opening_width", "width of the opening it covers", high=0.2, usual=(0.006, 0.03), source=_OPENING),
        Field(
            "hinge_to_opening",
            "from the hinge to the near end of the opening",
            unit="m",
            low=0.0,
            high=0.3,
            usual=(0.003, 0.05),
            source="common practice",
        ),
        Field(
            "sealing_margin",
            "how far outside the opening the leather seals; uncertain, a third of the wind's force "
            "lies between the opening's edge and the pallet's",
            unit="m",
            low=0.0,
            high=0.01,
            usual=(0.0, 0.004),
            source="cover of 3 mm each side (Dom Bedos, art. 473) to about 5 mm (common practice)",
        ),
        length(
            "eye",
            "from the hinge to the eye of the pull-down",
            high=1.0,
            usual=(0.05, 0.4),
            source="common practice",
        ),
        Field(
            "eye_angle",
            "angle past square to the pull-down at rest; below zero: short of it",
            unit="rad",
            low=-1.0,
            high=1.0,
            usual=(-0.35, 0.35),
            usual_source="common practice",
            default=0.0,
            source="arm square to its rod at rest",
        ),
        choice(
            "opens",
            "down, sideways or up: its own weight opens it, does nothing, or closes it",
            "down",
            "sideways",
            "up",
        ),
        length("thickness", "thickness of the wood", high=0.1, usual=(0.008, 0.035), source="common practice"),
        length(
            "overlap",
            "how far the wood reaches beyond the opening on each side",
            high=0.02,
            usual=(0.001, 0.01),
            usual_source="common practice",
            default=0.003,
            source="cover of 3 mm each side (Dom Bedos, L'Art du facteur d'orgues, 1766-78, art. 473)",
        ),
        Field("material", "wood of the pallet", kind="material"),
        measured_inertia("measured inertia about the hinge, in place of wood and size", usual=(1e-5, 0.01)),
        measured_mass("measured mass, in place of wood and size", (0.005, 0.3)),
        felt_table("seat", "felt and leather of the seat", usual_area=(3e-4, 9e-3)),
        Field(
            "seat_leak",
            "open area past the shut pallet, from the box into the groove",
            unit="m^2",
            low=0.0,
            high=1e-3,
            usual=(0.0, 2e-6),
            default=0.0,
            source="a tight seat",
        ),
        stop.table(),
        SWITCH,
        pin_table("leather-on-pin", 0.002, 0.0005),
    )

    @classmethod
    def resolve(cls, values: Values) -> None:
        long, w = values.number("opening_length"), values.number("opening_width")
        d0 = values.number("hinge_to_opening")
        margin = values.number("sealing_margin")
        near, far = maths.larger(d0 - margin, 0.0), d0 + long + margin
        values.set("r_eye", values.number("eye"), "m", "eye from the hinge", "case")
        values.set(
            "delta_eye",
            values.number("eye_angle"),
            "rad",
            "eye arm past square at rest, below zero before it",
            values.origin("eye_angle"),
        )
        values.set(
            "S_wind",
            (w + 2 * margin) * (far**2 - near**2) / 2,
            "m^3",
            "wind's closing torque per pressure",
            "moment of the sealed area about the hinge",
        )
        values.set(
            "gap",
            w * (d0 + long) + w * d0 + (d0 + long) ** 2 - d0**2,
            "m^2",
            "opened area per turn: front, rear and two sides",
            "geometry of the gap",
        )
        values.set("A_slot", long * w, "m^2", "area of the opening", "length x width")
        values.set(
            "A_wind", (w + 2 * margin) * (far - near), "m^2", "sealed area, which the wind presses on", "its sizes"
        )
        values.set(
            "A_leak",
            values.number("seat_leak"),
            "m^2",
            "open area past the shut pallet",
            values.origin("seat_leak") if values.has("seat_leak") else "none given",
        )
        needs = ("thickness", "material", "overlap")
        whole = d0 + long + values.number("overlap") if values.has("overlap") else d0 + long

        def mass() -> float:
            across = w + 2 * values.number("overlap")
            return values.of("material", "density") * values.number("thickness") * across * whole

        values.either("m", "kg", "mass of the pallet", "mass", needs, mass, "wood with its overlap")
        m = values.derived["m"].value
        thick = values.number("thickness") if values.has("thickness") else 0.0
        values.either(
            "J",
            "kg*m^2",
            "inertia of the pallet about its hinge",
            "inertia",
            ("opening_length",),
            lambda: box_inertia(m, whole, thick),
            "bar hinged at its tail",
        )
        opening = OPENS[values.text("opens") or "sideways"] * m * GRAVITY
        values.set(
            "B", opening * whole / 2, "N*m", "moment of the pallet's weight, opening positive", "mass at its middle"
        )
        values.set("W", opening, "N", "its weight in the sense of opening", "mass and which way it opens")
        values.set("W_along", m * GRAVITY - abs(opening), "N", "its weight along the board", "the rest of it")
        values.set(
            "r_seat",
            2 / 3 * ((d0 + long) ** 3 - d0**3) / ((d0 + long) ** 2 - d0**2),
            "m",
            "place of the seat's resultant from the hinge",
            "even bed along the sides of the opening, squeezed in proportion to the way from the hinge",
        )
        felt(values, "seat", "seat")
        stop.resolve(values)
        cls._bend(values, whole)
        pin(values)
        check_pallet(values)

    @classmethod
    def _bend(cls, values: Values, whole: float) -> None:
        """Between hinge and pull-down under the wind: its turn is the one that the wind's work is counted by."""
        sizes = ("thickness", "overlap", "opening_width", "eye")
        if values.has(*sizes):
            across = values.number("opening_width") + 2 * values.number("overlap")
            bow = pressed_evenly(maths.smaller(values.number("eye"), whole), whole)
            set_gives(values, "material", sizes, upright(across, values.number("thickness")), {"in": bow})

    @classmethod
    def shape(cls, values: Values) -> Shape:
        """Whether a stop limits its opening."""
        return (stop.given(values),)

    @classmethod
    def settle(cls, values: Values, train: Mapping[str, Values]) -> None:
        """The seat is squeezed by spring and wind at rest; the pallet leaves it when that squeeze is undone."""
        spring, box = train["spring"].derived, train["box"].derived
        quiet = spring["M0"].value - values.derived["B"].value
        closing = quiet + values.derived["S_wind"].value * box["p_box"].value
        r, k = values.derived["r_seat"].value, values.derived["K_seat"].value
        squeeze = maths.larger(closing / (r * k), 0.0) ** (2 / 3)
        values.set(
            "x0_seat",
            squeeze,
            "m",
            "squeeze of the seat at rest, wind on",
            "equilibrium of spring, wind, weight and seat",
        )
        values.set(
            "q_open",
            squeeze / r,
            "rad",
            "turn at which the seat is unloaded and the gap opens",
            "squeeze / place of the seat",
        )
        eye = values.derived["r_eye"].value
        values.fact("closing_no_wind", quiet / eye, "N", "closing force at the eye at zero wind")
        values.fact("wind_at_eye", (closing - quiet) / eye, "N", "wind's force at the eye, shut")
        values.fact(
            "half_area_rule",
            values.derived["A_slot"].value * box["p_box"].value / 2,
            "N",
            "half of opening area times pressure, pulled at the free edge",
        )
        if values.remarks:
            cls._remark(values, quiet, closing)

    @classmethod
    def _remark(cls, values: Values, quiet: float, closing: float) -> None:
        """Warn of a pallet that is not closed."""
        friction = values.derived["tau0"].value
        if quiet <= friction:
            open_by_itself = "the spring does not close the pallet at zero wind"
            sizes = f"closing moment {quiet * 1e3:.3g} N·mm, friction {friction * 1e3:.3g} N·mm"
            sounds = "the note would sound unplayed (a cipher)"
            full = f"{open_by_itself} ({sizes}): {sounds} until the wind shuts it"
            values.warnings.append(Warned(full, f"{open_by_itself}: {sounds}"))
        if closing <= friction:
            told = "spring and wind together do not close the pallet: the note sounds unplayed (a cipher)"
            values.warnings.append(Warned(told, told))

    @classmethod
    def assemble(cls, builder: Builder, name: str, shape: Shape) -> None:
        p = builder.param
        body = builder.coordinate("rad", "rotation of the pallet")
        builder.inertia(body, p("J", "kg*m^2", "inertia about the hinge"))
        builder.weight(-p("B", "N*m", "moment of weight, opening") * algebra.sin(body.q))
        hinge = builder.pin("", body, p("W", "N", "weight in the sense of opening"))
        builder.bears(hinge, p("W_along", "N", "weight along the board"), (0, 1))
        eye = algebra.arm(builder, body, "eye", (1, 0), hinge)
        builder.arrive(eye)
        seat = algebra.Port(f"{name}.seat", body, p("r_seat", "m", "place of the seat") * body.q, (1, 0), hinge)
        builder.element(
            "seat",
            "felt",
            [(seat, -1)],
            felt_law(builder, "seat"),
            "seat of the pallet",
            offset=p("x0_seat", "m", "squeeze of the seat at rest"),
        )
        if shape[0]:
            stop.assemble(builder, name, body, hinge)
        open_by = builder.define(
            "open",
            algebra.pos(body.q - p("q_open", "rad", "turn at which the gap opens")),
            "rad",
            "turn beyond the seat",
        )
        leak, wedge = p("A_leak", "m^2", "open area past the shut pallet"), p("gap", "m^2", "opened area per turn")
        gap = builder.define("A_gap", leak + open_by * wedge, "m^2", "area of the gap")
        under = p("r_eye", "m", "eye from the hinge") * (body.q - p("q_open", "rad", "turn at which the gap opens"))
        valve = algebra.Valve(
            body,
            gap,
            p("A_slot", "m^2", "area of the opening"),
            p("S_wind", "m^3", "wind's torque per pressure"),
            p("A_wind", "m^2", "area that the wind presses on"),
            hinge,
            under,
        )
        builder.opens(valve)
        builder.observe("pallet_lift", eye.travel, "m", "lift of the pallet at the eye")
        builder.observe("seat_gap", under, "m", "gap under the pallet at the eye, negative while the seat is squeezed")
        builder.outlet(eye)

    @classmethod
    def brief(cls, values: Values, shown: Shown) -> str:  # noqa: ARG003
        return f"{shown('m')}, opening {shown('A_slot')}, eye {shown('r_eye')}"
