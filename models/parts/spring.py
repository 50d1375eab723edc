"""The pallet spring: given by its force and rate, by its wire, or as a torsion bar or a blade."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from keyaction.models import algebra
from keyaction.models.fields.fields import Field, length, table
from keyaction.models.fields.values import Values
from keyaction.models.formulas.springs import v_spring_rate
from keyaction.models.parts import bars
from keyaction.models.parts.base import Part, Shape, Shown
from keyaction.models.parts.geometry import check_wire

if TYPE_CHECKING:
    from keyaction.models.algebra.builder import Builder

_WIRE = (
    "wire.diameter",
    "wire.material",
    "wire.coil_diameter",
    "wire.turns",
    "wire.arm",
    "wire.free_gape",
    "wire.closed_gape",
)


@dataclass(frozen=True)
class _Way:
    """A way of making a spring: the fields it needs, its rate (N/m) and force (N) where it presses, and how."""

    needs: tuple[str, ...]
    rate: Callable[[Values], float]
    force: Callable[[Values], float]
    rises: str
    presses: str


def _wire_rate(values: Values) -> float:
    wire = values.of("wire.material", "E")
    return v_spring_rate(wire, *(values.number(f"wire.{x}") for x in ("diameter", "coil_diameter", "turns", "arm")))


def _wire_force(values: Values) -> float:
    """Of the rate that holds, measured or not."""
    rate = values.derived["rate"].value
    return rate * (values.number("wire.free_gape") - values.number("wire.closed_gape"))


_WAYS = {
    "wire": _Way(_WIRE, _wire_rate, _wire_force, "coils and legs in series", "rate x closing"),
    "bar": _Way(bars.BAR_NEEDS, bars.bar_rate, bars.bar_force, "G J / L over the arm squared", "rate x arm x angle"),
    "blade": _Way(bars.BLADE_NEEDS, bars.blade_force_rate, bars.blade_force, "3 E I / L^3", "rate x bend"),
}


def _way(values: Values) -> _Way:
    """How the spring is made; of two ways at once the case is told."""
    made = [name for name in _WAYS if any(path.startswith(f"{name}.") for path in values.given)]
    if len(made) > 1:
        values.defects.append(f"{', '.join(made)}: one spring is made one way; keep one of these tables")
    return _WAYS[made[0] if made else "wire"]


class Spring(Part):
    """Moment about the pallet's hinge = place x (force closed + rate x way)."""

    kind = "spring"
    title = "pallet spring"
    role = "spring"
    fields = (
        length(
            "at",
            "from the pallet's hinge to where the spring bears (or the eye, where the force is measured there)",
            high=1.0,
            usual=(0.025, 0.35),
            source="common practice",
        ),
        Field(
            "force",
            "force on the closed pallet at that place",
            unit="N",
            low=0.0,
            high=50.0,
            usual=(0.3, 3.0),
            source="common practice",
        ),
        Field(
            "rate",
            "rise of force per way at that place",
            unit="N/m",
            low=0.0,
            high=1e5,
            usual=(2.0, 80.0),
            source="computed from usual wire: brass or steel of 1 to 1.6 mm, one to three coils, legs of 100 to 130 mm",
        ),
        table(
            "wire",
            "the spring as it is made, in place of force and rate",
            length("diameter", "wire diameter", high=0.005, usual=(0.0006, 0.002), source="common practice"),
            Field("material", "wire", kind="material"),
            length(
                "coil_diameter", "mean diameter of the coils", high=0.1, usual=(0.008, 0.05), source="common practice"
            ),
            Field(
                "turns",
                "number of coils",
                kind="number",
                low=0.5,
                high=30.0,
                usual=(0.5, 6.0),
                source="common practice",
            ),
            length(
                "arm",
                "length of a leg",
                high=0.5,
                usual=(0.04, 0.25),
                source="about 5 inches (W. E. Dickson, Practical Organ-Building, 1882); common practice",
            ),
            length(
                "free_gape",
                "opening between the leg ends, free",
                high=1.0,
                usual=(0.03, 0.4),
                source="common practice",
            ),
            length(
                "closed_gape",
                "opening between the leg ends with the pallet shut",
                high=0.5,
                usual=(0.01, 0.2),
                source="common practice",
            ),
        ),
        bars.BAR,
        bars.BLADE,
    )

    @classmethod
    def resolve(cls, values: Values) -> None:
        at = values.number("at")
        check_wire(values)
        way = _way(values)
        k = values.either(
            "rate", "N/m", "rise of the spring's force per way", "rate", way.needs, lambda: way.rate(values), way.rises
        )
        force = values.either(
            "force",
            "N",
            "force of the spring on the closed pallet",
            "force",
            way.needs,
            lambda: way.force(values),
            way.presses,
        )
        bars.set_stress(values)
        couple = bars.in_the_hinge(values)
        values.set(
            "per_moment",
            0.0 if couple else 1 / at,
            "1/m",
            "force per moment about the hinge",
            "the bar is the hinge: a moment alone" if couple else "place",
        )
        values.set("M0", at * force, "N*m", "closing moment of the spring, pallet shut", "force x place")
        values.set("k", k * at**2, "N*m/rad", "rise of that moment per turn", "rate x place squared")

    @classmethod
    def assemble(cls, builder: Builder, name: str, shape: Shape) -> None:  # noqa: ARG003
        if builder.valve is None:
            raise ValueError(f"{name}: a spring needs a pallet before it")
        pallet = builder.valve.coordinate
        law = algebra.Preloaded(
            builder.param("M0", "N*m", "closing moment, pallet shut"),
            builder.param("k", "N*m/rad", "rise of the moment per turn"),
        )
        shuts = (-builder.param("per_moment", "1/m", "force per moment about the hinge"), 0)
        port = algebra.Port(name, pallet, pallet.q, shuts, builder.valve.hinge)
        builder.element("", "spring", [(port, 1)], law, "pallet spring", unit="rad")

    @classmethod
    def brief(cls, values: Values, shown: Shown) -> str:  # noqa: ARG003
        return f"{shown('force')} shut, {shown('rate')}"
