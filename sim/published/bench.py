"""Small mechanisms on the bench: out of the program's own builder, laws, derivation, generated code and integration."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np

from keyaction.models.algebra.builder import Builder
from keyaction.models.parts.base import Part, Shape
from keyaction.models.train.structure import Member
from keyaction.models.train.train import COMMON as SHARED
from keyaction.sim.code.kernel import Floats, Kernel, load_kernel
from keyaction.sim.motion.drives import Drive, Piece
from keyaction.sim.motion.integrate import Motion, Tolerances, integrate

Assemble = Callable[[Builder], None]
COMMON = {item.name: item.value for item in SHARED}


@dataclass(frozen=True)
class Bench:
    """A mechanism, with the values of its parameters by the names that it gave them."""

    kernel: Kernel
    values: Mapping[str, float]

    def parameters(self, **changed: float) -> Floats:
        """The parameter vector, some values changed."""
        known = {**COMMON, **self.values, **changed}
        return np.array([known[name] for name in self.kernel.spellings])

    def run(
        self, start: Mapping[str, float], drive: Drive | float, tolerances: Tolerances | None = None, **changed: float
    ) -> Motion:
        """Let it go.

        Parameters
        ----------
        start : mapping of str to float
            Ways, speeds and other states by name, SI; those not named are zero.
        drive : Drive or float
            What is done to it; or it moves by itself for so many seconds.
        tolerances : Tolerances, optional
        **changed : float
            Parameters that differ from the bench's.
        """
        y = np.array([start.get(name, 0.0) for name in self.kernel.states])
        held = drive if isinstance(drive, Drive) else Drive("motion", (Piece(0.0, drive),), stiffness=0.0)
        return integrate(self.kernel, self.parameters(**changed), y, held, tolerances)


def bench(assemble: Assemble, **values: float) -> Bench:
    """Put a mechanism together; it goes through the same derivation and code generation as a train.

    Parameters
    ----------
    assemble : callable
        Adds bodies, energies and forces to a builder, as a part does; its name is the mechanism's.
    **values : float
        Parameters, SI.
    """

    class Mechanism(Part):
        kind = "bench"
        role = "mechanism"

        @classmethod
        def assemble(cls, builder: Builder, name: str, shape: Shape) -> None:  # noqa: ARG003
            builder.scope = ""
            assemble(builder)

    return Bench(load_kernel((Member(Mechanism, assemble.__name__, ()),), plain=True), values)


def tightened(scale: float, **others: float) -> Tolerances:
    """The usual tolerances, all of them multiplied by `scale`."""
    usual = Tolerances()
    names = ("relative", "way", "speed", "slip", "pressure", "work")
    return Tolerances(**{name: scale * getattr(usual, name) for name in names}, **others)
