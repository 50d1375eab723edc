"""Air through a pallet into a groove and out of its toes, in steady flow: which opening feeds which toes.

Each opening passes A sqrt(2 dp / rho) (Bernoulli's jet, textbook), so that of the box's pressure a groove holds
a^2 / (1 + a^2), where a is its inlet over its outlet, both with their flow coefficients.
"""

from __future__ import annotations

import math

__all__ = [
    "HIGHEST",
    "LONGEST",
    "SECTION",
    "WIDEST",
    "creeping",
    "custom_length",
    "gap_for",
    "groove_share",
    "inlet_for",
]

LONGEST, WIDEST = 0.325, 0.020
"""m: longest pallet and widest groove of a manual by custom, beyond which the keys are too hard (Dom Bedos, L'Art du
facteur d'orgues, 1766-78, art. 473)."""
HIGHEST = 0.009
"""m: the most that a pallet is lifted, about (C. E. Pykett, "Touch relief in mechanical actions", 2001, rev. 2009)."""
SECTION = 390 / 378
"""What the pallet opens, over the section of its groove, by custom: 390 and 378 square lines (Dom Bedos, art. 475)."""


def groove_share(inlet: float, outlet: float) -> float:
    """What a groove holds of the pressure of its box, from 0 to 1.

    Parameters
    ----------
    inlet, outlet : float
        Effective areas of the way in and of all ways out, m2.
    """
    if inlet <= 0.0:
        return 0.0
    return 1.0 / (1.0 + (outlet / inlet) ** 2)


def inlet_for(share: float, outlet: float) -> float:
    """Effective area (m2) of the way in at which a groove holds `share`, above 0 and below 1, of the box's pressure."""
    return outlet * math.sqrt(share / (1.0 - share))


def creeping(share: float, pressure: float, smooth: float) -> float:
    """By what the way in must be larger, as flow creeps where its drop is small: 1 where none does.

    Parameters
    ----------
    share : float
        That the groove is to hold, above 0 and below 1.
    pressure : float
        Of the box, Pa.
    smooth : float
        Drop (Pa) below which flow turns linear: it is less by (1 + (smooth / drop)^2)^(1/4).
    """
    held, drop = share * pressure, (1.0 - share) * pressure
    return math.sqrt(math.hypot(1.0, smooth / drop) / math.hypot(1.0, smooth / held))


def gap_for(inlet: float, slot: float) -> float:
    """Gap (m2) that has, behind a slot (m2), the area `inlet` (m2); infinite where the slot alone is no larger."""
    return math.inf if slot <= inlet else inlet * slot / math.sqrt((slot - inlet) * (slot + inlet))


def custom_length(section: float, turn: float, hinge: float, width: float) -> float:
    """Length of opening that custom gives a groove.

    A pallet whose free end drops by h opens h (L + w): two triangles at its sides and its front (Dom Bedos, art. 475:
    390 square lines are 2.5 by 144 + 12). That is to be `SECTION` times the groove's section, where h is the turn
    times the way from the hinge.

    Parameters
    ----------
    section : float
        Width times depth of the groove, m2.
    turn : float
        Of the opened pallet beyond its seat, rad.
    hinge : float
        From the hinge to the near end of the opening, m.
    width : float
        Of the opening, m.

    Returns
    -------
    float
        m; 0 where any length does; infinite where the pallet does not open.
    """
    if turn <= 0.0:
        return math.inf
    half, rest = (hinge + width) / 2, hinge * width - SECTION * section / turn
    return 0.0 if rest >= 0.0 else math.sqrt(half**2 - rest) - half
