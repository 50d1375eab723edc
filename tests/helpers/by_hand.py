"""What the closed forms of the parts start from: published constants, sums over a body, the figures to compare with."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from math import cos, pi, sin

import sympy as sp
from demo_train import DEMO, train_of
from scipy.integrate import dblquad

from keyaction.models.train.train import Train

G = 9.80665


@dataclass(frozen=True)
class Stuff:
    """Density (kg/m3), modulus in bending, shear modulus (Pa), and modulus along the bar over that in bending."""

    density: float
    e: float
    g: float = float("nan")
    along: float = 1.0

    @property
    def axial(self) -> float:
        return self.along * self.e


# Woods at 12 % of moisture content: density 1.12 times the specific gravity, the modulus in bending, and the shear
# modulus 0.064 of a modulus along the grain that is 1.1 times as great (Wood Handbook, FPL-GTR-190, 2010, ch. 5).
SPRUCE = Stuff(1120 * 0.36, 9.9e9, 0.064 * 1.1 * 9.9e9, 1.1)
CEDAR = Stuff(1120 * 0.32, 7.7e9, 0.064 * 1.1 * 7.7e9, 1.1)
MAPLE = Stuff(1120 * 0.63, 12.6e9, 0.064 * 1.1 * 12.6e9, 1.1)
BRONZE = Stuff(8850.0, 103e9, 43.1e9)
CARBON = Stuff(1500.0, 134e9, 4.3e9)
MUSIC_WIRE = Stuff(7860.0, 207e9, 79.3e9)


def figures(train: Train, part: str) -> dict[str, float]:
    """The part's figures as the program computes them."""
    return {name: item.value for name, item in train.part(part).values.derived.items()}


def swapped(kinds: Mapping[str, str], **overrides: object) -> Train:
    """The demo train with some of its parts of another kind (``{"sq1": "backfall"}``)."""
    return train_of([(kinds.get(name, kind), name, fields) for kind, name, fields in DEMO], **overrides)


def without(names: Iterable[str], **overrides: object) -> Train:
    """The demo train without some of its parts."""
    return train_of([part for part in DEMO if part[1] not in set(names)], **overrides)


def bar_inertia(density: float, breadth: float, start: float, end: float, deep: float) -> float:
    """Inertia about the pivot at 0 of a bar from `start` to `end`, `deep` in the plane in which it turns: a sum."""
    found, _ = dblquad(lambda y, x: x * x + y * y, start, end, -deep / 2, deep / 2, epsabs=1e-16)
    return density * breadth * found


def polar_of_a_rectangle(width: float, thickness: float) -> float:
    """Polar second moment of area about the middle: a sum over the section."""
    found, _ = dblquad(lambda y, x: x * x + y * y, -width / 2, width / 2, -thickness / 2, thickness / 2, epsabs=1e-20)
    return found


def polar_of_a_ring(outer: float, inner: float = 0.0) -> float:
    """Polar second moment of area between two diameters: a sum over radius and angle."""
    found, _ = dblquad(
        lambda angle, r: ((r * cos(angle)) ** 2 + (r * sin(angle)) ** 2) * r, inner / 2, outer / 2, 0, 2 * pi
    )
    return found


def torsion_of_a_rectangle(a: float, b: float, terms: int = 199) -> float:
    """Saint-Venant's constant by the double sine series of Prandtl's stress function (another way than the program's).

    J = 256 a^3 b^3 / pi^6 times the sum over odd m, n of 1 / (m^2 n^2 (m^2 b^2 + n^2 a^2)).
    """
    odd = range(1, terms + 1, 2)
    total = sum(1 / (m * m * n * n * (m * m * b * b + n * n * a * a)) for m in odd for n in odd)
    return 256 * a**3 * b**3 / pi**6 * total


def load_on(train: Train, pin: str, **forces: float) -> float:
    """Load on a pin as the equations have it, with the forces of the elements given (others are zero)."""
    system = train.system()
    (found,) = [one.expr for one in system.definitions if one.symbol.name == f"N_{pin}"]
    values = {symbol: forces.get(symbol.name, 0.0) for symbol in found.free_symbols}
    values |= {p.symbol: train.parameters[p.name].value for p in system.params if p.symbol.name not in forces}
    assert forces.keys() <= {symbol.name for symbol in found.free_symbols}, found
    return float(found.subs(values))


def at_rest(train: Train, expr: sp.Expr) -> float:
    """An expression of coordinates and parameters with every coordinate at zero."""
    system = train.system()
    zero = {c.q: 0 for c in system.coordinates} | {c.v: 0 for c in system.coordinates}
    known = {p.symbol: train.parameters[p.name].value for p in system.params}
    return float(expr.subs(known).subs(zero))


def carried_inertia(train: Train, body: str) -> float:
    """What a body and the rods on its arms have of inertia at rest: its entry of the mass matrix."""
    names = [c.name for c in train.system().coordinates]
    i = names.index(body)
    return at_rest(train, train.system().mass[i, i])


def rods_weight_on(train: Train, body: str) -> float:
    """Moment (N m, in the playing direction) of the weight of the rods that a body carries at rest."""
    system = train.system()
    (g,) = [p.symbol for p in system.params if p.symbol.name == "g"]
    (q,) = [c.q for c in system.coordinates if c.name == body]
    return -G * at_rest(train, sp.diff(system.potential, g, q))
