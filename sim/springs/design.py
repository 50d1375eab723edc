"""From the force that a pallet wants to springs that can be wound from the wire in stock."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from keyaction.models.formulas.springs import TorsionSpring
from keyaction.models.materials.types import Material
from keyaction.sim.springs.usual import YIELD

TIGHTEST = 4.0
"""Least coil diameter over wire diameter (common practice)."""
FEWEST = 1.0
"""Fewest coils that are wound: one twist, as in W. E. Dickson, Practical Organ-Building, 2nd ed. 1882, p. 22-23."""


class SpringProblem(ValueError):
    """A design that cannot be begun; the message says why."""


@dataclass(frozen=True)
class Wanted:
    """What a spring is to do where it bears.

    Parameters
    ----------
    force : float
        Force on the closed pallet, N.
    rate : float
        Rise of the force per way, N/m.
    way : float
        How far the pallet carries the leg's end from closed to open, m.
    """

    force: float
    rate: float
    way: float

    @property
    def opened(self) -> float:
        """Force on the open pallet, N."""
        return self.force + self.rate * self.way


@dataclass(frozen=True)
class Stock:
    """What springs can be made of and how.

    Parameters
    ----------
    wires : sequence of (Material, diameters in m)
    coils, legs : sequence of float
        Mean coil diameters (mandrels) and lengths of the working leg, m.
    most_turns : float
        Most coils; they come in halves.
    gape : float
        Opening between the legs' ends of a V-spring with the pallet shut, m.
    held : float, optional
        Length of the held leg of a coil spring, m; None for V-springs.
    safety : float
        Yield strength over the stress allowed.
    within : float
        Largest share by which the rate may be off.
    width : float
        Widest that the coils may be side by side, m; a schedule takes each note's pallet where this is infinite.
    """

    wires: Sequence[tuple[Material, Sequence[float]]]
    coils: Sequence[float]
    legs: Sequence[float]
    most_turns: float = 8.0
    gape: float = 0.075
    held: float | None = None
    safety: float = 1.0
    within: float = 0.10
    width: float = math.inf


@dataclass(frozen=True)
class Candidate:
    """A spring that was tried; `reason` is empty where it will do.

    `strength` is the wire's tensile strength, Pa, NaN where the library has none.
    """

    spring: TorsionSpring
    wanted: Wanted
    stock: Stock
    strength: float
    reason: str = ""

    @property
    def opened(self) -> float:
        """Force on the open pallet, N."""
        return self.wanted.force + self.spring.rate * self.wanted.way

    @property
    def off(self) -> float:
        """Share by which the rate misses what is wanted."""
        return self.spring.rate / self.wanted.rate - 1

    @property
    def stress(self) -> float:
        """Largest stress, on the open pallet, Pa."""
        return self.spring.stress(self.opened)

    @property
    def share(self) -> float:
        """Stress over tensile strength."""
        return self.stress / self.strength

    @property
    def set_angle(self) -> float:
        """Angle (rad) by which the free spring is wound up when it goes in."""
        return self.spring.turn(self.wanted.force)

    @property
    def free_angle(self) -> float:
        """Angle (rad) between the legs of a free V-spring: that between the closed legs and the set angle."""
        return 2 * math.asin(min(self.stock.gape / (2 * self.spring.leg), 1.0)) + self.set_angle

    @property
    def free_gape(self) -> float:
        """Free opening between the legs' ends of a V-spring, m."""
        return 2 * self.spring.leg * math.sin(min(self.free_angle, math.pi) / 2)

    @property
    def energy(self) -> float:
        """Energy stored under the open pallet, J."""
        return self.spring.energy(self.opened)

    @property
    def rank(self) -> tuple[bool, float, float]:
        """Better first: it will do; fewest coils, as a shop winds; stress and miss of the rate over allowed, summed."""
        share = self.share * self.stock.safety / YIELD
        sum_ = (share if math.isfinite(share) else math.inf) + abs(self.off) / self.stock.within
        return bool(self.reason), self.spring.turns, sum_


def design(wanted: Wanted, stock: Stock) -> list[Candidate]:
    """Springs for a force, from the stock, best first; those that will not do come last, with the reason.

    Raises
    ------
    SpringProblem
        When there is nothing to choose from, or the force or rate wanted is not above 0.
    """
    _refuse(wanted, stock)
    return sorted(_tried(wanted, stock), key=lambda one: one.rank)


def _refuse(wanted: Wanted, stock: Stock) -> None:
    if not any(diameters for _, diameters in stock.wires):
        raise SpringProblem("the wire stock is empty: name a material and at least one diameter")
    lacking = [name for name, given in (("coil diameter", stock.coils), ("leg length", stock.legs)) if not given]
    if lacking:
        raise SpringProblem(f"nothing to wind a spring to: give at least one {' and one '.join(lacking)}")
    if not (wanted.force > 0 and wanted.rate > 0):
        raise SpringProblem(
            f"a spring needs a force and a rate above 0; wanted: {wanted.force:g} N, {wanted.rate:g} N/m"
        )


def _tried(wanted: Wanted, stock: Stock) -> Iterator[Candidate]:
    for material, diameters in stock.wires:
        for wire in diameters:
            for coil in stock.coils:
                for leg in stock.legs:
                    yield _one(wanted, stock, material, wire, coil, leg)


def _one(wanted: Wanted, stock: Stock, material: Material, wire: float, coil: float, leg: float) -> Candidate:
    """The number of coils that comes nearest to the rate, and what speaks against the spring."""
    other = leg if stock.held is None else stock.held
    no_coil = TorsionSpring(material, wire, coil, 0.0, leg, other)
    needed = no_coil.modulus * wire**4 / (64 * coil * wanted.rate * leg**2) - no_coil.active
    turns = min(max(round(2 * needed) / 2, FEWEST), stock.most_turns)
    spring = TorsionSpring(material, wire, coil, turns, leg, other)
    try:
        strength = material.wire_strength(wire)
    except ValueError:
        strength = math.nan
    found = Candidate(spring, wanted, stock, strength)
    return replace(found, reason=_against(found, needed))


def _against(found: Candidate, needed: float) -> str:
    spring, stock = found.spring, found.stock
    if spring.index < TIGHTEST:
        return "coil too tight"
    if math.isnan(found.strength):
        return f"no tensile strength of {spring.material.name} wire known"
    if needed <= 0.25:
        return "legs alone too soft"
    if needed > stock.most_turns + 0.25:
        return f"too many coils: {needed:.1f}, {stock.most_turns:g} are allowed"
    if spring.turns * spring.wire > stock.width:
        return f"coils too wide: {spring.turns * spring.wire * 1e3:.1f} mm, {stock.width * 1e3:.1f} mm are allowed"
    if found.share * stock.safety > YIELD:
        return f"too much stress: {found.share:.0%} of the strength, {YIELD / stock.safety:.0%} is allowed"
    if abs(found.off) > stock.within:
        return f"rate off by {found.off:+.0%} with coils in halves"
    if spring.shape == "V" and found.free_angle > math.pi:
        return f"free legs beyond a straight line: {math.degrees(found.free_angle):.0f}°"
    return ""


def why_none(candidates: Sequence[Candidate]) -> str:
    """What speaks against the springs, most frequent first, in one line."""
    kinds = Counter(one.reason.split(":")[0].split(" by ")[0] for one in candidates if one.reason)
    told = [f"{kind} {count}" for kind, count in kinds.most_common(3)]
    return f"of {len(candidates)} that were tried: {'; '.join(told)}"
