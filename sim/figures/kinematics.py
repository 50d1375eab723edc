"""The train as if nothing gave way: speed ratios of all its bodies, and what each weighs at the key."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np
import sympy as sp
from numpy.typing import NDArray

from keyaction.models.train.equations import Structure, System, derived

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Link:
    """A rod or shaft that carries the motion from one coordinate to the next."""

    element: str
    kind: str
    upstream: int
    downstream: int


@dataclass(frozen=True)
class Kinematics:
    """Geometry of a structure.

    Attributes
    ----------
    links : tuple of Link
        In train order, from the key to the pallet.
    gradients : callable (q, p) -> array
        d travel / d coordinate: the key front, then upstream and downstream of each link.
    masses : callable (q, v, p) -> array
        Kinetic energy of each owner, at unit speed of the key front half its effective mass.
    owners : tuple of str
    """

    links: tuple[Link, ...]
    gradients: Callable[[Floats, Floats], Floats]
    masses: Callable[[Floats, Floats, Floats], Floats]
    owners: tuple[str, ...]
    coordinates: tuple[str, ...]

    def ratios(self, q: Floats, p: Floats) -> Floats:
        """Speed of every coordinate per speed of the key front, nothing giving way, at coordinates `q`."""
        slopes = self.gradients(q, p)
        ratio = np.zeros(len(self.coordinates))
        ratio[0] = 1 / slopes[0]
        for i, link in enumerate(self.links):
            up, down = slopes[1 + 2 * i], slopes[2 + 2 * i]
            ratio[link.downstream] = ratio[link.upstream] * up / down
        return ratio

    def way_ratios(self, q: Floats, p: Floats) -> Floats:
        """Way of each link's upstream end per way of the key front (rad per m for a shaft)."""
        slopes, ratio = self.gradients(q, p), self.ratios(q, p)
        return np.array([ratio[link.upstream] * slopes[1 + 2 * i] for i, link in enumerate(self.links)])

    def effective_masses(self, q: Floats, p: Floats) -> dict[str, float]:
        """Inertia of each part referred to the key front, kg."""
        found = 2 * self.masses(q, self.ratios(q, p), p)
        return dict(zip(self.owners, (float(x) for x in found), strict=True))


def _carriers(system: System) -> list[Any]:
    return [e for e in system.elements if e.kind in ("rod", "bar", "twist") and len(e.ends) == 2]


@lru_cache(maxsize=32)
def kinematics(structure: Structure) -> Kinematics:
    """Kinematics of a structure (shared by its notes)."""
    system = derived(structure)
    index = {c.q: i for i, c in enumerate(system.coordinates)}
    carriers = _carriers(system)
    links = tuple(
        Link(e.name, e.kind, index[e.ends[0][0].coordinate.q], index[e.ends[1][0].coordinate.q]) for e in carriers
    )
    front = next(e for e in system.elements if e.kind == "finger").ends[0][0]
    slopes = [front.gradient, *(port.gradient for e in carriers for port, _ in e.ends)]
    q, v, p = (
        [c.q for c in system.coordinates],
        [c.v for c in system.coordinates],
        [x.symbol for x in system.params],
    )
    owners = tuple(dict.fromkeys(owner for owner, _ in system.kinetic))
    energies = [sum(term for owner, term in system.kinetic if owner == name) for name in owners]
    slope_function = sp.lambdify([q, p], slopes, modules="math", cse=True)
    energy_function = sp.lambdify([q, v, p], energies, modules="math", cse=True)
    return Kinematics(
        links,
        lambda at, of: np.array(slope_function(at, of)),
        lambda at, by, of: np.array(energy_function(at, by, of)),
        owners,
        tuple(c.name for c in system.coordinates),
    )
