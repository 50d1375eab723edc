"""The relief pallet: a small front pallet, jointed to the large one, opens first and lifts it after a gap."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from keyaction.models import algebra
from keyaction.models.fields.values import Values, Warned
from keyaction.models.many import maths
from keyaction.models.parts import relief_sizes, stop
from keyaction.models.parts.base import Shape, Shown
from keyaction.models.parts.felts import felt, felt_law
from keyaction.models.parts.pallet import Pallet

if TYPE_CHECKING:
    from keyaction.models.algebra.builder import Builder, Coordinate, Port
    from keyaction.models.algebra.names import Name

Expr = Any


class ReliefPallet(Pallet):
    """Two bodies: the large pallet about its hinge, and the front one about its joint, which the large one carries.

    The felt that lifts the large one has a like on the other side, which keeps the front one from falling behind it.
    The way of a point of the front pallet is joint x turn of the large one + distance from the joint x its own turn.
    Wind, seat and weight act on both by that way; the gaps of both let the wind into one opening.
    """

    kind = "relief-pallet"
    title = "relief pallet"
    stages = (*Pallet.stages, ("large_gap", "lifts its large pallet"))
    fields = (*(one for one in Pallet.fields if one.name != "bending"), *relief_sizes.OWN)

    @classmethod
    def resolve(cls, values: Values) -> None:
        super().resolve(values)
        joint = values.number("joint")
        values.set("r_joint", joint, "m", "joint from the hinge", "case")
        values.set("r_front", values.number("eye") - joint, "m", "eye from the joint", "eye less joint")
        slant = values.derived["delta_eye"]
        values.set("delta_front", slant.value, slant.unit, slant.doc, slant.origin)
        if not relief_sizes.in_order(values):
            return
        relief_sizes.areas(values, joint)
        relief_sizes.weights(values, joint)
        relief_sizes.seats(values, joint)
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
        shut = maths.larger(quiet + of["S_front"] * wind, 0.0)
        front = maths.larger(shut / (of["r_seat_front"] * of["K_seat_front"]), 0.0) ** (2 / 3)
        closing = spring["M0"].value - of["M0_front"] - of["B"] + of["S_wind"] * wind
        borne = closing - of["r_joint"] * shut / of["r_seat_front"]
        squeeze = maths.larger(borne / (of["r_seat"] * of["K_seat"]), 0.0) ** (2 / 3)
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
        if not values.remarks:
            return
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
        law = felt_law(builder, "lift")
        builder.element("lift", "felt", lifted, law, "felt that lifts the large pallet", offset=-gap)
        behind = [(one, -sign) for one, sign in lifted]
        builder.element("line", "felt", behind, law, "felt that keeps the front pallet from falling behind")
        if shape[0]:
            stop.assemble(builder, name, main, hinge)
        under = _opens(builder, main, front, hinge)
        builder.observe("pallet_lift", eye.way, "m", "lift of the pallet at the eye")
        builder.observe("seat_gap", under, "m", "gap under the pallet at the eye, negative while the seat is squeezed")
        large = p("r_joint", "m", "joint from the hinge") * (main.q - p("q_open", "rad", "turn at which its gap opens"))
        builder.observe("large_gap", large, "m", "gap under the large pallet at the joint, negative while it is shut")
        builder.outlet(eye)

    @classmethod
    def brief(cls, values: Values, shown: Shown) -> str:  # noqa: ARG003
        return f"{shown('m')}, opening {shown('A_slot')}, front from {shown('r_joint')}"


class _Front:
    """Points of the front pallet: what the large one's turn and its own make of their way."""

    def __init__(self, builder: Builder, name: str, main: Coordinate, front: Coordinate, hinge: Name) -> None:
        self.name, self.front = name, front
        joint = builder.param("r_joint", "m", "joint from the hinge")
        self.free = algebra.Port(f"{name}.joint", main, joint * main.q)
        self.carried = replace(self.free, along=(1, 0), pin=hinge)

    def at(self, place: Expr, hinged: bool = True) -> Port:
        """The point `place` ahead of the joint; what acts there bears on the hinge unless it is no force."""
        beside = self.carried if hinged else self.free
        made: Port = algebra.Port(f"{self.name}.front", self.front, place * self.front.q, beside=beside)
        return made


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


def _opens(builder: Builder, main: Coordinate, front: Coordinate, hinge: Name) -> Expr:
    """Both gaps, the large one's as far as the front one is carried with it; the gap at the eye.

    Once the front pallet is off, the large one's seat bears all, and the joint sinks a little: so much later it opens.
    """
    p = builder.param
    sunk = p("r_joint", "m", "joint from the hinge") * algebra.pos(-main.q)
    sunk = sunk / p("r_seat_front", "m", "place of the front seat from the joint")
    beyond = front.q - sunk - p("q_front", "rad", "turn at which the front pallet's gap opens")
    large = algebra.pos(main.q - p("q_open", "rad", "turn at which the large pallet's gap opens"))
    opened = builder.define("open", large, "rad", "turn of the large pallet beyond its seat")
    ahead = builder.define("open_front", algebra.pos(beyond), "rad", "turn of the front pallet beyond its seat")
    wedge, tip = p("gap", "m^2", "opened area per turn"), p("gap_front", "m^2", "opened area per turn of the front")
    leak = p("A_leak", "m^2", "open area past the shut pallet")
    gap = builder.define("A_gap", leak + opened * wedge + ahead * tip, "m^2", "area of both gaps")
    carried = p("r_joint", "m", "joint from the hinge") * algebra.pos(main.q)
    under = carried + p("r_front", "m", "eye from the joint") * beyond
    valve = algebra.Valve(
        main,
        gap,
        p("A_slot", "m^2", "area of the opening"),
        p("S_wind", "m^3", "wind's torque per pressure"),
        p("A_wind", "m^2", "area that the wind presses on"),
        hinge,
        under,
        ((front, p("S_front", "m^3", "wind's torque per pressure on the front pallet")),),
    )
    builder.opens(valve)
    return under
