"""What the bushings of a train weigh at the key front, from its parameters alone."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from keyaction.models.train.structure import Structure
from keyaction.sim.code.kernel import Kernel
from keyaction.sim.statics.kinematics import kinematics

Floats = NDArray[np.float64]
CREEP = 1e-9
"""m/s of the key front: so slow that nothing but dry friction takes power."""


@dataclass(frozen=True)
class Bushings:
    """The bushings of one design.

    Attributes
    ----------
    structure : Structure
    kernel : Kernel
        Its equations.
    parameters, drive : arrays
    slips, owner : int arrays
        Where their slips stand among the states; the coordinate that each goes with.
    ratios : array
        Speed of every coordinate per speed of the key front, nothing giving way.
    """

    structure: Structure
    kernel: Kernel
    parameters: Floats
    drive: Floats
    slips: NDArray[np.int64] = field(init=False)
    owner: NDArray[np.int64] = field(init=False)
    ratios: Floats = field(init=False)

    def __post_init__(self) -> None:
        geometry = kinematics(self.structure)
        object.__setattr__(self, "slips", np.array(self.kernel.of_kind("slip"), dtype=np.int64))
        object.__setattr__(self, "owner", np.array(geometry.slips, dtype=np.int64))
        object.__setattr__(self, "ratios", geometry.ratios(np.zeros(len(geometry.coordinates)), self.parameters))

    def friction(self, y: Floats) -> Floats:
        """What each bushing's whole friction weighs at the key front in a state (n,), N: (s,) array.

        By the power that it takes as the key front creeps, nothing giving way.
        """
        work, speeds = dict(self.kernel.accounts)["friction"], self.kernel.of_kind("speed")
        found = np.empty(len(self.slips))
        for k, slip in enumerate(self.slips):
            moving = y.copy()
            moving[speeds], moving[self.slips] = self.ratios * CREEP, 0.0
            moving[slip] = np.sign(self.ratios[self.owner[k]])
            found[k] = self.kernel.rates(0.0, moving, self.parameters, self.drive)[work] / CREEP
        return found
