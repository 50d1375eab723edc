"""Fields and figures that several parts share: pins, bars of wood, measured masses."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from keyaction.models.fields.fields import Field, length, table
from keyaction.models.fields.values import Values
from keyaction.models.formulas import sections
from keyaction.models.many import maths
from keyaction.models.materials.types import SOLID
from keyaction.models.parts.geometry import check_wall

GRAVITY = 9.80665
"""Standard acceleration of gravity in m/s2 (conventional value, CGPM 1901)."""


SIZED = "computed from the usual sizes and woods"
"""Where the usual range of a figure comes from that may be measured in place of sizes."""

PIN_RUBS = ("tau0", "c")
"""Parameters of a pin without which it does not rub."""


def _diameter(**options: object) -> Field:
    return length(
        "diameter", "pin diameter", high=0.03, usual=(0.001, 0.006), **{"source": "common practice", **options}
    )


_COEFFICIENT = Field(
    "coefficient",
    "friction coefficient, in place of the pair's",
    kind="number",
    low=0.0,
    high=2.0,
    usual=(0.05, 0.75),
    source="dry wood on steel 0.3 to 0.75 (a drive maker's table, second-hand); polished and cloth below",
)
_BREAKAWAY = Field(
    "breakaway",
    "torque that turns the unloaded bushing",
    unit="N*m",
    low=0.0,
    high=0.1,
    usual=(0.0, 0.003),
    source="common practice",
)


def pin_table(friction: str, diameter: float, breakaway: float) -> Field:
    """A pivot pin in a bushing."""
    return table(
        "pin",
        "the pivot: pin and bushing",
        _diameter(default=diameter),
        Field("friction", "pair of surfaces", kind="material", default=friction, source="common practice"),
        _COEFFICIENT,
        replace(_BREAKAWAY, default=breakaway),
    )


def end_pin_table(end: str) -> Field:
    """What is otherwise about one of two pins; what it leaves out is as `pin` says."""
    return table(
        f"pin_{end}",
        f"what is otherwise about the pin at its {end} arm",
        _diameter(),
        Field("friction", "pair of surfaces", kind="material"),
        _COEFFICIENT,
        _BREAKAWAY,
    )


def pin(values: Values, names: tuple[str, ...] = ("",)) -> None:
    """Friction parameters of the part's pin or pins."""
    for name in names:
        tail = f"_{name}" if name else ""
        breakaway, diameter = (_of_pin(values, tail, field) for field in ("breakaway", "diameter"))
        mu, origin = _coefficient(values, tail)
        values.set(
            f"tau0{tail}",
            values.number(breakaway),
            "N*m",
            "break-away torque of the unloaded pin",
            values.origin(breakaway),
        )
        values.set(
            f"c{tail}",
            mu * values.number(diameter) / 2,
            "m",
            "friction coefficient times pin radius",
            origin,
        )


@dataclass(frozen=True)
class Sizes:
    """Usual sizes of a bar, m: of a length and of each size of its sections; where they come from."""

    length: tuple[float, float]
    diameter: tuple[float, float]
    wall: tuple[float, float]
    width: tuple[float, float]
    thickness: tuple[float, float]
    source: str = "common practice"


def _of_pin(values: Values, tail: str, field: str) -> str:
    """The path of a pin's field: its own where it is given, else that of all pins of the part."""
    own = f"pin{tail}.{field}"
    return own if values.has(own) else f"pin.{field}"


def _coefficient(values: Values, tail: str) -> tuple[float, str]:
    """Friction coefficient of a pin and where it comes from; the pin's own pair goes before the part's coefficient."""
    for pin in dict.fromkeys((f"pin{tail}", "pin")):
        if values.has(f"{pin}.coefficient"):
            return values.number(f"{pin}.coefficient"), values.origin(f"{pin}.coefficient")
        if values.has(f"{pin}.friction"):
            return values.of(f"{pin}.friction", "coefficient"), values.source(f"{pin}.friction", "coefficient")
    return values.of("pin.friction", "coefficient"), values.source("pin.friction", "coefficient")


def section_fields(usual: Sizes) -> tuple[Field, ...]:
    """Material and cross-section of a bar."""
    source = usual.source
    return (
        Field("material", "what it is made of", kind="material", kinds=SOLID),
        Field(
            "section",
            "cross-section",
            kind="choice",
            choices=("round", "tube", "square", "rectangle"),
            varies=False,
        ),
        length("diameter", "outer diameter (round, tube)", high=0.2, usual=usual.diameter, source=source),
        length("wall", "wall thickness (tube)", high=0.1, usual=usual.wall, source=source),
        length("width", "width (square, rectangle)", high=0.5, usual=usual.width, source=source),
        length("thickness", "thickness (rectangle)", high=0.5, usual=usual.thickness, source=source),
    )


SECTION_NEEDS = {
    "round": ("diameter",),
    "tube": ("diameter", "wall"),
    "square": ("width",),
    "rectangle": ("width", "thickness"),
}


def section(values: Values) -> sections.Section | None:
    """The bar's cross-section, or None where the fields do not give one."""
    if not values.has("section"):
        return None
    shape = values.text("section")
    needs = SECTION_NEEDS[shape]
    if not values.has(*needs):
        lacking = ", ".join(need for need in needs if not values.has(need))
        values.defects.append(f"section: a {shape} section needs {lacking}")
        return None
    if shape == "tube" and not check_wall(values):
        return None
    try:
        return sections.section(shape, *(values.number(need) for need in needs))
    except ValueError as problem:
        values.defects.append(f"section: {problem}")
        return None


def on_edge(values: Values) -> bool:
    """Whether a strip's thin side lies along the row of its neighbours; it lies flat unless the case says so."""
    return values.has("lies") and values.text("lies") == "on-edge"


def measured_inertia(doc: str, usual: tuple[float, float]) -> Field:
    """The inertia of a body that turns, measured in place of what it is made of; what it usually is, kg m2."""
    return Field("inertia", doc, unit="kg*m^2", positive=True, high=1.0, usual=usual, source=SIZED)


def measured_mass(doc: str, usual: tuple[float, float], high: float = 5.0) -> Field:
    """The mass of a part, weighed in place of what it is made of; what it usually is and the most allowed, kg."""
    return Field("mass", doc, unit="kg", positive=True, high=high, usual=usual, source=SIZED)


def imbalance(doc: str) -> Field:
    """The moment of a lever's weight; it is balanced unless given."""
    return Field(
        "imbalance",
        doc,
        unit="N*m",
        low=-1.0,
        high=1.0,
        usual=(-0.1, 0.1),
        usual_source=SIZED,
        default=0.0,
        source="balanced",
    )


def set_weight(values: Values, doc: str, needs: tuple[str, ...], mass: Callable[[], float], how: str) -> None:
    """The weight W of a part on its pins: of its measured mass, or else of the `mass` that the fields `needs` give."""
    if values.has("mass"):
        values.compare("mass", "kg", needs, mass)
        values.set("W", GRAVITY * values.number("mass"), "N", doc, values.origin("mass"))
    else:
        values.either("W", "N", doc, "mass", needs, lambda: GRAVITY * mass(), how)


def box_inertia(mass: float, along: float, deep: float) -> float:
    """Inertia of a bar of length `along` about a pivot at its end: m (l^2/3 + h^2/12)."""
    return mass * (along**2 / 3 + deep**2 / 12)


def damped(mass: float, stiffness: float, ratio: float) -> float:
    """Viscous coefficient that gives one mass on one spring the damping `ratio`."""
    return 2 * ratio * maths.sqrt(mass * stiffness)
