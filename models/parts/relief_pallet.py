"""The relief pallet: a small front pallet, jointed to the large one, opens first and lifts it after a gap."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import TYPE_CHECKING

from keyaction.models import algebra
from keyaction.models.fields.fields import Field, length
from keyaction.models.fields.values import Values, Warned
from keyaction.models.parts import stop
from keyaction.models.parts.base import Shape, Shown
from keyaction.models.parts.common import GRAVITY, box_inertia
from keyaction.models.parts.felts import felt, felt_law, felt_table
from keyaction.models.parts.pallet import OPENS, Pallet
from keyaction.models.units.quantity import format_value

if TYPE_CHECKING:
    from keyaction.models.algebra.builder import Builder, Coordinate, Port
    from keyaction.models.algebra.names import Name

_LIFT = felt_table("lift", "what the front pallet lifts the large one by, and its felt", usual_area=(1e-5, 1e-3))
_OWN = (
    length(
        "joint",
        "from the hinge to the joint of the front pallet",
        high=1.0,
        usual=(0.05, 0.32),
        source="common practice: the front pallet is a fifth to a third of the whole",
    ),
    Field(
        "front_force",
        "force at the eye with which spring and leather of the joint hold the front pallet shut",
        unit="N",
        low=0.0,
        high=10.0,
        usual=(0.02, 1.0),
        usual_source="common practice",
        default=0.2,
        source="common practice: just enough to shut it without wind",
    ),
    Field(
        "front_rate",
        "rise of that force per way of the eye",
        unit="N/m",
        low=0.0,
        high=1e4,
        usual=(0.0, 100.0),
        usual_source="common practice",
        default=10.0,
        source="assumed: a strip of leather and a weak spring",
    ),
    replace(
        _LIFT,
        fields=(
            length(
                "gap",
                "way of the eye, the large pallet shut, until its felt is touched",
                high=0.02,
                usual=(0.0005, 0.004),
                source="common practice: 1 to 3 mm",
            ),
            length(
                "at",
                "from the hinge to the felt; half way from the joint to the eye unless given",
                high=1.0,
                usual=(0.06, 0.38),
                source="common practice",
            ),
            *_LIFT.fields,
        ),
    ),
)


class ReliefPallet(Pallet):
    """Two bodies: the large pallet about its hinge, and the front one about its joint, which the large one carries.

    The way of a point of the front pallet is joint x turn of the large one + distance from the joint x its own turn.
    Wind, seat and weight act on both by that way; the gaps of both let the wind into one opening.
    """

    kind = "relief-pallet"
    title = "relief pallet"
    fields = (*(one for one in Pallet.fields if one.name != "bending"), *_OWN)

    @classmethod
    def resolve(cls, values: Values) -> None:
        super().resolve(values)
        joint = values.number("joint")
        values.set("r_joint", joint, "m", "joint from the hinge", "case")
        values.set("r_front", values.number("eye") - joint, "m", "eye from the joint", "eye less joint")
        slant = values.derived["delta_eye"]
        values.set("delta_front", slant.value, slant.unit, slant.doc, slant.origin)
        if not _in_order(values):
            return
        _areas(values, joint)
        _weights(values, joint)
        _seats(values, joint)
        eye = values.derived["r_front"].value
        values.set(
            "M0_front",
            values.number("front_force") * eye,
            "N*m",
            "moment that holds the front pallet shut",
            values.origin("front_force"),
        )
        values.set(
            "k_front",
            values.number("front_rate") * eye**2,
            "N*m/rad",
            "rise of that moment per turn",
            values.origin("front_rate"),
        )
        at = values.number("lift.at") - joint if values.has("lift.at") else eye / 2
        values.set("r_lift", at, "m", "felt that lifts the large pallet from the joint", "case or half way to the eye")
        values.set(
            "gap_lift", values.number("lift.gap") / eye * at, "m", "way there until it is touched", "gap x place"
        )
        felt(values, "lift", "lift")

    @classmethod
    def _bend(cls, values: Values, whole: float) -> None:
        """A jointed pallet gives at its joint; the short pieces are taken as stiff."""

    @classmethod
    def settle(cls, values: Values, train: Mapping[str, Values]) -> None:
        """Both seats are squeezed at rest by spring and wind, the front pallet's about its joint."""
        spring, box = train["spring"].derived, train["box"].derived
        of = {name: item.value for name, item in values.derived.items()}
        wind, eye = box["p_box"].value, of["r_front"]
        quiet = of["M0_front"] - of["B_front"]
        shut = max(quiet + of["S_front"] * wind, 0.0)
        front = max(shut / (of["r_seat_front"] * of["K_seat_front"]), 0.0) ** (2 / 3)
        closing = spring["M0"].value - of["M0_front"] - of["B"] + of["S_wind"] * wind
        borne = closing - of["r_joint"] * shut / of["r_seat_front"]
        squeeze = max(borne / (of["r_seat"] * of["K_seat"]), 0.0) ** (2 / 3)
        how = "equilibrium of springs, wind, weights and seats"
        values.set("x0_seat", squeeze, "m", "squeeze of the large pallet's seat at rest, wind on", how)
        values.set("x0_front", front, "m", "squeeze of the front pallet's seat at rest, wind on", how)
        values.set("q_open", squeeze / of["r_seat"], "rad", "turn at which the large pallet's gap opens", "its seat")
        values.set(
            "q_front", front / of["r_seat_front"], "rad", "turn at which the front pallet's gap opens", "its seat"
        )
        values.fact("closing_no_wind", quiet / eye, "N", "closing force of the front pallet at the eye at zero wind")
        values.fact("wind_at_eye", of["S_front"] * wind / eye, "N", "wind's force on the front pallet at the eye, shut")
        both = spring["M0"].value - of["B_both"] + (of["S_wind"] + of["S_front"]) * wind
        values.fact("both_at_eye", both / values.number("eye"), "N", "force at the eye that opens both at full wind")
        for name, left in (("the spring", borne), ("its own spring", quiet)):
            if left <= 0.0:
                which = "large" if name == "the spring" else "front"
                told = f"{name} does not close the {which} pallet: it leaks, or the note sounds unplayed (a cipher)"
                values.warnings.append(Warned(told, told))

    @classmethod
    def assemble(cls, builder: Builder, name: str, shape: Shape) -> None:
        p = builder.param
        main = builder.coordinate("rad", "rotation of the large pallet")
        front = builder.coordinate("rad", "rotation of the front pallet", piece="front")
        hinge = builder.pin("", main, p("W", "N", "weight in the sense of opening"))
        builder.bears(hinge, p("W_along", "N", "weight along the board"), (0, 1))
        on = _Front(builder, name, main, front, hinge)
        builder.inertia(main, p("J", "kg*m^2", "inertia of the large pallet about its hinge"))
        builder.inertia(front, p("J_front", "kg*m^2", "inertia of the front pallet about its middle"))
        builder.point_mass(
            on.at(p("r_mid", "m", "middle of the front pallet from its joint"), hinged=False),
            p("m_front", "kg", "mass of the front pallet"),
        )
        builder.weight(-p("B", "N*m", "moment of weight on the large pallet, opening") * algebra.sin(main.q))
        builder.weight(-p("B_front", "N*m", "moment of weight on the front pallet, opening") * algebra.sin(front.q))
        arm = algebra.arm(builder, front, "front", (1, 0), None)
        eye = replace(arm, name=f"{name}.eye", beside=on.carried)
        builder.arrive(eye)
        _seated(builder, name, main, on, hinge)
        turned = [(algebra.Port(f"{name}.front", front, front.q), 1), (algebra.Port(f"{name}.joint", main, main.q), -1)]
        held = algebra.Preloaded(p("M0_front", "N*m", "moment that shuts it"), p("k_front", "N*m/rad", "its rise"))
        builder.element("front", "spring", turned, held, "spring of the front pallet", unit="rad")
        reach = p("r_lift", "m", "lifting felt from the joint")
        lifted = [(replace(one, travel=reach * one.travel), sign) for one, sign in turned]
        gap = p("gap_lift", "m", "way until the lifting felt is touched")
        builder.element(
            "lift", "felt", lifted, felt_law(builder, "lift"), "felt that lifts the large pallet", offset=-gap
        )
        if shape[0]:
            stop.assemble(builder, name, main, hinge)
        _opens(builder, main, front, hinge)
        under = on.carried.travel + p("r_front", "m", "eye from the joint") * (
            front.q - p("q_front", "rad", "turn at which the front pallet's gap opens")
        )
        builder.observe("pallet_lift", eye.way, "m", "lift of the pallet at the eye")
        builder.observe("seat_gap", under, "m", "gap under the pallet at the eye, negative while the seat is squeezed")
        large = p("r_joint", "m", "joint from the hinge") * (main.q - p("q_open", "rad", "turn at which its gap opens"))
        builder.observe("large_gap", large, "m", "gap under the large pallet at the joint, negative while it is shut")
        builder.outlet(eye)

    @classmethod
    def brief(cls, values: Values, shown: Shown) -> str:  # noqa: ARG003
        return f"{shown('m')}, opening {shown('A_slot')}, front from {shown('r_joint')}"


