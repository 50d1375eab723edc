"""How far a bar gives under a rod's force where the rod hooks on, what balances the force being given.

A unit force bends the bar by the sum of M^2 / EI, and shears it by the sum of V^2 / (G A / form), over its length
(Castigliano's second theorem). Closed forms of those sums: J. M. Gere and S. P. Timoshenko, *Mechanics of Materials*,
4th ed., 1997, Appendix G (cantilever P L^3/3EI; two supports P a^2 b^2/3EIL; overhang P c^2 (L + c)/3EI). Wood shears
enough to count: USDA Forest Products Laboratory, *Wood Handbook*, FPL-GTR-190, 2010, eq. 9-2 and Table 9-1. Both from
memory. Slow against the bar's own bending vibration; small deflections.
"""

from __future__ import annotations

from dataclasses import dataclass

FORM = {"rectangle": 6 / 5, "square": 6 / 5, "round": 10 / 9, "tube": 2.0}
"""Form factor of shear by section, from the energy of the shear stress; a tube is taken as thin."""


@dataclass(frozen=True)
class Bow:
    """A bar under a unit force: sums over its length of M^2 (`moment`, m3) and of V^2 (`shear`, m)."""

    moment: float
    shear: float

    def give(self, bending: float, shearing: float) -> float:
        """Way per force where the force acts, m/N.

        Parameters
        ----------
        bending : float
            E I, N m2.
        shearing : float
            G A over the form factor, N; infinite where shear is left out or is in E already.
        """
        return self.moment / bending + self.shear / shearing


def cantilever(length: float) -> Bow:
    """An arm of `length` (m) that stands out from a stiff hub or a knife edge: P L^3/3EI."""
    return Bow(length**3 / 3, length)


def between(first: float, second: float) -> Bow:
    """A bar on two supports with the force between them, `first` and `second` (m) away: P a^2 b^2/3EI(a + b)."""
    span = first + second
    return Bow((first * second) ** 2 / (3 * span), first * second / span)


def overhang(beyond: float, span: float) -> Bow:
    """A bar on two supports `span` apart with the force `beyond` one of them (m): P c^2 (L + c)/3EI."""
    return Bow(beyond**2 * (span + beyond) / 3, beyond * (span + beyond) / span)


def pressed_evenly(at: float, length: float) -> Bow:
    """A bar hinged at one end, pulled `at` (m) from there, against an even pressure over its whole `length` (m).

    With e = at / length: M = (2e - 1) s - e s^2 on the hinge's side of the pull, -e (1 - s)^2 beyond it, in units of
    force times length. At the far end P L^3/30EI.
    """
    e = at / length
    f = 2 * e - 1
    moment = f**2 * e**3 / 3 - f * e**5 / 2 + e**7 / 5 + e**2 * (1 - e) ** 5 / 5
    shear = f**2 * e - 2 * f * e**3 + 4 * e**5 / 3 + 4 * e**2 * (1 - e) ** 3 / 3
    return Bow(moment * length**3, shear * length)
