"""Helical torsion springs with their legs: V-springs and coil springs for pallets; torsion bars and blades.

Coils and legs give way in series. A leg of length l bends as a cantilever, F l^3 / (3 E I), as much as l / (3 pi D)
more coils would. Ideal coils turn by M 64 D N / (E d^4); with the friction between coil and mandrel that the formula
for practice allows for, the factor is 10.8 per turn, 67.858 per radian.
R. G. Budynas and J. K. Nisbett, Shigley's Mechanical Engineering Design, torsion springs (second-hand);
V. B. Bhandari, Design of Machine Elements, ch. 10 (second-hand).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from keyaction.models.materials.types import Material

IDEAL, RUBBING = 64.0, 10.8 * 2 * math.pi
"""Factor c in k = E d^4 / (c D N), per radian: coils alone, and with the friction that practice finds."""


@dataclass(frozen=True)
class TorsionSpring:
    """A spring of round wire.

    Parameters
    ----------
    material : Material
    wire, coil, leg : float
        Wire diameter, mean coil diameter and length of the working leg, m.
    turns : float
        Number of coils.
    other : float
        Length of the other leg, m: as long again in a V-spring, short where it is held in a coil spring.
    """

    material: Material
    wire: float
    coil: float
    turns: float
    leg: float
    other: float

    @property
    def shape(self) -> str:
        """``V`` with two equal legs, else ``coil``."""
        return "V" if self.other == self.leg else "coil"

    @property
    def active(self) -> float:
        """Coils with what the legs add, N + (l1 + l2) / (3 pi D)."""
        return active_turns(self.turns, self.coil, self.leg, self.other)

    @property
    def rate(self) -> float:
        """Force per way at the end of the working leg, N/m: ideal coils, legs bending, small turns."""
        if self.shape == "V":
            return v_spring_rate(self.modulus, self.wire, self.coil, self.turns, self.leg)
        return coil_rate(self.modulus, self.wire, self.coil, self.active) / self.leg**2

    @property
    def modulus(self) -> float:
        """Young's modulus of the wire, Pa."""
        return self.material["E"].value

    @property
    def index(self) -> float:
        """Mean coil diameter over wire diameter."""
        return self.coil / self.wire

    @property
    def wire_length(self) -> float:
        """Wire in coils and legs, m; hooks not counted."""
        return math.pi * self.coil * self.turns + self.leg + self.other

    def stress(self, force: float) -> float:
        """Largest bending stress (Pa), at the inside of the coils, under a force (N) at the leg's end."""
        return bending_stress(force * self.leg, self.wire, self.coil)

    def turn(self, force: float) -> float:
        """Angle (rad) by which a force (N) closes the legs, seen from their ends."""
        return force / (self.rate * self.leg)

    def energy(self, force: float) -> float:
        """Energy stored (J) when it is wound up to a force (N)."""
        return force**2 / (2 * self.rate)


def active_turns(turns: float, coil: float, first: float, second: float) -> float:
    """Coils that give way as much as the coils and both legs (lengths in m) together."""
    return turns + (first + second) / (3 * math.pi * coil)


def coil_rate(modulus: float, wire: float, coil: float, turns: float, factor: float = IDEAL) -> float:
    """Moment per turn of coils, N m per radian: E d^4 / (c D N)."""
    return modulus * wire**4 / (factor * coil * turns)


def curvature_factor(index: float) -> float:
    """K_i = (4 C^2 - C - 1) / (4 C (C - 1)): how much more the inside of a coil is stressed than a straight wire."""
    return (4 * index**2 - index - 1) / (4 * index * (index - 1))


def bending_stress(moment: float, wire: float, coil: float) -> float:
    """K_i 32 M / (pi d^3), Pa, from N m and m."""
    return curvature_factor(coil / wire) * 32 * moment / (math.pi * wire**3)


def v_spring_rate(e: float, d: float, coil: float, turns: float, leg: float) -> float:
    """Force per closing of the gape of a V-spring, N/m: coils and the bending of both legs in series.

    Parameters
    ----------
    e : float
        Young's modulus of the wire, Pa.
    d, coil, leg : float
        Wire diameter, mean coil diameter and leg length, m.
    turns : float
        Number of coils.

    Notes
    -----
    Coils: k = E d^4 / (64 D N) per radian (V. B. Bhandari, Design of Machine Elements, ch. 10). Each leg is a
    cantilever, F L^3 / (3 E I). Small deflection of the legs.
    """
    coils = e * d**4 / (64 * coil * turns)
    bending = e * math.pi * d**4 / 64
    return 1 / (leg**2 / coils + 2 * leg**3 / (3 * bending))


def blade_rate(e: float, second: float, length: float) -> float:
    """Force per way of the free end of a leaf or wire held at the other, N/m: 3 E I / L^3; small ways.

    Parameters
    ----------
    e : float
        Young's modulus, Pa.
    second : float
        Second moment of area about the axis it bends about, m4.
    length : float
        From where it is held to its end, m.
    """
    return 3 * e * second / length**3


def twisting_stress(moment: float, diameter: float) -> float:
    """Shear at the surface of a round bar that a moment (N m) twists, Pa: 16 M / (pi d^3)."""
    return 16 * moment / (math.pi * diameter**3)
