"""How far a wire gives whose arms stand beyond its two bearings, and are its own ends bent over.

Superposed from J. M. Gere and S. P. Timoshenko, *Mechanics of Materials*, 4th ed., 1997, Appendix G: overhang, moment
at an end of a beam on two supports (slopes M L/3EI and M L/6EI), even load; from memory. Shear is left out: wires are
slender.
"""

from __future__ import annotations

from keyaction.models.instrument.shaft import Sag


def overhanging_sag(
    key_pull: float, pallet_pull: float, length: float, inset: float, bending: float, weight: float = 0.0
) -> Sag:
    """How far a wire gives under the pulls of its two arms and its own weight.

    Parameters
    ----------
    key_pull, pallet_pull : float
        Of the rods, in one plane, N; opposite signs where one rod pulls down and the other up.
    length : float
        Between the two arms, m.
    inset : float
        From each arm inwards to its bearing, m.
    bending : float
        E I, N m2.
    weight : float, optional
        Of the wire per length, above zero the way of a pull above zero, N/m.

    Returns
    -------
    Sag
        Places along the wire count from the key's arm.

    Raises
    ------
    ValueError
        If there is no span between the bearings, or no stiffness.
    """
    span = length - 2 * inset
    if not (span > 0 and inset >= 0 and bending > 0):
        raise ValueError("length less two insets, and bending, must be above 0, the inset not below it")
    pulls = key_pull, pallet_pull
    moments = [pull * inset + weight * inset**2 / 2 for pull in pulls]
    ends = []
    for pull, near, far in zip(pulls, moments, reversed(moments), strict=True):
        slope = span * (near / 3 + far / 6) - weight * span**3 / 24
        ends.append((slope * inset + pull * inset**3 / 3 + weight * inset**4 / 8) / bending)
    found = [(0.0, ends[0]), (length, ends[1]), *_level(moments, span, inset, bending, weight)]
    at, most = max(found, key=lambda one: abs(one[1]))
    return Sag(ends[0], ends[1], abs(most), at)


def _level(moments: list[float], span: float, inset: float, bending: float, weight: float) -> list[tuple[float, float]]:
    """Where the wire runs level between its bearings, and how far down it is there."""
    from numpy.polynomial import Polynomial

    x, size = Polynomial([0.0, 1.0]), span  # the place as a share of the span
    down = weight * size**4 / 24 * (x - 2 * x**3 + x**4)
    down -= size**2 / 6 * (moments[0] * (2 * x - 3 * x**2 + x**3) + moments[1] * (x - x**3))
    slope = down.deriv()
    scale = float(max(abs(slope.coef)))
    level = [complex(root) for root in slope.trim(1e-12 * scale).roots()] if scale > 0 else []
    shares = [root.real for root in level if abs(root.imag) < 1e-9 and 0 < root.real < 1]
    return [(inset + share * size, float(down(share)) / bending) for share in shares]
