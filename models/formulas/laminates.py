"""Wound tubes of fibre and resin: stiffness and growth of plies laid at plus and minus one angle to the axis.

Classical lamination theory for thin walls: S. W. Tsai and H. T. Hahn, *Introduction to Composite Materials*, 1980 (from
memory, its ply data second-hand). Each ply lies in plane stress; coupling of stretch and bending is left out, as a
closed tube does not let its wall curl.
"""

from __future__ import annotations

import math
from dataclasses import dataclass


@dataclass(frozen=True)
class Ply:
    """One unidirectional layer.

    Parameters
    ----------
    E1, E2 : float
        Moduli along and across the fibre, Pa.
    G12 : float
        Shear modulus in its plane, Pa.
    nu12 : float
        Shortening across over stretch along.
    heat1, heat2 : float
        Thermal expansion along and across, 1/K.
    """

    E1: float
    E2: float
    G12: float
    nu12: float
    heat1: float = 0.0
    heat2: float = 0.0

    @property
    def reduced(self) -> tuple[float, float, float]:
        """Plane-stress stiffnesses Q11, Q22, Q12, Pa (Q66 is G12)."""
        free = 1 - self.nu12**2 * self.E2 / self.E1
        return self.E1 / free, self.E2 / free, self.nu12 * self.E2 / free


@dataclass(frozen=True)
class Wound:
    """A tube wall of such plies, along the tube's axis: moduli `E` and `G` in Pa, `thermal_expansion` in 1/K."""

    E: float
    G: float
    thermal_expansion: float


def wound(ply: Ply, angle: float) -> Wound:
    """Moduli of a thin-walled tube whose plies lie in equal parts at plus and minus `angle` to its axis.

    Parameters
    ----------
    ply : Ply
    angle : float
        rad, 0 to pi/2.

    Returns
    -------
    Wound

    Raises
    ------
    ValueError
        If the angle is outside its range.
    """
    if not 0 <= angle <= math.pi / 2:
        raise ValueError(f"winding angle {math.degrees(angle):g} deg: 0 to 90 deg is allowed")
    q11, q22, q12 = ply.reduced
    c2, s2 = math.cos(angle) ** 2, math.sin(angle) ** 2
    along = q11 * c2**2 + 2 * (q12 + 2 * ply.G12) * c2 * s2 + q22 * s2**2
    round_ = q11 * s2**2 + 2 * (q12 + 2 * ply.G12) * c2 * s2 + q22 * c2**2
    cross = (q11 + q22 - 4 * ply.G12) * c2 * s2 + q12 * (c2**2 + s2**2)
    shear = (q11 + q22 - 2 * q12 - 2 * ply.G12) * c2 * s2 + ply.G12 * (c2**2 + s2**2)
    # What a ply that is held would push with per kelvin, turned to the tube's axis; the shears of the two cancel.
    push1, push2 = q11 * ply.heat1 + q12 * ply.heat2, q12 * ply.heat1 + q22 * ply.heat2
    push_along, push_round = push1 * c2 + push2 * s2, push1 * s2 + push2 * c2
    left = along * round_ - cross**2
    return Wound(left / round_, shear, (round_ * push_along - cross * push_round) / left)
