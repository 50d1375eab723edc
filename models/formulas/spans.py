"""Rods between guides: how far they hang through, and how near the guides must stand.

Closed forms of a pivoted beam under tension: S. P. Timoshenko and J. M. Gere, *Theory of Elastic Stability*, 2nd ed.,
1961, ch. 1 (beam-columns, here with a pull). From memory.
"""

from __future__ import annotations

import math

from keyaction.models.units.names import STANDARD_GRAVITY

REPETITION_BAND = (5.0, 10.5)
"""Hz at which one key is repeated: one finger 5 to 7 Hz (Neuroscience Letters, 2009, doi 10.1016/j.neulet.2009.04.055,
abstract), two fingers by turns half as fast again (Ergonomics, 2001, doi 10.1080/00140130110107452, abstract)."""
SMALL_SAG = 0.1
"""Sag over span beyond which these forms no longer hold."""


def hanging_sag(tension: float, mass_per_length: float, span: float, bending: float) -> float:
    """Sag of a level rod between two guides, held up by its pull and by its own stiffness.

    Parameters
    ----------
    tension : float
        N; zero or above.
    mass_per_length : float
        rho A, kg/m.
    span : float
        m.
    bending : float
        E I, N*m2, above zero. The guides are taken as pivots.

    Returns
    -------
    float
        m: (w/T) [L^2/8 - (E I/T) (1 - 1/cosh u)], u = (L/2) sqrt(T/E I); it tends to the string's w L^2/8T for a limp
        rod and to the beam's 5 w L^4/384 E I without a pull. Small sags.
    """
    weight = mass_per_length * STANDARD_GRAVITY
    u = span / 2 * math.sqrt(max(tension, 0.0) / bending)
    if u < 0.02:  # the two terms cancel; their series is exact to 1e-7 here
        return 5 * weight * span**4 / (384 * bending) * (1 - 61 / 150 * u**2)
    return weight / tension * (span**2 / 8 - bending / tension * (1 - 1 / math.cosh(min(u, 700.0))))


def clear_spacing(tension: float, mass_per_length: float, bending: float, frequency: float) -> float:
    """Longest distance between guides at which a rod's lowest sideways frequency is still `frequency`.

    Parameters
    ----------
    tension : float
        N.
    mass_per_length : float
        kg/m.
    bending : float
        E I, N*m2; zero for a limp rod.
    frequency : float
        Hz.

    Returns
    -------
    float
        m: the root of `sections.span_frequency` = `frequency`, L^2 = [T + sqrt(T^2 + 16 pi^2 f^2 rho A E I)] /
        (8 f^2 rho A).
    """
    stiff = 16 * math.pi**2 * frequency**2 * mass_per_length * bending
    return math.sqrt((tension + math.sqrt(tension**2 + stiff)) / (8 * frequency**2 * mass_per_length))


def guides_needed(length: float, spacing: float) -> int:
    """Guides between the ends of a rod so that no span is longer than `spacing` (both m)."""
    return max(math.ceil(length / spacing - 1e-9) - 1, 0)
