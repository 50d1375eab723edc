"""The wind: the note's groove with the feet of its drawn stops, and the pallet box at its pressure."""

from __future__ import annotations

from functools import reduce
from operator import add
from typing import TYPE_CHECKING, Any

from keyaction.models import algebra
from keyaction.models.fields.fields import Field, length
from keyaction.models.fields.values import Values
from keyaction.models.formulas import air
from keyaction.models.parts import supply
from keyaction.models.parts.base import Part, Shape, Shown
from keyaction.models.parts.geometry import LEAST_GROOVE, check_groove

if TYPE_CHECKING:
    from keyaction.models.algebra.builder import Builder

HEAT_RATIO = (7, 5)
"""Ratio of specific heats of air (dry air near room temperature, textbook value)."""

_CONTRACTION = "sharp-edged opening about 0.6 (ISO 5167-2:2003 tends to 0.60 for small openings)"


def leak_field(doc: str) -> Field:
    """Leaks that are taken for granted."""
    return Field(
        "leak",
        doc,
        unit="m^2",
        low=0.0,
        high=1e-3,
        usual=(0.0, 3e-5),
        usual_source="common practice",
        default=2e-6,
        source="assumed: 2 mm²",
    )


def flow_field(name: str, doc: str, default: float = 0.6, source: str = _CONTRACTION) -> Field:
    """A flow coefficient: that of a sharp-edged opening unless another is given."""
    return Field(
        name,
        doc,
        kind="number",
        low=0.3,
        high=1.0,
        usual=(0.5, 0.9),
        usual_source="sharp edges 0.6, rounded ones more (ISO 5167-2:2003 and -3:2003; from memory)",
        default=default,
        source=source,
    )


class Groove(Part):
    """V / (1.4 p_atm) dp/dt = flow in - flow out - volume swept by the pallet.

    The swept volume makes the model lossless apart from its openings: the wind's work on the pallet is the
    work of the pallet on the air. Several pallets may feed it, each through an opening of its own. Adiabatic, one
    pressure for the whole groove: for changes slower than a sound wave takes along it (about 3 ms per metre).
    """

    kind = "groove"
    title = "groove and drawn stops"
    role = "groove"
    fields = (
        Field(
            "volume",
            "volume of the groove, in place of its sizes",
            unit="m^3",
            low=LEAST_GROOVE,
            high=0.2,
            usual=(5e-5, 0.012),
            source="computed from the usual sizes",
        ),
        length("length", "length of the groove", high=10.0, usual=(0.2, 3.0), source="common practice"),
        length(
            "width",
            "width of the groove",
            high=0.2,
            usual=(0.005, 0.035),
            source="18 to 20 mm in the bass (Dom Bedos, L'Art du facteur d'orgues, 1766-78, art. 482); common practice",
        ),
        length(
            "depth",
            "depth of the groove",
            high=0.5,
            usual=(0.03, 0.2),
            source="95 mm (Dom Bedos, art. 475); common practice",
        ),
        Field(
            "feet_area",
            "toe openings of the drawn stops together, in place of the list",
            unit="m^2",
            low=0.0,
            high=0.1,
            usual=(0.0, 3e-3),
            source="common practice: a chorus of ten stops in the bass",
        ),
        Field(
            "stops",
            "the stops on this groove",
            kind="rows",
            fields=(
                Field("name", "name of the stop", kind="text"),
                Field(
                    "area",
                    "toe opening of its pipe",
                    unit="m^2",
                    low=0.0,
                    high=0.05,
                    usual=(1e-6, 4e-4),
                    per_octave=(0.25, 1.3),
                    source="common practice: bores of 1.1 to 22 mm, narrower from bass to treble",
                ),
                Field("drawn", "whether it is drawn", kind="flag"),
            ),
        ),
        leak_field("open area of leaks of the groove"),
        flow_field(
            "gap_flow",
            "flow coefficient of the pallet's gap",
            0.61,
            "free-streamline slit pi/(pi+2) = 0.611 (H. Lamb, Hydrodynamics; from memory)",
        ),
        flow_field("feet_flow", "flow coefficient of the toe openings"),
    )

    @classmethod
    def resolve(cls, values: Values) -> None:
        values.either(
            "V",
            "m^3",
            "volume of the groove",
            "volume",
            ("length", "width", "depth"),
            lambda: values.number("length") * values.number("width") * values.number("depth"),
            "length x width x depth",
        )
        check_groove(values)
        rows = range(values.count_rows("stops"))
        drawn = [
            values.number(f"stops.{i}.area")
            for i in rows
            if values.has(f"stops.{i}.drawn") and values.given[f"stops.{i}.drawn"].value
        ]
        if not values.has("feet_area") and not rows:
            values.defects.append("feet_area: give it, or else a list of stops")
        feet = values.number("feet_area") if values.has("feet_area") else sum(drawn)
        values.fact(
            "feet",
            feet,
            "m^2",
            "toe area of the drawn stops",
            "given" if values.has("feet_area") else f"{len(drawn)} stops drawn",
        )
        values.set(
            "A_out",
            values.number("feet_flow") * (feet + values.number("leak")),
            "m^2",
            "toes and leak times their flow coefficient",
            values.origin("feet_flow"),
        )
        values.fact(
            "heat_ratio",
            HEAT_RATIO[0] / HEAT_RATIO[1],
            "",
            "ratio of specific heats of air",
            "assumed: dry air near room temperature, textbook value",
        )
        values.set("Cd", values.number("gap_flow"), "", "flow coefficient of the gap", values.origin("gap_flow"))

    @classmethod
    def assemble(cls, builder: Builder, name: str, shape: Shape) -> None:  # noqa: ARG003
        p, valves = builder.param, builder.fed()
        if not valves:
            raise ValueError(f"{name}: a groove needs a pallet before it")
        chest = builder.box_name
        box = builder.box.pressure_of(builder, chest)
        density = p("rho_air", "kg/m^3", "density of the air", part=chest, alone=True)
        smooth = p("p_smooth", "Pa", "drop below which flow creeps", part=chest, alone=True)
        still = p("p_atm", "Pa", "pressure of the atmosphere", part=chest, alone=True)
        pressure = builder.state("p", "Pa", "pressure in the groove", "pressure")
        openings = reduce(add, (algebra.in_series(one.gap, one.slot) for one in valves))
        area = builder.define(
            "A_in",
            p("Cd", "", "flow coefficient of the gap") * openings,
            "m^2",
            "effective area of the gap",
        )
        inflow = builder.define(
            "Q_in", algebra.orifice_flow(area, box - pressure, density, smooth), "m^3/s", "flow into the groove"
        )
        outflow = builder.define(
            "Q_out",
            algebra.orifice_flow(p("A_out", "m^2", "toes and leak"), pressure, density, smooth),
            "m^3/s",
            "flow out through the feet",
        )
        volume = p("V", "m^3", "volume of the groove")
        bodies = [each for one in valves for each in one.bodies]
        swept = reduce(add, (moment * body.v for body, moment in bodies))
        heat_ratio = algebra.Rational(*HEAT_RATIO)
        builder.rate(pressure, heat_ratio * still / volume * (inflow - outflow - swept))
        for body, moment in bodies:
            builder.load(body, -(box - pressure) * moment, "wind")
        for one in valves:
            builder.bears(one.hinge, (box - pressure) * one.area, (-1, 0))
        seat = reduce(algebra.larger, (one.seat for one in valves))
        builder.wind.append((pressure, box, smooth, seat, builder.held))
        builder.observe("groove_pressure", pressure, "Pa", "pressure in the groove")
        builder.observe("flow_in", inflow, "m^3/s", "flow into the groove")

    @classmethod
    def brief(cls, values: Values, shown: Shown) -> str:  # noqa: ARG003
        return f"{shown('V')}, toes {shown('feet')}"


