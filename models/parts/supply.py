"""What feeds a pallet box: its volume, the trunk, and how the reservoir falls; facts, which a chord is played with."""

from __future__ import annotations

from keyaction.models.fields.fields import Field, length, table
from keyaction.models.fields.values import Values
from keyaction.models.many import maths

VOLUME, AREA, LENGTH, LOSS, FALL = "supply_volume", "trunk_area", "trunk_length", "trunk_loss", "supply_fall"
"""The facts of a box that has a supply."""
USUAL_LOSS = 1.5
"""Heads that a trunk loses of which nothing is said: sharp entry 0.5, free end 1.0, no bend (textbook, from memory)."""

FIELDS = (
    Field(
        "volume",
        "volume of the box, with the trunk's beyond the last valve; only chords need it",
        unit="m^3",
        positive=True,
        high=20.0,
        usual=(0.01, 0.5),
        source="common practice: a box 1 to 4 m long, 0.3 to 0.5 m deep, 0.1 to 0.2 m high",
        varies=False,
    ),
    table(
        "trunk",
        "the trunk from the reservoir; without it the box is the reservoir",
        Field(
            "area",
            "its clear section",
            unit="m^2",
            positive=True,
            high=2.0,
            usual=(0.0015, 0.08),
            source="common practice: 40 x 40 mm for a few stops to 250 x 320 mm",
            varies=False,
        ),
        length(
            "length",
            "its length: the air in it has to be set moving",
            high=50.0,
            usual=(0.3, 10.0),
            source="common practice",
            varies=False,
        ),
        Field(
            "loss",
            "heads rho/2 v^2 of its own speed that it loses, from reservoir to box",
            kind="number",
            low=0.0,
            high=100.0,
            usual=(0.5, 10.0),
            usual_source="a bellmouth and a wide end to several mitred bends and a half-open valve: common practice",
            default=USUAL_LOSS,
            source="assumed: sharp entry 0.5 and free end 1.0, no bend (textbook values, from memory)",
            varies=False,
        ),
    ),
    Field(
        "fall",
        "pressure that the reservoir loses by each m3/s taken from it",
        unit="Pa*s/m^3",
        low=0.0,
        high=1e6,
        usual=(0.0, 1e4),
        usual_source="to about 10 mmH2O at 10 L/s: common practice",
        default=0.0,
        source="assumed: a reservoir that holds its pressure",
        varies=False,
    ),
)


def given(values: Values) -> bool:
    """Whether the box's pressure can move: it has a trunk, or its reservoir falls."""
    return values.has("trunk.area") or _told(values, "fall")


def _told(values: Values, path: str) -> bool:
    """Whether the case itself gives a value that is not nothing."""
    return path in values.given and not values.given[path].default and maths.number(values.given[path].value) > 0.0


def resolve(values: Values) -> None:
    """Set the facts of the supply, of a box that has one."""
    if values.has("trunk.length") and not values.has("trunk.area"):
        values.defects.append("trunk.area: give it, the trunk has a length")
    if not given(values):
        if values.has("volume"):
            values.fact(VOLUME, values.number("volume"), "m^3", "volume of the box", values.origin("volume"))
        return
    if not values.has("volume"):
        values.defects.append("volume: give it, the box has a trunk or a reservoir that falls")
    values.fact(VOLUME, values.number("volume"), "m^3", "volume of the box", "case")
    values.fact(FALL, values.number("fall"), "Pa*s/m^3", "fall of the reservoir per flow", values.origin("fall"))
    if values.has("trunk.area"):
        values.fact(AREA, values.number("trunk.area"), "m^2", "clear section of the trunk", values.origin("trunk.area"))
        values.fact(LENGTH, values.number("trunk.length"), "m", "length of the trunk", "case")
        loss = values.number("trunk.loss")
        values.fact(LOSS, loss, "", "heads that the trunk loses", values.origin("trunk.loss"))
