"""What a unit measures, as powers of the base units."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction


@dataclass(frozen=True)
class Dimension:
    """Exponents of kilogram, metre, second and kelvin (exact fractions); the radian counts as a plain number.

    Hashable, and closed under ``*``, ``/`` and ``**``, so that equations can be checked term by term.
    """

    kg: Fraction = Fraction(0)
    m: Fraction = Fraction(0)
    s: Fraction = Fraction(0)
    K: Fraction = Fraction(0)

    def __mul__(self, other: Dimension) -> Dimension:
        return Dimension(self.kg + other.kg, self.m + other.m, self.s + other.s, self.K + other.K)

    def __truediv__(self, other: Dimension) -> Dimension:
        return self * other**-1

    def __pow__(self, power: int | Fraction) -> Dimension:
        p = Fraction(power)
        return Dimension(self.kg * p, self.m * p, self.s * p, self.K * p)
