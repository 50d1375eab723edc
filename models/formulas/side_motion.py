"""The first sideways motion of a rod between two guides, as one sine arch: what it weighs, resists and takes of length.

Rayleigh's method with y sin(pi x/L) between pivots: S. P. Timoshenko and J. M. Gere, *Theory of Elastic Stability*,
2nd ed., 1961, ch. 1 (from memory). Exact for the lowest frequency and for Euler's push, since that is the arch of both;
near for the sag of a rod's own weight, whose line is no sine.
"""

from __future__ import annotations

import math

from keyaction.models.units.names import STANDARD_GRAVITY

SAG_OF_BEAM = 4 / math.pi**5 / (5 / 384)
"""Sag of the arch over that of a beam of its own weight, 1.0039: 0.4 % more."""
SAG_OF_STRING = 4 / math.pi**3 / (1 / 8)
"""Sag of the arch over that of a limp string, 1.032: 3.2 % more."""
ERNST_OF_STRING = 96 / math.pi**4
"""What the arch's sag gives way per pull over a string's, 0.9855: 1.4 % less."""


def modal_mass(mass_per_length: float, span: float) -> float:
    """Mass rho A L/2 (kg) that goes with the middle of the arch, from kg/m and m."""
    return mass_per_length * span / 2


def stiffness(tension: float, span: float, bending: float) -> float:
    """Force at the middle of the arch per way of it, T pi^2/2L + E I pi^4/2L^3.

    Parameters
    ----------
    tension : float
        N; below zero it is a push.
    span : float
        m.
    bending : float
        E I, N*m2. The guides are taken as pivots.

    Returns
    -------
    float
        N/m; zero at Euler's push.
    """
    return math.pi**2 / (2 * span) * (tension + math.pi**2 * bending / span**2)


def load(mass_per_length: float, span: float) -> float:
    """Share w 2L/pi (N) of a level rod's own weight that bears on the arch, from kg/m and m."""
    return mass_per_length * STANDARD_GRAVITY * 2 * span / math.pi


def per_square(span: float) -> float:
    """Shortening over the square of the way of the middle, pi^2/4L (1/m), from m; for small ways."""
    return math.pi**2 / (4 * span)


def sagging(tension: float, mass_per_length: float, span: float, bending: float) -> float:
    """Sag of a level rod as one arch (m), held by its pull and its stiffness; arguments as of `spans.hanging_sag`.

    NaN from Euler's push on.
    """
    firm = stiffness(tension, span, bending)
    return load(mass_per_length, span) / firm if firm > 0 else math.nan


def ernst_modulus(modulus: float, area: float, tension: float, mass_per_length: float, span: float) -> float:
    """Modulus (Pa) by which a limp, sagging rod seems to stretch at its ends.

    E / [1 + (w L)^2 E A/12 T^3]. H. J. Ernst, "Der E-Modul von Seilen unter Berücksichtigung des Durchhanges",
    Der Bauingenieur 40 (1965) 52-55 (from memory).

    Parameters
    ----------
    modulus : float
        E of the straight rod, Pa.
    area : float
        m2.
    tension : float
        N, above zero.
    mass_per_length : float
        kg/m.
    span : float
        m.
    """
    weight = mass_per_length * STANDARD_GRAVITY * span
    return modulus / (1 + weight**2 * modulus * area / (12 * tension**3))