def _in_order(values: Values) -> bool:
    """Whether joint, felt and eye follow one another from the hinge; what does not is a defect."""
    near = values.number("hinge_to_opening")
    eye, joint = values.number("eye"), values.number("joint")
    if not near < joint < eye:
        told = f"the joint lies between the opening's near end and the eye; allowed: {format_value(near, 'm')} to "
        values.refuse("joint", "m", f"{told}{format_value(eye, 'm')}, ends excluded")
        return False
    if values.has("lift.at") and not joint < values.number("lift.at"):
        values.refuse("lift.at", "m", f"behind the joint; allowed: more than {format_value(joint, 'm')}")
        return False
    return True


def _areas(values: Values, joint: float) -> None:
    """What the wind presses on and what opens, of both pallets."""
    w, d0 = values.number("opening_width"), values.number("hinge_to_opening")
    margin = values.number("sealing_margin")
    near, end = max(d0 - margin, 0.0), d0 + values.number("opening_length")
    wide, ahead = w + 2 * margin, end + margin - joint
    how = "moment of the sealed area, by the way of its points"
    values.set("S_wind", wide * ((joint**2 - near**2) / 2 + ahead * joint), "m^3", "wind's torque per pressure", how)
    values.set("S_front", wide * ahead**2 / 2, "m^3", "wind's torque per pressure on the front pallet", how)
    front = end - joint
    how = "geometry of the gap: rear, front and two sides"
    values.set("gap", w * d0 + joint**2 - d0**2 + (2 * front + w) * joint, "m^2", "opened area per turn", how)
    values.set("gap_front", front**2 + w * front, "m^2", "opened area per turn of the front pallet", how)


