"""What a pallet is returned by in place of a coil: a bar that is twisted, or a blade that is bent."""

from __future__ import annotations

from keyaction.models.fields.fields import Field, length, table
from keyaction.models.fields.values import Values
from keyaction.models.formulas.sections import round_bar, torsional_stiffness
from keyaction.models.formulas.springs import blade_rate, twisting_stress
from keyaction.models.materials.types import SOLID

BAR_NEEDS = ("bar.diameter", "bar.length", "bar.material", "bar.set")
BLADE_NEEDS = ("blade.width", "blade.thickness", "blade.length", "blade.material", "blade.set")

_LINEAR = 1 / 3
"""Way over length at which the straight-line law of a blade is 10 % off (elastica, at P L^2 = E I)."""
_TWIST = 0.35
"""Shear over tensile strength that a spring of plain wire bears for good: 35 % of brass, bronze and stainless, 45 % of
music wire (R. G. Budynas and J. K. Nisbett, Shigley's Mechanical Engineering Design, Table 10-6, from memory)."""

_BEND = 0.75
"""Bending stress over tensile strength that such a leaf bears for good: 75 % of hard drawn wire (Shigley's Mechanical
Engineering Design, Table 10-5, yield over strength, from memory)."""

BAR = table(
    "bar",
    "a torsion bar in place of force and rate",
    length("diameter", "diameter of the bar", high=0.02, usual=(0.001, 0.006), source="common practice"),
    length("length", "length that twists", high=3.0, usual=(0.03, 0.8), source="common practice"),
    Field("material", "what it is made of", kind="material", kinds=SOLID),
    length(
        "arm",
        "from the bar's axis to where its arm presses on the pallet, at `at`; none of a bar that is the hinge itself",
        high=1.0,
        usual=(0.02, 0.3),
        source="common practice",
    ),
    Field(
        "set",
        "angle by which it is twisted with the pallet shut",
        unit="rad",
        low=0.0,
        high=6.3,
        usual=(0.05, 1.6),
        source="common practice",
    ),
)
BLADE = table(
    "blade",
    "a leaf spring held at one end, whose other end presses on the pallet at `at`, in place of force and rate",
    length("width", "width of the leaf", high=0.1, usual=(0.003, 0.03), source="common practice"),
    length("thickness", "thickness of the leaf", high=0.01, usual=(0.0002, 0.002), source="common practice"),
    length("length", "from where it is held to its end", high=1.0, usual=(0.03, 0.3), source="common practice"),
    Field("material", "what it is made of", kind="material", kinds=SOLID),
    length(
        "set", "how far its end is bent with the pallet shut", high=0.5, usual=(0.002, 0.06), source="common practice"
    ),
)


def bar_rate(values: Values) -> float:
    """Rise of the bar's force per way where it presses, N/m: G J / L over the square of its arm."""
    shaft = round_bar(values.number("bar.diameter"))
    stiffness = torsional_stiffness(values.of("bar.material", "G"), shaft.torsion, values.number("bar.length"))
    return stiffness / _arm(values) ** 2


def bar_force(values: Values) -> float:
    """Force there with the pallet shut, N, of the rate that holds, measured or not."""
    return values.derived["rate"].value * values.number("bar.set") * _arm(values)


def in_the_hinge(values: Values) -> bool:
    """Whether the pallet turns about the bar itself, which then gives a moment and no force."""
    return values.has(*BAR_NEEDS) and not values.has("bar.arm")


def blade_force_rate(values: Values) -> float:
    """Rise of the blade's force per way of its end, N/m."""
    second = values.number("blade.width") * values.number("blade.thickness") ** 3 / 12
    return blade_rate(values.of("blade.material", "E"), second, values.number("blade.length"))


def blade_force(values: Values) -> float:
    """Force at the blade's end with the pallet shut, N, of the rate that holds, measured or not."""
    return values.derived["rate"].value * values.number("blade.set")


def set_stress(values: Values) -> None:
    """Show the stress under the spring's force, and remark on what no bar or blade bears or follows."""
    force = values.derived["force"].value
    if values.has(*BAR_NEEDS):
        stress = twisting_stress(force * _arm(values), values.number("bar.diameter"))
        values.fact("stress", stress, "Pa", "shear at the bar's surface, pallet shut", "16 M / (pi d^3)")
        if values.remarks:
            _check_twist(values, stress)
    if values.has(*BLADE_NEEDS):
        section = values.number("blade.width") * values.number("blade.thickness") ** 2 / 6
        stress = force * values.number("blade.length") / section
        values.fact("stress", stress, "Pa", "bending where the blade is held, pallet shut", "6 F L / (b t^2)")
        if values.remarks:
            _check_bend(values, stress)


def _arm(values: Values) -> float:
    return values.number("bar.arm" if values.has("bar.arm") else "at")


def _check_bend(values: Values, stress: float) -> None:
    """Drawn wire as thick as the leaf has about its strength (assumed: rolled as hard)."""
    if values.number("blade.set") > _LINEAR * values.number("blade.length"):
        told = "more than a third of its length: its force is no longer proportional to its way"
        values.odd("blade.set", "m", told)
    try:
        strength = values.material("blade.material").wire_strength(values.number("blade.thickness"))
    except (KeyError, ValueError):
        return  # no strength known of it
    if stress > _BEND * strength:
        told = f"bent by more than {_BEND:.0%} of the strength of wire as thick: it takes a set, or breaks"
        values.odd("blade.set", "m", told)


def _check_twist(values: Values, stress: float) -> None:
    try:
        strength = values.material("bar.material").wire_strength(values.number("bar.diameter"))
    except (KeyError, ValueError):
        return  # no strength known of it
    if stress > _TWIST * strength:
        told = f"sheared by more than {_TWIST:.0%} of the wire's strength: it takes a set, or breaks"
        values.odd("bar.set", "rad", told)
