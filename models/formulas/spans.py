"""Rods between guides: how far they hang through, and how near the guides must stand, pulled, slack or pushed.

Closed forms of a pivoted beam-column: S. P. Timoshenko and J. M. Gere, *Theory of Elastic Stability*, 2nd ed., 1961,
ch. 1. From memory; held against finite differences and published factors in `tests/published`.
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
        N; below zero it is a push.
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
        rod and to the beam's 5 w L^4/384 E I without a pull. Under a push the cosine takes the place of cosh; NaN
        from Euler's push on. Small sags.
    """
    weight = mass_per_length * STANDARD_GRAVITY
    square = tension * span**2 / (4 * bending)  # of u; negative under a push
    if square <= -(math.pi**2) / 4:
        return math.nan
    if abs(square) < 4e-4:  # the two terms cancel; their series is exact to 1e-10 here
        return 5 * weight * span**4 / (384 * bending) * (1 - 61 / 150 * square + 277 / 1680 * square**2)
    u = math.sqrt(abs(square))
    turned = 1 / math.cosh(min(u, 700.0)) if square > 0 else 1 / math.cos(u)
    return weight / tension * (span**2 / 8 - bending / tension * (1 - turned))


def shortening(tension: float, mass_per_length: float, span: float, bending: float) -> float:
    """By how much the ends of a level rod come together as it sags between two guides, held up as in `hanging_sag`.

    Parameters
    ----------
    tension : float
        N; below zero it is a push.
    mass_per_length : float
        kg/m.
    span : float
        m.
    bending : float
        E I, N*m2, above zero. The guides are taken as pivots.

    Returns
    -------
    float
        m: half the sum of (slope of the elastic line)^2 over the span, (L/2) (w L^3/8 E I)^2 J with
        u = (L/2) sqrt(T/E I) and J = [1/3 - 2/u^2 + 5 tanh u/2u^3 - 1/(2 u^2 cosh^2 u)]/u^4. It tends to the string's
        (w L/T)^2 L/24, 8/3 s^2/L of its sag s, for a limp rod, and to 17 w^2 L^7/(40320 E I^2), 2.487 s^2/L, without
        a pull. Under a push tan and cos take the place of tanh and cosh; NaN from Euler's push on. Small sags.
    """
    square = tension * span**2 / (4 * bending)  # of u; negative under a push
    if square <= -(math.pi**2) / 4:
        return math.nan
    drop = mass_per_length * STANDARD_GRAVITY * span**3 / (8 * bending)
    return span / 2 * drop**2 * _slopes(square)


_SLOPES = (17 / 315, -124 / 2835, 1382 / 51975, -87376 / 6081075, 929569 / 127702575, -12809164 / 3618239625)
"""Series of J, by powers of u^2."""


def _slopes(square: float) -> float:
    """J of `shortening` by the square of u."""
    if abs(square) < 0.05:  # the terms cancel; their series is exact to 1e-9 here
        return sum(one * square**i for i, one in enumerate(_SLOPES))
    u = math.sqrt(abs(square))
    if square > 0:
        turned, level = math.tanh(u) / u, 1 / math.cosh(min(u, 350.0)) ** 2
    else:
        turned, level = math.tan(u) / u, 1 / math.cos(u) ** 2
    return (1 / 3 + (2.5 * turned - 2 - level / 2) / square) / square**2


def clear_spacing(tension: float, mass_per_length: float, bending: float, frequency: float) -> float:
    """Longest distance between guides at which a rod's lowest sideways frequency is still `frequency`.

    Parameters
    ----------
    tension : float
        N; below zero it is a push.
    mass_per_length : float
        kg/m.
    bending : float
        E I, N*m2; zero for a limp rod, which must be pulled.
    frequency : float
        Hz.

    Returns
    -------
    float
        m: the root of `sections.span_frequency` = `frequency`, L^2 = [T + sqrt(T^2 + 16 pi^2 f^2 rho A E I)] /
        (8 f^2 rho A). Under a push it is nearer than where the rod buckles.
    """
    stiff = 16 * math.pi**2 * frequency**2 * mass_per_length * bending
    whole = math.sqrt(tension**2 + stiff)
    if tension < 0:  # T + whole, without the loss of digits under a strong push
        return math.sqrt(stiff / (whole - tension) / (8 * frequency**2 * mass_per_length))
    return math.sqrt((tension + whole) / (8 * frequency**2 * mass_per_length))


def clear_pull(span: float, mass_per_length: float, bending: float, frequency: float) -> float:
    """Pull at which a rod over a span has the lowest sideways frequency `frequency`.

    Parameters
    ----------
    span : float
        m.
    mass_per_length : float
        kg/m.
    bending : float
        E I, N*m2.
    frequency : float
        Hz.

    Returns
    -------
    float
        N: rho A (2 L f)^2 - pi^2 E I/L^2; below zero where its stiffness alone is more than enough.
    """
    return mass_per_length * (2 * span * frequency) ** 2 - math.pi**2 * bending / span**2


def guides_needed(length: float, spacing: float) -> int:
    """Guides between the ends of a rod so that no span is longer than `spacing` (both m)."""
    return max(math.ceil(length / spacing - 1e-9) - 1, 0)
