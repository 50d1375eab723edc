"""What a comparison takes unless something else is asked for: sections of rods and rollers, and the two seasons."""

from __future__ import annotations

Climate = tuple[float, float]
"""Temperature in K, relative humidity."""
WINTER: Climate = (291.15, 0.35)
SUMMER: Climate = (291.15, 0.70)
"""Assumed: a room at 18 deg C, dry while it is heated. Damp winters exist as well; state your own."""

STRIP, ROUND = ("10 mm", "1 mm"), "1.5 mm"
"""Sections taken where the case's own does not fit: common practice."""
SQUARE_ROLLER, ROUND_ROLLER = "25 mm", "8 mm"
"""The same for rollers: common practice."""
RULE = (
    "every tracker takes the material and keeps the case's section where it fits (wood: strip or square; carbon, "
    f"glass and metal: round or tube); where it does not, wood becomes a strip of {STRIP[0]} x {STRIP[1]} and the "
    f"others a round rod of {ROUND} (common practice), unless a size is given as NAME@SIZE. Ends and fittings stay "
    "as they are unless --ends says so; pull-downs and stickers stay too"
)
"""How a rod replaces another, in words."""
ROLLER_RULE = (
    f"as trackers do; where the case's section does not fit, wood becomes a square of {SQUARE_ROLLER} and the others a "
    f"round bar of {ROUND_ROLLER} (common practice). Their arms stay as they are"
)
"""How a roller replaces another, in words."""
CLOSEST_GUIDES = 0.3
"""m: guides nearer to each other than this are not advised; assumed."""