class Box(Part):
    """The pallet box, at fixed pressure while a single note is played, what feeds it, and the state of the air."""

    kind = "box"
    title = "pallet box"
    role = "box"
    fields = (
        Field(
            "pressure",
            "wind pressure",
            unit="Pa",
            low=0.0,
            high=5000.0,
            usual=(400.0, 1300.0),
            source='most about 75 mmH2O (C. E. Pykett, "The physics of organ blowing", 2020); common practice',
        ),
        Field(
            "temperature",
            "temperature of the air",
            unit="K",
            low=air.TEMPERATURES[0],
            high=air.TEMPERATURES[1],
            usual=(278.15, 308.15),
            source="common practice: churches and halls, heated or not",
        ),
        Field(
            "humidity",
            "relative humidity",
            kind="number",
            low=0.0,
            high=1.0,
            usual=(0.15, 0.95),
            source="common practice: heated in winter 10 to 25 %, unheated and damp above 80 %",
        ),
        Field(
            "atmosphere",
            "pressure of the atmosphere",
            unit="Pa",
            low=air.PRESSURES[0],
            high=air.PRESSURES[1],
            written="air pressure",
            usual=(70_000.0, 105_000.0),
            source="from 3000 m (ISO 2533:1975: 70 kPa; from memory) to a high at the sea",
        ),
        *supply.FIELDS,
    )

    @classmethod
    def resolve(cls, values: Values) -> None:
        values.set("p_box", values.number("pressure"), "Pa", "pressure of the pallet box", "case")
        state = [values.number(x) for x in ("temperature", "atmosphere", "humidity")]
        values.set("p_atm", state[1], "Pa", "pressure of the atmosphere", "case")
        if values.has("temperature", "atmosphere", "humidity"):
            density = air.density(*state)
            values.set(
                "rho_air",
                density,
                "kg/m^3",
                "density of the air",
                "CIPM-2007 (Picard, Davis, Gläser, Fujii, Metrologia 45, 2008, 149-155)",
            )
        values.set(
            "p_smooth",
            1.0,
            "Pa",
            "drop below which flow creeps",
            "assumed: 1 Pa, far below any wind",
        )
        supply.resolve(values)

    @classmethod
    def assemble(cls, builder: Builder, name: str, shape: Shape) -> None:
        """Nothing moves in a box of fixed pressure; the groove asks for its pressure and its air."""

    @classmethod
    def pressure_of(cls, builder: Builder, name: str) -> Any:
        """The pressure of the box `name` as an expression: here a constant of the note."""
        return builder.param("p_box", "Pa", "pressure of the pallet box", part=name, alone=True)

    @classmethod
    def brief(cls, values: Values, shown: Shown) -> str:  # noqa: ARG003
        return f"{shown('p_box')}, air {shown('rho_air')}"
