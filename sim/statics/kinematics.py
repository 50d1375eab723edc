"""The train as if nothing gave way: speed ratios of all its bodies, and what each weighs at the key."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from keyaction.models.algebra.names import Name
from keyaction.models.train.structure import Structure
from keyaction.sim.code.kernel import generated_module, load_module
from keyaction.sim.code.layout import Layout, Recorded, read_layout

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Link:
    """A rod or shaft that carries the motion from one coordinate to the next."""

    element: Recorded
    upstream: int
    downstream: int

    @property
    def title(self) -> str:
        """Its name for people."""
        return self.element.title

    @property
    def kind(self) -> str:
        """``rod``, ``bar`` (between two masses of a rod), ``twist`` or ``coupler`` (which pushes one way only)."""
        return self.element.kind


@dataclass(frozen=True)
class Kinematics:
    """Geometry of a structure.

    Attributes
    ----------
    layout : Layout
    links : tuple of Link
        In train order, from the key to the pallet.
    gradients : callable (q, p) -> array
        d travel / d coordinate: the key front, then upstream and downstream of each link.
    masses : callable (q, v, p) -> array
        Kinetic energy of each owner, at unit speed of the key front half its effective mass.
    owners : tuple of str
        Parts that weigh.
    slips : tuple of int
        Number of the coordinate that drives each slip.
    text : str
        Of the generated module: ``slopes(q, p)`` are the gradients.
    """

    layout: Layout
    links: tuple[Link, ...]
    gradients: Callable[[Floats, Floats], Floats]
    masses: Callable[[Floats, Floats, Floats], Floats]
    owners: tuple[str, ...]
    slips: tuple[int, ...]
    text: str = field(repr=False)

    @property
    def coordinates(self) -> tuple[str, ...]:
        """Titles of the bodies."""
        return tuple(body.title for body in self.layout.bodies)

    def ratios(self, q: Floats, p: Floats) -> Floats:
        """Speed of every coordinate per speed of the key front, nothing giving way, at coordinates `q`."""
        slopes, held = self.gradients(q, p), self._held(p)
        ratio = np.zeros(np.shape(q))
        ratio[0] = 1 / slopes[0]
        for i, link in enumerate(self.links):
            up, down = slopes[1 + 2 * i], slopes[2 + 2 * i]
            if link.downstream in held:
                continue
            goes = ratio[link.upstream] * up / down
            ratio[link.downstream] = max(goes, ratio[link.downstream]) if link.kind == "coupler" else goes
        return ratio

    def own_ratios(self, q: Floats, p: Floats) -> Floats:
        """As `ratios`; of what no coupler moves as if its own key went as the played one does: how far it could go."""
        slopes, ratio = self.gradients(q, p), self.ratios(q, p)
        driven = {link.downstream for link in self.links}
        idle = {link.upstream for link in self.links if link.upstream not in driven and ratio[link.upstream] == 0.0}
        ratio[list(idle)] = ratio[0]
        for i, link in enumerate(self.links):
            if ratio[link.downstream] == 0.0:
                ratio[link.downstream] = ratio[link.upstream] * slopes[1 + 2 * i] / slopes[2 + 2 * i]
        return ratio

    def _held(self, p: Floats) -> set[int]:
        """Bodies that another hand holds down, which no coupler moves."""
        parts = {name.part for name, value in zip(self.layout.parameters, p, strict=True) if _holds(name, value)}
        return {i for i, body in enumerate(self.layout.bodies) if body.part in parts}

    def to(self, part: str) -> tuple[int, ...]:
        """Numbers of the links by which the key front moves a part, in order; where two couplers do, by the first.

        Through a part whose bodies only the wind joins, the way goes on at the one that a link moves.
        """
        bodies = self.layout.bodies
        at = next(i for i, body in reversed([*enumerate(bodies)]) if body.part == part)
        found = list[int]()
        while at:
            i = next((i for i, link in enumerate(self.links) if self._moves(link, at)), None)
            if i is None:
                break
            found.insert(0, i)
            at = self.links[i].upstream
        return tuple(found)

    def _moves(self, link: Link, body: int) -> bool:
        """Whether a link moves a body, or else another of its part, where none moves it."""
        if any(other.downstream == body for other in self.links):
            return link.downstream == body
        return self.layout.bodies[link.downstream].part == self.layout.bodies[body].part

    def way_ratios(self, q: Floats, p: Floats) -> Floats:
        """Way of each link's upstream end per way of the key front (rad per m for a shaft)."""
        slopes, ratio = self.gradients(q, p), self.ratios(q, p)
        return np.array([ratio[link.upstream] * slopes[1 + 2 * i] for i, link in enumerate(self.links)])

    def effective_masses(self, q: Floats, p: Floats) -> dict[str, float]:
        """Inertia of each part referred to the key front, kg."""
        found = 2 * self.masses(q, self.ratios(q, p), p)
        return dict(zip(self.owners, (float(x) for x in found), strict=True))


def _holds(name: Name, value: float) -> bool:
    return name.what == "f_held" and value > 0.0


@lru_cache(maxsize=32)
def kinematics(structure: Structure) -> Kinematics:
    """Kinematics of a structure (shared by its notes)."""
    path, text = generated_module(structure, "chain", lambda: _text(structure))
    module: Any = load_module(path, text)
    layout = read_layout(module.LAYOUT)
    links = tuple(Link(layout.elements[i], up, down) for i, up, down in module.LINKS)
    return Kinematics(
        layout,
        links,
        lambda at, of: np.array(module.slopes(at, of)),
        lambda at, by, of: np.array(module.energies(at, by, of)),
        module.OWNERS,
        module.SLIPS,
        text,
    )


@lru_cache(maxsize=32)
def kinematics_of_many(structure: Structure) -> Kinematics:
    """As `kinematics`, for arrays with a column for each design: of trains in which no hand holds a key."""
    path, text = generated_module(structure, "chain", lambda: _text(structure))
    module: Any = load_module(path, text, "_many")
    for name in ("cos", "sin", "sqrt"):
        setattr(module, name, getattr(np, name))
    return replace(
        kinematics(structure),
        gradients=lambda at, of: np.array(np.broadcast_arrays(*module.slopes(at, of), at[0])[:-1]),
        masses=lambda at, by, of: np.array(np.broadcast_arrays(*module.energies(at, by, of), at[0])[:-1]),
    )


def _text(structure: Structure) -> str:
    from keyaction.models.train.equations import derived
    from keyaction.sim.code.chain import chain_text

    return chain_text(derived(structure))
