"""What [[member]], [rail] and [season] may hold."""

from __future__ import annotations

from keyaction.models.fields.fields import Field, choice, length
from keyaction.models.formulas.wood import COLDEST, DAMPEST, DRIEST, ZERO_CELSIUS
from keyaction.models.frame.member import DIRECTIONS, FLOOR, GRAINS

PRACTICE = "common practice"
WARMEST = 60.0
"""deg C: warmer air around an organ can hardly be meant."""
DAY = 86400.0
CARRIES = "carries"
"""A list of names, which no field holds."""
BARE = "bare"
_ASSUMED_STOPS = "assumed: stops some mm from the middle"

MEMBER_FIELDS: tuple[Field, ...] = (
    Field("name", "what it is called", kind="text", varies=False),
    Field("material", "what it is made of", kind="material", varies=False),
    length("length", "from where it stands to what it carries", usual=(0.01, 6.0), source=PRACTICE),
    choice("towards", "the way it reaches from where it stands, and so moves what it carries", *DIRECTIONS),
    choice("grain", "how its length lies to the grain; needed of wood, others have none", *GRAINS),
    Field("on", "the member that it stands on", kind="text", varies=False, default=FLOOR, source="on the floor"),
    length(
        "thickness",
        "size that moisture passes through; needed of wood without a lag",
        high=2.0,
        usual=(0.005, 0.3),
        source=PRACTICE,
        varies=False,
    ),
    length(
        "breadth",
        "its other size across, where that is not many times the thickness; a wide board unless given",
        high=2.0,
        usual=(0.01, 1.0),
        source=PRACTICE,
        varies=False,
    ),
    Field("finish", "what it is painted with", kind="text", varies=False, default=BARE, source="bare wood"),
    Field(
        "faces",
        "how many faces moisture passes through, 2, or 1 where the other is shut",
        kind="count",
        low=1,
        high=2,
        default=2,
        source="open on both sides",
        varies=False,
    ),
    Field(
        "lag",
        "measured lag, in place of thickness and finish",
        unit="s",
        written="lag",
        positive=True,
        high=20 * 365 * DAY,
        usual=(0.1 * DAY, 365 * DAY),
        usual_source="thin strips follow in days, beams in months (common practice)",
        varies=False,
    ),
)

RAIL_FIELDS: tuple[Field, ...] = (
    choice("towards", "the way its load draws it, which takes up the slack of its rods", *DIRECTIONS),
    Field(
        "mass",
        "of the rail and all that goes with it",
        unit="kg",
        positive=True,
        high=200.0,
        usual=(0.3, 15.0),
        source=PRACTICE,
        varies=False,
    ),
    Field(
        "load",
        "force towards that direction with the rail at its centre; a rail that goes down has its weight",
        unit="N",
        positive=True,
        high=2000.0,
        usual=(2.0, 150.0),
        source=PRACTICE,
        varies=False,
    ),
    Field(
        "rate",
        "how the load falls for each metre that the rail goes that way; none of a weight",
        unit="N/m",
        low=0.0,
        high=1e5,
        usual=(0.0, 2000.0),
        usual_source="long soft springs (common practice)",
        default=0.0,
        source="a weight",
        varies=False,
    ),
    Field(
        "friction",
        "force that just moves it unloaded in its guides",
        unit="N",
        low=0.0,
        high=500.0,
        usual=(0.0, 2.0),
        usual_source="far below the load (common practice)",
        default=0.0,
        source="assumed: hung free, without guides",
        varies=False,
    ),
    *(
        Field(
            name,
            f"from its centre to the end stop {where}",
            unit="m",
            low=0.0,
            high=0.1,
            usual=(0.001, 0.02),
            usual_source=PRACTICE,
            default=0.005,
            source=_ASSUMED_STOPS,
            varies=False,
        )
        for name, where in (("ahead", "the way its load draws it"), ("behind", "against its load"))
    ),
    Field(
        "stop_stiffness",
        "of the end stops",
        unit="N/m",
        positive=True,
        high=1e8,
        usual=(1e4, 1e6),
        usual_source="assumed: wood on cloth",
        default=1e5,
        source="assumed: wood on cloth",
        varies=False,
    ),
    Field(
        "damping",
        "of its motion in the guides, beside their friction",
        unit="N*s/m",
        low=0.0,
        high=1e4,
        usual=(0.0, 100.0),
        usual_source="assumed",
        default=0.0,
        source="assumed: friction alone",
        varies=False,
    ),
    Field(
        "fixed",
        "whether it is made fast at its centre",
        kind="flag",
        varies=False,
        default=False,
        source="it floats",
    ),
)

SEASON_FIELDS: tuple[Field, ...] = (
    Field(
        "temperature",
        "of the air in which it was regulated",
        unit="K",
        low=COLDEST + ZERO_CELSIUS,
        high=WARMEST + ZERO_CELSIUS,
        usual=(278.15, 308.15),
        source="common practice: churches and halls, heated or not",
        varies=False,
    ),
    Field(
        "humidity",
        "of the air in which it was regulated",
        kind="number",
        low=DRIEST,
        high=DAMPEST,
        usual=(0.15, DAMPEST),
        source="common practice: heated in winter 10 to 25 %, unheated and damp above 80 %",
        varies=False,
    ),
    Field("climate", "a CSV file beside the case, or a climate by name", kind="text", varies=False),
    Field("rod_finish", "what wooden rods are painted with", kind="text", varies=False, default=BARE, source="bare"),
)
