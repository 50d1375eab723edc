"""Force laws: what a stretch, a twist, a pressure or a slip does, whatever the geometry.

Each law is a function of expressions and returns expressions. Where a law stores energy, `energy` is its
stored part and ``force(x, 0)`` the derivative of it, so that energy can be audited.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Protocol

import sympy as sp

from keyaction.models.algebra.symbols import pos, pos32, size

Expr = Any  # sympy ships no types


class Law(Protocol):
    """A force that opposes a stretch `x` growing at `rate`; `k` is its stiffness parameter."""

    @property
    def k(self) -> Expr: ...

    def force(self, x: Expr, rate: Expr) -> Expr: ...
    def energy(self, x: Expr) -> Expr: ...


@dataclass(frozen=True)
class Pull:
    """A rod that carries load in one sense only: T = max(0, k x (1 + alpha x')) for x > 0.

    Linear elastic, so valid while the rod is far below its strength; `alpha` (s/m) is the damping of its
    ends, and the outer bound keeps a fast slackening rod from pushing. No jump at x = 0.
    """

    k: Expr
    alpha: Expr

    def force(self, x: Expr, rate: Expr) -> Expr:
        return pos(self.k * pos(x) * (1 + self.alpha * rate))

    def energy(self, x: Expr) -> Expr:
        return self.k * pos(x) ** 2 / 2


@dataclass(frozen=True)
class Felt:
    """Felt, leather or cloth in compression: F = max(0, K x^1.5 (1 + 1.5 alpha x')).

    K. H. Hunt and F. R. E. Crossley, "Coefficient of restitution interpreted as damping in vibroimpact",
    J. Appl. Mech. 42 (1975) 440-445 (from memory): for small speeds the restitution is 1 - alpha v.
    """

    k: Expr
    alpha: Expr

    def force(self, x: Expr, rate: Expr) -> Expr:
        return pos(self.k * pos32(x) * (1 + sp.Rational(3, 2) * self.alpha * rate))

    def energy(self, x: Expr) -> Expr:
        return sp.Rational(2, 5) * self.k * pos(x) * pos32(x)


@dataclass(frozen=True)
class Bar:
    """A linear spring with viscous loss that works both ways: F = k x + c x' (twisting shaft, rod in pieces)."""

    k: Expr
    c: Expr

    def force(self, x: Expr, rate: Expr) -> Expr:
        return self.k * x + self.c * rate

    def energy(self, x: Expr) -> Expr:
        return self.k * x**2 / 2


@dataclass(frozen=True)
class Preloaded:
    """A spring set before it works: M = M0 + k x; no loss."""

    preload: Expr
    k: Expr

    def force(self, x: Expr, rate: Expr) -> Expr:  # noqa: ARG002  a law takes the rate even where it has no loss
        return self.preload + self.k * x

    def energy(self, x: Expr) -> Expr:
        return self.preload * x + self.k * x**2 / 2


def slip_rate(slip: Expr, speed: Expr, reach: Expr) -> Expr:
    """Rate of the slip state u of dry friction, |u| <= 1: u' = (v - |v| u) / reach.

    The friction is capacity times u. Within `reach` the surfaces give elastically, so a load below
    break-away is held at rest; beyond it u saturates, and as `reach` goes to zero the law becomes Coulomb's.
    P. R. Dahl, "A solid friction model", Aerospace Corp. TOR-0158(3107-18)-1, 1968 (from memory).
    """
    return (speed - size(speed) * slip) / reach


def dry_friction(capacity: Expr, slip: Expr, speed: Expr, reach: Expr, lag: Expr) -> Expr:
    """Dry friction against `speed`, `slip` being the state u of `slip_rate`: capacity ((1 - w) u + w sign(v)).

    w = lag |v| / (reach + lag |v|) lies between 0 and 1, so the friction never exceeds its capacity. At rest it
    is the elastic give of the surfaces, damped over the time `lag`, so that a load laid on comes to rest as its
    tremble dies away; moving, it is Coulomb's at once. Under a load that trembles without end between the shares a
    and b of the capacity it creeps, as Dahl's law does, by reach ln((1 - a^2) / (1 - b^2)) a cycle at any rate: a
    bushing of 0.1 mrad under 0.5 +- 0.2 of break-away, 20 times a second, by 0.27 mm/s at 230 mm. So a load held
    for long on a train that something shakes is not for this law. Written without the sign:
    u + lag (v - |v| u) / (reach + lag |v|).
    """
    return capacity * (slip + lag * (speed - size(speed) * slip) / (reach + lag * size(speed)))


def orifice_flow(area: Expr, pressure_drop: Expr, density: Expr, smooth: Expr) -> Expr:
    """Volume flow through an opening, signed and smooth at zero: C_d A sqrt(2 dp / rho).

    `area` includes the discharge coefficient. Below `smooth` (Pa) the flow turns linear in the drop, as
    creeping flow does. Incompressible: for drops that are small against the atmosphere.
    """
    softened = (pressure_drop**2 + smooth**2) ** sp.Rational(1, 4)
    return area * sp.sqrt(2 / density) * pressure_drop / softened


def in_series(first: Expr, second: Expr) -> Expr:
    """Area of two openings one behind the other, each losing its whole dynamic head."""
    return first * second / sp.sqrt(first**2 + second**2)
