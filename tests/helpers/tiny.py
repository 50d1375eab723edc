"""Small mechanisms out of the program's own parts: its builder, laws, derivation, code and integration."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from itertools import count

import numpy as np
from motions import hands_off

from keyaction.models.algebra.builder import Builder
from keyaction.models.parts.base import Part, Shape
from keyaction.models.train.structure import Member
from keyaction.models.train.train import COMMON as SHARED
from keyaction.sim.code.kernel import Kernel, load_kernel
from keyaction.sim.motion.drives import Drive
from keyaction.sim.motion.integrate import Motion, Tolerances, integrate

Assemble = Callable[[Builder], None]
COMMON = {item.name: item.value for item in SHARED}
_NUMBERS = count()


@dataclass(frozen=True)
class Bench:
    """A mechanism on the bench, with the values of its parameters."""

    kernel: Kernel
    values: Mapping[str, float]

    def parameters(self, **changed: float) -> np.ndarray:
        known = {**COMMON, **self.values, **changed}
        return np.array([known[name] for name in self.kernel.spellings])

    def run(
        self,
        start: Mapping[str, float],
        drive: Drive | float,
        tolerances: Tolerances | None = None,
        **changed: float,
    ) -> Motion:
        """Let it go from `start` (states not named are zero) under a drive, or by itself for so many seconds."""
        y = np.array([start.get(name, 0.0) for name in self.kernel.states])
        held = drive if isinstance(drive, Drive) else hands_off(drive)
        return integrate(self.kernel, self.parameters(**changed), y, held, tolerances)


def bench(assemble: Assemble, **values: float) -> Bench:
    """Put a mechanism together; it goes through the same derivation and code generation as a train."""
    name = f"bench-{next(_NUMBERS)}"

    class Mechanism(Part):
        kind = "bench"
        role = "mechanism"

        @classmethod
        def assemble(cls, builder: Builder, name: str, shape: Shape) -> None:  # noqa: ARG003
            builder.scope = ""
            assemble(builder)

    structure = (Member(Mechanism, name, ()),)
    return Bench(load_kernel(structure, plain=True), values)
