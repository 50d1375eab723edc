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


class Several:
    """Designs of one structure behind each other."""

    def __init__(self, parts: Sequence[Designs]) -> None:
        self.parts, self.structure = parts, parts[0].structure
        self._ends = np.cumsum([len(part) for part in parts])

    @property
    def parameters(self) -> Floats:
        return np.concatenate([part.parameters for part in self.parts])

    def __len__(self) -> int:
        return int(self._ends[-1])

    def _place(self, i: int) -> tuple[int, int]:
        """Which of the parts has a design, and where in it."""
        k = int(np.searchsorted(self._ends, i, side="right"))
        return k, i - int(self._ends[k - 1] if k else 0)

    def train(self, i: int) -> Train:
        part, place = self._place(i)
        return self.parts[part].train(place)

    def some(self, which: Numbers) -> Several:
        at = np.searchsorted(self._ends, which, side="right")
        cuts = np.flatnonzero(np.diff(at)) + 1
        runs = [some for some in np.split(which, cuts) if len(some)]
        parts = [self._place(int(some[0])) for some in runs]
        firsts = [some[0] - place for some, (_, place) in zip(runs, parts, strict=True)]
        return Several([self.parts[k].some(some - first)
                        for some, (k, _), first in zip(runs, parts, firsts, strict=True)])  # fmt: skip

    def derived(self, role: str, name: str) -> Floats:
        return np.concatenate([part.derived(role, name) for part in self.parts])

    @property
    def wave_time(self) -> Floats:
        return np.concatenate([part.wave_time for part in self.parts])


def joined(parts: Sequence[Designs]) -> Designs:
    """Designs of one structure as one."""
    return parts[0] if len(parts) == 1 else Several(parts)
