"""Sizes of a relief pallet: its fields, and what its two pieces share of areas, masses and seat."""

from __future__ import annotations

from dataclasses import replace

from keyaction.models.fields.fields import Field, length
from keyaction.models.fields.values import Values, in_unit
from keyaction.models.many import maths
from keyaction.models.parts.common import GRAVITY, box_inertia
from keyaction.models.parts.felts import felt_table
from keyaction.models.parts.pallet import OPENS

_LIFT = felt_table("lift", "what the front pallet lifts the large one by, and its felt", usual_area=(1e-5, 1e-3))
OWN = (
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


def in_order(values: Values) -> bool:
    """Whether joint, felt and eye follow one another from the hinge; what does not is a defect."""
    near = values.number("hinge_to_opening")
    eye, joint = values.number("eye"), values.number("joint")
    if not near < joint < eye:
        told = f"the joint lies between the opening's near end and the eye; allowed: {in_unit(near, 'm')} to "
        values.refuse("joint", "m", f"{told}{in_unit(eye, 'm')}, ends excluded")
        return False
    if values.has("lift.at") and not joint < values.number("lift.at"):
        values.refuse("lift.at", "m", f"behind the joint; allowed: more than {in_unit(joint, 'm')}")
        return False
    return True


def areas(values: Values, joint: float) -> None:
    """What the wind presses on and what opens, of both pallets."""
    w, d0 = values.number("opening_width"), values.number("hinge_to_opening")
    margin = values.number("sealing_margin")
    near, end = maths.larger(d0 - margin, 0.0), d0 + values.number("opening_length")
    wide, ahead = w + 2 * margin, end + margin - joint
    how = "moment of the sealed area, by the way of its points"
    values.set("S_wind", wide * ((joint**2 - near**2) / 2 + ahead * joint), "m^3", "wind's torque per pressure", how)
    values.set("S_front", wide * ahead**2 / 2, "m^3", "wind's torque per pressure on the front pallet", how)
    front = end - joint
    how = "geometry of the gap: rear, front and two sides"
    values.set("gap", w * d0 + joint**2 - d0**2 + (2 * front + w) * joint, "m^2", "opened area per turn", how)
    values.set("gap_front", front**2 + w * front, "m^2", "opened area per turn of the front pallet", how)


def weights(values: Values, joint: float) -> None:
    """Masses shared by length; the front one's hangs on the joint as well as on its own turn."""
    long = sum(values.number(one) for one in ("hinge_to_opening", "opening_length", "overlap"))
    whole, ahead = maths.larger(long, joint * (1 + 1e-6)), maths.larger(long - joint, joint * 1e-6)
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


def seats(values: Values, joint: float) -> None:
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
