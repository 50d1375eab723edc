"""What a long roller's shaft does under its rods: it bends between its bearings, and twists between its arms.

Closed forms of a bar on two supports by Macaulay's brackets, with shear: J. M. Gere and S. P. Timoshenko, *Mechanics of
Materials*, 4th ed., 1997, ch. 9 and Appendix G. From memory. Slow loads, small deflections; bearings hold places, not
directions.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from keyaction.models.formulas.sections import torsional_stiffness


@dataclass(frozen=True)
class Sag:
    """How far a shaft gives sideways, m; above zero the way of a pull above zero.

    `key` and `pallet` at its two arms, `most` the greatest amount anywhere, `at` how far that is from the bearing
    beside the key's arm.
    """

    key: float
    pallet: float
    most: float
    at: float


def sag(
    key_pull: float,
    pallet_pull: float,
    length: float,
    inset: float,
    bending: float,
    shearing: float = math.inf,
    weight: float = 0.0,
) -> Sag:
    """How far a shaft gives under the pulls of its two arms and its own weight.

    Parameters
    ----------
    key_pull, pallet_pull : float
        Of the rods, in one plane, N; opposite signs where one rod pulls down and the other up.
    length : float
        Between the two arms, m.
    inset : float
        From each arm to the bearing beside it, m.
    bending : float
        E I, N m2.
    shearing : float, optional
        G A over the form factor, N; infinite leaves shear out.
    weight : float, optional
        Of the shaft per length, above zero the way of a pull above zero, N/m.

    Returns
    -------
    Sag

    Raises
    ------
    ValueError
        If length or stiffness is not above 0, or the inset below 0.
    """
    if not (length > 0 and inset >= 0 and bending > 0 and shearing > 0):
        raise ValueError("length, bending and shearing must be above 0, the inset not below it")
    shaft = _Shaft(key_pull, pallet_pull, length, inset, bending, shearing, weight)
    places = [place for part in range(3) for place in shaft.level_places(part)]
    at = max([inset, inset + length, *places], key=lambda x: abs(shaft.down(x)))
    return Sag(shaft.down(inset), shaft.down(inset + length), abs(shaft.down(at)), at)


@dataclass(frozen=True)
class _Shaft:
    """A bar from 0 to its span with loads `first` at `inset` and `second` at `inset` from the other end."""

    first: float
    second: float
    length: float
    inset: float
    bending: float
    shearing: float
    weight: float

    @property
    def span(self) -> float:
        return self.length + 2 * self.inset

    @property
    def borne(self) -> float:
        """What the bearing at 0 bears, N."""
        share = self.first * (self.span - self.inset) + self.second * self.inset
        return share / self.span + self.weight * self.span / 2

    def _loads(self, part: int) -> tuple[tuple[float, float], ...]:
        """Loads that stand before a part of the bar (0 to 2): where, and how much."""
        return ((0.0, -self.borne), (self.inset, self.first), (self.inset + self.length, self.second))[: part + 1]

    def _bent(self, x: float, part: int) -> float:
        """E I times the way there, but for the straight line that brings the far end back to its bearing."""
        return sum(load * (x - at) ** 3 / 6 for at, load in self._loads(part)) + self.weight * x**4 / 24

    def moment(self, x: float, part: int) -> float:
        """Bending moment at x, N m."""
        return -sum(load * (x - at) for at, load in self._loads(part)) - self.weight * x**2 / 2

    def down(self, x: float) -> float:
        """Way at x, m."""
        part = int(x > self.inset) + int(x > self.inset + self.length)
        line = -self._bent(self.span, 2) / self.span * x
        return (self._bent(x, part) + line) / self.bending + self.moment(x, part) / self.shearing

    def level_places(self, part: int) -> list[float]:
        """Where in a part of the bar it runs level, m."""
        from numpy.polynomial import Polynomial

        x = Polynomial([0.0, self.span])  # of the place as a share of the span
        bent = sum((load * (x - at) ** 3 / 6 for at, load in self._loads(part)), self.weight * x**4 / 24)
        moment = -sum((load * (x - at) for at, load in self._loads(part)), self.weight * x**2 / 2)
        line = -self._bent(self.span, 2) * Polynomial([0.0, 1.0])
        slope = ((bent + line) / self.bending + moment / self.shearing).deriv()
        # A power that is there by rounding alone would spoil the roots of the others.
        roots = slope.trim(1e-12 * float(max(abs(slope.coef)))).roots()
        level = [float(root.real) * self.span for root in roots if abs(root.imag) < 1e-9]
        ends = (0.0, self.inset, self.inset + self.length, self.span)
        return [at for at in level if ends[part] <= at <= ends[part + 1]]


def twist(torque: float, shear_modulus: float, torsion: float, length: float) -> float:
    """Twist T L / G J (rad) between the two arms of a shaft, from N m, Pa, m4 and m."""
    return torque / torsional_stiffness(shear_modulus, torsion, length)


def lost_by_twist(pull: float, arm: float, shear_modulus: float, torsion: float, length: float) -> float:
    """Way F r^2 L / G J (m) that one arm's end goes further than the other's of the same length, from the pull (N).

    Parameters
    ----------
    pull : float
        At the arm's end, N.
    arm : float
        m.
    shear_modulus : float
        G, Pa.
    torsion : float
        J, m4.
    length : float
        Between the two arms, m.
    """
    return twist(pull * arm, shear_modulus, torsion, length) * arm
