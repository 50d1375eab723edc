"""Designs of one structure as lanes and presses take them: rows of parameters, and a train for who asks for one."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from keyaction.models.train.structure import Structure
from keyaction.models.train.train import Train
from keyaction.sim.code.lane_kernel import load_rows
from keyaction.sim.motion.integrate import Floats

Numbers = NDArray[np.int64]


class Designs(Protocol):
    """Designs of one structure, couplers set."""

    @property
    def structure(self) -> Structure:
        """What they have in common."""

    @property
    def parameters(self) -> Floats:
        """(N, np): a row per design, in the order of the equations' parameters."""

    def __len__(self) -> int: ...

    def train(self, i: int) -> Train:
        """The train of one design."""

    def some(self, which: Numbers) -> Designs:
        """Some of the designs."""

    def derived(self, role: str, name: str) -> Floats:
        """(N,): a figure that the first part of a role derives from its fields (``dip`` of the ``key``), SI."""

    @property
    def wave_time(self) -> Floats:
        """(N,): what `keyaction.sim.figures.quantities.wave_time` says, s."""


class Trains:
    """Designs that are trains already."""

    def __init__(self, trains: Sequence[Train]) -> None:
        self.trains = trains
        self.structure: Structure = trains[0].structure
        self._rows: Floats | None = None

    @property
    def parameters(self) -> Floats:
        if self._rows is None:
            names = load_rows(self.structure).layout.parameters
            self._rows = np.array([train.vector(names) for train in self.trains])
        return self._rows

    def __len__(self) -> int:
        return len(self.trains)

    def train(self, i: int) -> Train:
        return self.trains[i]

    def some(self, which: Numbers) -> Trains:
        found = Trains([self.trains[i] for i in which.tolist()])
        found._rows = None if self._rows is None else self._rows[which]
        return found

    def derived(self, role: str, name: str) -> Floats:
        return np.array([train.role(role).values.derived[name].value for train in self.trains])

    @property
    def wave_time(self) -> Floats:
        return np.array([train.wave_time for train in self.trains])