def _weights(values: Values, joint: float) -> None:
    """Masses shared by length; the front one's hangs on the joint as well as on its own turn."""
    long = sum(values.number(one) for one in ("hinge_to_opening", "opening_length", "overlap"))
    whole, ahead = max(long, joint * (1 + 1e-6)), max(long - joint, joint * 1e-6)
    mass = values.derived["m"].value
    front, thick = mass * ahead / whole, values.number("thickness") if values.has("thickness") else 0.0
    how = "shared by length at the joint"
    large = box_inertia(mass - front, joint, thick)
    if values.has("inertia"):
        large = values.number("inertia") * (joint / whole) ** 3
    values.set("m_front", front, "kg", "mass of the front pallet", how)
    values.set("r_mid", ahead / 2, "m", "middle of the front pallet from its joint", how)
    values.set("J", large, "kg*m^2", "inertia of the large pallet about its hinge", how)
    values.set(
        "J_front", front * (ahead**2 + thick**2) / 12, "kg*m^2", "inertia of the front pallet", "bar, its middle"
    )
    pull = OPENS[values.text("opens") or "sideways"] * GRAVITY
    values.fact(
        "B_both", pull * mass * whole / 2, "N*m", "moment of both weights about the hinge", "mass at its middle"
    )
    values.set(
        "B", pull * ((mass - front) * joint / 2 + front * joint), "N*m", "moment of weight, opening positive", how
    )
    values.set("B_front", pull * front * ahead / 2, "N*m", "moment of the front pallet's weight about its joint", how)


