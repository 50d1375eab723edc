"""What a comparison takes unless something else is asked for: sections of rods, and the two seasons."""

from __future__ import annotations

Climate = tuple[float, float]
"""Temperature in K, relative humidity."""
WINTER: Climate = (291.15, 0.35)
SUMMER: Climate = (291.15, 0.70)
"""Assumed: a room at 18 deg C, dry while it is heated. Damp winters exist as well; state your own."""

STRIP, ROUND = ("10 mm", "1 mm"), "1.5 mm"
"""Sections taken where the case's own does not fit: common practice."""
RULE = (
    "every tracker takes the material and keeps the case's section where it fits (wood: strip or square; carbon, "
    f"glass and metal: round or tube); where it does not, wood becomes a strip of {STRIP[0]} x {STRIP[1]} and the "
    f"others a round rod of {ROUND} (common practice), unless a size is given as NAME@SIZE. Ends and fittings stay "
    "as they are; pull-downs and stickers too"
)
"""How a rod replaces another, in words."""
