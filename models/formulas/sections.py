"""Cross-sections of rods and rollers, and what follows from them: stiffness, waves, buckling, sag.

Closed forms: S. P. Timoshenko and J. N. Goodier, *Theory of Elasticity*, 3rd ed., 1970, ch. 10 (torsion);
S. P. Timoshenko and J. M. Gere, *Theory of Elastic Stability*, 2nd ed., 1961, ch. 2 (buckling). From memory.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

from keyaction.models.many import maths
from keyaction.models.units.names import STANDARD_GRAVITY

#: Riemann zeta at 5; the sum of 1/n^5 over odd n is 31/32 of it.
_ZETA_5 = 1.036927755143369926


@dataclass(frozen=True)
class Section:
    """A cross-section.

    `area` in m2; `weak_axis` and `strong_axis`, the least and greatest second moment of area, in m4;
    `torsion`, the Saint-Venant torsion constant J, in m4.
    """

    shape: str
    area: float
    weak_axis: float
    strong_axis: float
    torsion: float


def _check(**sizes: float) -> None:
    wrong = [f"{name} is {size:g} m" for name, size in sizes.items() if not 0 < size < math.inf]
    if wrong:
        raise ValueError(f"{'; '.join(wrong)}; it must be above 0")


def round_bar(diameter: float) -> Section:
    """Solid round of `diameter` (m): I = pi d^4/64, J = 2 I."""
    _check(diameter=diameter)
    second = math.pi * diameter**4 / 64
    return Section("round", math.pi * diameter**2 / 4, second, second, 2 * second)


def tube(diameter: float, wall: float) -> Section:
    """Round tube of outer `diameter` and `wall` thickness (m): I = pi (D^4 - d^4)/64, J = 2 I."""
    _check(diameter=diameter, wall=wall)
    if wall > diameter / 2:
        raise ValueError(f"wall {wall:g} m is more than half the diameter {diameter:g} m")
    inner = diameter - 2 * wall
    second = math.pi * (diameter**4 - inner**4) / 64
    return Section("tube", math.pi * (diameter**2 - inner**2) / 4, second, second, 2 * second)


def square(side: float) -> Section:
    """Square of `side` (m)."""
    return rectangle(side, side, "square")


def rectangle(width: float, thickness: float, shape: str = "rectangle") -> Section:
    """Rectangle of `width` by `thickness` (m), in either order.

    J is Saint-Venant's series, J = a b^3 [1/3 - (64/pi^5)(b/a) sum over odd n of tanh(n pi a/2b)/n^5] with
    a >= b, summed as its closed limit less an exponentially falling rest; exact to rounding.
    """
    _check(width=width, thickness=thickness)
    a, b = maths.larger(width, thickness), maths.smaller(width, thickness)
    # Past n = 9 the rest is below 1e-17 even for a square; past exponent 700 it underflows anyway.
    rest = sum(2 / (n**5 * (maths.exp(maths.smaller(n * math.pi * a / b, 700.0)) + 1)) for n in (1, 3, 5, 7, 9))
    factor = 1 / 3 - 64 / math.pi**5 * (b / a) * (31 / 32 * _ZETA_5 - rest)
    return Section(shape, a * b, a * b**3 / 12, b * a**3 / 12, factor * a * b**3)


SHAPES: dict[str, Callable[..., Section]] = {
    "round": round_bar,
    "tube": tube,
    "square": square,
    "rectangle": rectangle,
}


def section(shape: str, *sizes: float) -> Section:
    """Build a section by the name of its shape.

    Parameters
    ----------
    shape : {"round", "tube", "square", "rectangle"}
    *sizes : float
        Diameter; diameter and wall; side; width and thickness (m).

    Returns
    -------
    Section

    Raises
    ------
    ValueError
        If the shape is not known or a size is not above zero.
    """
    if shape not in SHAPES:
        raise ValueError(f"section '{shape}' is not known; one of {', '.join(SHAPES)}")
    return SHAPES[shape](*sizes)


def axial_stiffness(modulus: float, area: float, length: float) -> float:
    """Stiffness E A / L of a rod in N/m, from Pa, m2 and m."""
    return modulus * area / length


def torsional_stiffness(shear_modulus: float, torsion: float, length: float) -> float:
    """Stiffness G J / L of a shaft in N*m/rad, from Pa, m4 and m."""
    return shear_modulus * torsion / length


def wave_speed(modulus: float, density: float) -> float:
    """Speed sqrt(E / rho) of a pull along a rod in m/s, from Pa and kg/m3."""
    return maths.sqrt(modulus / density)


def euler_load(modulus: float, second_moment: float, length: float) -> float:
    """Push pi^2 E I / L^2 (N) at which a rod with pivoted ends buckles, from Pa, m4 and m."""
    return math.pi**2 * modulus * second_moment / length**2


def span_frequency(tension: float, mass_per_length: float, span: float, bending: float = 0.0) -> float:
    """Lowest sideways frequency of a tracker between two guides.

    Parameters
    ----------
    tension : float
        N; below zero it is a push.
    mass_per_length : float
        rho A, kg/m.
    span : float
        Distance between the guides, m.
    bending : float
        E I, N*m2; zero for a limp tracker. The guides are taken as pivots.

    Returns
    -------
    float
        Frequency in Hz: (1/2L) sqrt((T + pi^2 E I/L^2) / rho A), that is f0 sqrt(1 + T/Pcr); zero at Euler's push
        Pcr, NaN beyond it. Guides that hold the rod's direction as well would raise it.
    """
    stiffness = tension + math.pi**2 * bending / span**2
    return math.sqrt(stiffness / mass_per_length) / (2 * span) if stiffness >= 0 else math.nan


def sag(tension: float, mass_per_length: float, span: float) -> float:
    """Sag rho A g L^2 / 8T (m) of a level tracker between guides, from N, kg/m and m; for small sags."""
    return mass_per_length * STANDARD_GRAVITY * span**2 / (8 * tension)


def sag_lost_motion(sag_before: float, sag_after: float, span: float) -> float:
    """Travel 8/3 (s1^2 - s2^2)/L (m) lost as a pull straightens the sag of a limp rod from s1 to s2 over a span (m).

    Of a parabola; `spans.shortening` is of a rod with stiffness, which loses 7 % less where that alone holds it.
    """
    return 8 / 3 * (sag_before**2 - sag_after**2) / span