def _seats(values: Values, joint: float) -> None:
    """The felt's stiffness shared by what each pallet covers, and where each seat's resultant is."""
    d0 = values.number("hinge_to_opening")
    long = values.number("opening_length")
    front = d0 + long - joint
    share, whole = front / long, values.derived["K_seat"]
    values.set("K_seat", whole.value * (1 - share), whole.unit, whole.doc, "shared by what each pallet covers")
    values.set(
        "K_seat_front", whole.value * share, whole.unit, "stiffness of the front pallet's seat", "shared likewise"
    )
    alpha = values.derived["alpha_seat"]
    values.set("alpha_seat_front", alpha.value, alpha.unit, alpha.doc, alpha.origin)
    how = "even bed along the sides of the opening"
    at = 2 / 3 * (joint**3 - d0**3) / (joint**2 - d0**2)
    values.set("r_seat", at, "m", "place of the large pallet's seat from the hinge", how)
    values.set("r_seat_front", 2 / 3 * front, "m", "place of the front pallet's seat from the joint", how)


class _Front:
    """Points of the front pallet: what the large one's turn and its own make of their way."""

    def __init__(self, builder: Builder, name: str, main: Coordinate, front: Coordinate, hinge: Name) -> None:
        self.name, self.front = name, front
        joint = builder.param("r_joint", "m", "joint from the hinge")
        self.free = algebra.Port(f"{name}.joint", main, joint * main.q)
        self.carried = replace(self.free, along=(1, 0), pin=hinge)

    def at(self, place: object, hinged: bool = True) -> Port:
        """The point `place` ahead of the joint; what acts there bears on the hinge unless it is no force."""
        return algebra.Port(
            f"{self.name}.front",
            self.front,
            place * self.front.q,
            beside=self.carried if hinged else self.free,  # type: ignore[operator]
        )


def _seated(builder: Builder, name: str, main: Coordinate, on: _Front, hinge: Name) -> None:
    p = builder.param
    large = algebra.Port(f"{name}.seat", main, p("r_seat", "m", "place of the large seat") * main.q, (1, 0), hinge)
    law = felt_law(builder, "seat")
    squeezed = p("x0_seat", "m", "squeeze of the large pallet's seat at rest")
    builder.element("seat", "felt", [(large, -1)], law, "seat of the large pallet", offset=squeezed)
    small = on.at(p("r_seat_front", "m", "place of the front seat from the joint"))
    squeezed = p("x0_front", "m", "squeeze of the front pallet's seat at rest")
    law = felt_law(builder, "seat_front")
    builder.element("seat_front", "felt", [(small, -1)], law, "seat of the front pallet", offset=squeezed)


def _opens(builder: Builder, main: Coordinate, front: Coordinate, hinge: Name) -> None:
    """Both gaps, the large one's counted from its joint on as far as the front one is carried with it."""
    p = builder.param
    large = algebra.pos(main.q - p("q_open", "rad", "turn at which the large pallet's gap opens"))
    small = algebra.pos(front.q - p("q_front", "rad", "turn at which the front pallet's gap opens"))
    opened = builder.define("open", large, "rad", "turn of the large pallet beyond its seat")
    ahead = builder.define("open_front", small, "rad", "turn of the front pallet beyond its seat")
    wedge, tip = p("gap", "m^2", "opened area per turn"), p("gap_front", "m^2", "opened area per turn of the front")
    leak = p("A_leak", "m^2", "open area past the shut pallet")
    gap = builder.define("A_gap", leak + opened * wedge + ahead * tip, "m^2", "area of both gaps")
    valve = algebra.Valve(
        main,
        gap,
        p("A_slot", "m^2", "area of the opening"),
        p("S_wind", "m^3", "wind's torque per pressure"),
        p("A_wind", "m^2", "area that the wind presses on"),
        hinge,
        jointed=((front, p("S_front", "m^3", "wind's torque per pressure on the front pallet")),),
    )
    builder.opens(valve)
