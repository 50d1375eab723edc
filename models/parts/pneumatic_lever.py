"""The pneumatic lever: the key lets wind into a bellows, which pulls the rest of the run."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from keyaction.models import algebra
from keyaction.models.fields.fields import Field, length, table
from keyaction.models.fields.values import Values, Warned
from keyaction.models.parts.base import Part, Shape, Shown
from keyaction.models.parts.common import PIN_RUBS, pin, pin_table
from keyaction.models.parts.felts import felt, felt_law, felt_table
from keyaction.models.parts.wind import HEAT_RATIO, flow_field, leak_field

if TYPE_CHECKING:
    from keyaction.models.algebra.builder import Builder, Coordinate

Expr = Any


def _hole(name: str, doc: str, usual: tuple[float, float]) -> Field:
    return length(f"{name}_diameter", doc, high=0.1, usual=usual, source="common practice")


class PneumaticLever(Part):
    """V / (1.4 p) dp/dt = flow in - flow out - leak - volume swept by the bellows, V = dead volume + swept.

    Three bodies of the trade in two coordinates: the way of the inlet valve, which the rod from the key opens and to
    which the exhaust is linked, so that it shuts as the inlet opens; and the turn of the bellows' board, on which the
    pressure acts by area x arm, and which pulls the rod to the pallet. Nothing acts back on the key but the inlet.
    """

    kind = "pneumatic-lever"
    title = "pneumatic lever"
    role = "lever"
    outlets = ("out",)
    stages = (("rest", "moves its bellows"),)
    rubs = PIN_RUBS
    fields = (
        Field(
            "pressure",
            "pressure of the lever's own wind",
            unit="Pa",
            low=0.0,
            high=5000.0,
            usual=(980.0, 1475.0),
            source="100 to 150 mmH2O suffice (H. Kooiker, Het ORGEL 100, 2004, no. 5, 5-9, English summary)",
        ),
        table(
            "inlet",
            "the valve that the key opens",
            _hole("hole", "hole that it covers", (0.008, 0.04)),
            Field(
                "force",
                "force of its spring, shut",
                unit="N",
                low=0.0,
                high=10.0,
                usual=(0.05, 1.5),
                source="common practice",
            ),
            Field(
                "rate",
                "rise of that force per way",
                unit="N/m",
                low=0.0,
                high=5e3,
                usual=(2.0, 200.0),
                default=20.0,
                source="common practice",
            ),
            Field(
                "mass",
                "mass of the valve and what moves with it",
                unit="kg",
                positive=True,
                high=0.5,
                usual=(0.001, 0.05),
                default=0.005,
                source="common practice",
            ),
        ),
        table(
            "exhaust",
            "the valve that lets the wind out, linked to the inlet",
            _hole("hole", "hole that it covers", (0.008, 0.05)),
            length(
                "shut_at",
                "way of the inlet valve at which it is shut",
                high=0.02,
                usual=(0.0003, 0.006),
                source="common practice",
            ),
        ),
        table(
            "bellows",
            "the bellows that pulls",
            Field(
                "area",
                "area of its board",
                unit="m^2",
                positive=True,
                high=0.5,
                usual=(0.005, 0.06),
                source="common practice",
            ),
            length(
                "arm",
                "from its hinge to the middle of the board",
                high=1.0,
                usual=(0.05, 0.3),
                source="common practice",
            ),
            length(
                "opening",
                "way of the rod's hook until it is stopped",
                high=0.1,
                usual=(0.005, 0.04),
                source="common practice",
            ),
            Field(
                "dead_volume",
                "air in it and its channel, shut",
                unit="m^3",
                low=1e-6,
                high=0.05,
                usual=(3e-5, 0.002),
                source="common practice",
            ),
            leak_field("open area of its leaks"),
            Field(
                "inertia",
                "of its board with what is fixed to it, about the hinge",
                unit="kg*m^2",
                positive=True,
                high=1.0,
                usual=(1e-4, 0.02),
                source="computed from boards of the usual sizes",
            ),
            Field(
                "closing",
                "moment of its weight and spring that shuts it",
                unit="N*m",
                low=0.0,
                high=20.0,
                usual=(0.01, 1.0),
                usual_source="common practice",
                default=0.05,
                source="assumed: about the weight of a small board",
            ),
        ),
        length(
            "out_arm",
            "from the bellows' hinge to the rod to the pallet",
            high=2.0,
            usual=(0.05, 0.5),
            source="common practice",
        ),
        felt_table("inlet_felt", "felt or leather of the inlet's seat", usual_area=(3e-5, 2e-3)),
        felt_table("rest_felt", "where the shut bellows rests"),
        felt_table("end_felt", "what stops the open bellows"),
        flow_field("flow", "flow coefficient of its holes"),
        pin_table("leather-on-pin", 0.003, 0.001),
    )

    @classmethod
    def resolve(cls, values: Values) -> None:
        pressure = values.number("pressure")
        values.set("p_lever", pressure, "Pa", "pressure of the lever's wind", "case")
        hole = values.number("inlet.hole_diameter")
        values.set(
            "A_valve", math.pi * hole**2 / 4, "m^2", "hole of the inlet, which the wind presses on", "its diameter"
        )
        values.set("edge_in", math.pi * hole, "m", "opened area per way of the inlet", "edge of its hole")
        out = values.number("exhaust.hole_diameter")
        values.set("A_exhaust", math.pi * out**2 / 4, "m^2", "hole of the exhaust", "its diameter")
        values.set("edge_out", math.pi * out, "m", "opened area per way of the exhaust", "edge of its hole")
        values.set("x_shut", values.number("exhaust.shut_at"), "m", "way at which the exhaust is shut", "case")
        values.set("m", values.number("inlet.mass"), "kg", "mass of the inlet valve", values.origin("inlet.mass"))
        values.set("F0", values.number("inlet.force"), "N", "force of the inlet's spring", "case")
        values.set("k", values.number("inlet.rate"), "N/m", "rise of that force", values.origin("inlet.rate"))
        felt(values, "inlet_felt", "seat")
        cls._bellows(values)
        shut = values.derived["F0"].value + values.derived["A_valve"].value * pressure
        squeeze = (shut / values.derived["K_seat"].value) ** (2 / 3)
        values.set("x0_seat", squeeze, "m", "squeeze of the inlet's seat at rest", "equilibrium of wind and spring")
        values.fact("inlet_force", shut, "N", "force that opens the inlet", "hole x pressure and its spring")
        if values.remarks and values.number("exhaust.shut_at") <= squeeze:
            told = "the exhaust shuts before the inlet leaves its seat: the bellows keeps its wind"
            values.warnings.append(Warned(told, told))
        pin(values)

    @classmethod
    def _bellows(cls, values: Values) -> None:
        area, arm = values.number("bellows.area"), values.number("bellows.arm")
        out, opening = values.number("out_arm"), values.number("bellows.opening")
        flow, pressure = values.number("flow"), values.number("pressure")
        values.set("Cd", flow, "", "flow coefficient of its holes", values.origin("flow"))
        values.set("S", area * arm, "m^3", "volume swept per turn", "area x arm")
        values.set("V0", values.number("bellows.dead_volume"), "m^3", "volume of the shut bellows", "case")
        leak = flow * values.number("bellows.leak")
        values.set("A_leak", leak, "m^2", "leak times its flow coefficient", values.origin("bellows.leak"))
        values.set("J", values.number("bellows.inertia"), "kg*m^2", "inertia of its board", "case")
        values.set(
            "closing", values.number("bellows.closing"), "N*m", "moment that shuts it", values.origin("bellows.closing")
        )
        values.set("r_out", out, "m", "out arm", "case")
        values.set("gap_end", opening, "m", "way of the hook until the end felt is touched", "case")
        felt(values, "rest_felt", "rest")
        felt(values, "end_felt", "end")
        k = values.derived["K_rest"].value
        squeeze = (values.number("bellows.closing") / out / k) ** (2 / 3)
        values.set("x0_rest", squeeze, "m", "squeeze of the rest felt at rest", "equilibrium")
        pull = (area * arm * pressure - values.number("bellows.closing")) / out
        values.fact(
            "pull", pull, "N", "force at the rod to the pallet, bellows full", "area x pressure x arm, less closing"
        )
        values.fact("swept", area * arm * opening / out, "m^3", "volume of a stroke of the bellows")

    @classmethod
    def assemble(cls, builder: Builder, name: str, shape: Shape) -> None:  # noqa: ARG003
        p = builder.param
        valve = builder.coordinate("m", "way of the inlet valve", piece="inlet")
        board = builder.coordinate("rad", "rotation of the bellows' board", piece="bellows")
        builder.inertia(valve, p("m", "kg", "mass of the inlet valve"))
        builder.inertia(board, p("J", "kg*m^2", "inertia of the board"))
        builder.weight(p("closing", "N*m", "moment that shuts it") * board.q)
        hinge = builder.pin("", board)
        hook = algebra.Port(f"{name}.in", valve, valve.q)
        builder.arrive(hook)
        spring = algebra.Preloaded(p("F0", "N", "force of the inlet's spring"), p("k", "N/m", "rise of that force"))
        builder.element("inlet", "spring", [(hook, 1)], spring, "spring of the inlet")
        squeezed = p("x0_seat", "m", "squeeze of its seat at rest")
        builder.element("seat", "felt", [(hook, -1)], felt_law(builder, "seat"), "seat of the inlet", offset=squeezed)
        out = algebra.Port(f"{name}.out", board, p("r_out", "m", "out arm") * board.q, (1, 0), hinge)
        squeezed = p("x0_rest", "m", "squeeze of the rest felt at rest")
        builder.element("rest", "felt", [(out, -1)], felt_law(builder, "rest"), "rest of the bellows", offset=squeezed)
        gap = p("gap_end", "m", "way until the end felt is touched")
        builder.element("end", "felt", [(out, 1)], felt_law(builder, "end"), "stop of the bellows", offset=-gap)
        _air(builder, valve, board)
        builder.outlet(out)

    @classmethod
    def brief(cls, values: Values, shown: Shown) -> str:  # noqa: ARG003
        return f"inlet {shown('inlet_force')}, pulls {shown('pull')}"


def _air(builder: Builder, valve: Coordinate, board: Coordinate) -> None:
    """Pressure in the bellows: what flows through its holes, and its work on the board and on the inlet."""
    p, chest = builder.param, builder.box_name
    density = p("rho_air", "kg/m^3", "density of the air", part=chest, alone=True)
    smooth = p("p_smooth", "Pa", "drop below which flow creeps", part=chest, alone=True)
    still = p("p_atm", "Pa", "pressure of the atmosphere", part=chest, alone=True)
    wind, flow = p("p_lever", "Pa", "pressure of the lever's wind"), p("Cd", "", "flow coefficient of its holes")
    pressure = builder.state("p", "Pa", "pressure in the bellows", "pressure")
    hole = p("A_valve", "m^2", "hole of the inlet")
    lifted = algebra.pos(valve.q - p("x0_seat", "m", "squeeze of its seat at rest"))
    inlet = algebra.in_series(p("edge_in", "m", "opened area per way of the inlet") * lifted, hole)
    vent = algebra.pos(p("x_shut", "m", "way at which the exhaust is shut") - valve.q)
    exhaust = algebra.in_series(p("edge_out", "m", "opened area per way") * vent, p("A_exhaust", "m^2", "its hole"))
    into = builder.define("A_in", flow * inlet, "m^2", "effective area of the inlet")
    out = builder.define(
        "A_out",
        flow * exhaust + p("A_leak", "m^2", "leak times its coefficient"),
        "m^2",
        "effective area of the exhaust and leaks",
    )
    fills = builder.define(
        "Q_in", algebra.orifice_flow(into, wind - pressure, density, smooth), "m^3/s", "flow into the bellows"
    )
    empties = builder.define("Q_out", algebra.orifice_flow(out, pressure, density, smooth), "m^3/s", "flow out of it")
    swept = p("S", "m^3", "volume swept per turn")
    volume = builder.define(
        "V", p("V0", "m^3", "volume of the shut bellows") + swept * board.q, "m^3", "volume of the bellows"
    )
    ratio = algebra.Rational(*HEAT_RATIO)
    builder.rate(pressure, ratio * still / volume * (fills - empties - swept * board.v))
    builder.load(board, pressure * swept, "wind")
    builder.load(valve, -(wind - pressure) * hole, "wind")
    builder.observe("bellows_pressure", pressure, "Pa", "pressure in the bellows")
    builder.observe("bellows_flow", fills, "m^3/s", "flow into the bellows")
