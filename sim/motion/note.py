"""One note ready to play: its train, its compiled equations, and its state of rest."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from keyaction.models.algebra.names import Name
from keyaction.models.train.train import Train
from keyaction.sim.code.kernel import Kernel, load_kernel
from keyaction.sim.motion.drives import Drive, Piece
from keyaction.sim.motion.integrate import Failed, Floats, Motion, Tolerances, integrate, lsoda

_SETTLING = (0.5e-3, 2e-3, 8e-3)
_NUDGE = 1e-9
STOPPED = ("speed", "slip", "work")
"""Kinds of state that are nothing in a train at rest."""


@dataclass
class NoteModel:
    """A note that can be played.

    Parameters
    ----------
    train : Train
    tolerances : Tolerances
    plain : bool, optional
        Whether to run the equations as plain Python.
    """

    train: Train
    tolerances: Tolerances = field(default_factory=Tolerances)
    plain: bool | None = None
    _rest: dict[bool, Floats] = field(default_factory=dict, repr=False)

    def kernel(self, rider: bool = False) -> Kernel:
        """The equations."""
        return load_kernel(self.train.structure, rider, self.plain)

    def parameters(self, rider: bool = False) -> Floats:
        """The parameter vector of these equations."""
        return np.array(self.train.vector(self.kernel(rider).parameters))

    def vector(self, drive: Drive, piece: Piece) -> Floats:
        """The drive vector of a piece, with the train's own values of what it takes from outside."""
        return drive.vector(piece, self._held(drive.rider))

    def _held(self, rider: bool) -> list[tuple[Name, float]]:
        return [(name, self.train.parameters[name].value) for name in self.kernel(rider).inputs]

    def rest(self, rider: bool = False) -> Floats:
        """The state in which the unplayed train rests under its weights, spring and wind."""
        if rider not in self._rest:
            self._rest[rider] = self._settled(rider)
        return self._rest[rider].copy()

    def play(self, drive: Drive, tolerances: Tolerances | None = None) -> Motion:
        """Integrate a drive from rest; the finger starts at the key's surface where it rests."""
        kernel, p, start = self.kernel(drive.rider), self.parameters(drive.rider), self.rest(drive.rider)
        unknown = [change.of for change in drive.changes if change.of not in kernel.inputs]
        if unknown:
            raise ValueError(f"the train does not take '{unknown[0].what}' of {unknown[0].part} from outside")
        seen = kernel.observe(np.zeros(1), start[None, :], p, self.vector(drive, drive.pieces[0]))[0]
        begun = drive.lowered(float(seen[kernel.observables.index("key_travel")]))
        return integrate(kernel, p, start, begun, tolerances or self.tolerances, held=self._held(drive.rider))

    def _settled(self, rider: bool) -> Floats:
        """Relax without friction, stopping all motion again and again, until nothing moves any more."""
        kernel, tol = self.kernel(rider), self.tolerances
        slippery = np.where(rubbing(self.train, kernel.parameters), 0.0, self.parameters(rider))
        y = np.zeros(len(kernel.states))
        ways, still = kernel.of_kind("coordinate"), np.array([kind in STOPPED for kind in kernel.kinds])
        off = Drive("motion", (Piece(0.0, 1.0),), stiffness=0.0, mass=1.0)
        d, absolute = off.vector(off.pieces[0], self._held(rider)), tol.absolute(kernel.kinds)
        for turn in range(240):
            times = np.array([0.0, _SETTLING[turn % len(_SETTLING)]])
            try:
                path, _, _ = lsoda(kernel, y, times, slippery, d, tol, absolute)
            except Failed:
                break
            moved = np.max(np.abs(path[-1] - y)[ways])
            y = np.where(still, 0.0, path[-1])
            if moved < _NUDGE and turn > 2 * len(_SETTLING):
                break
        return y


def rubbing(train: Train, names: Sequence[Name]) -> NDArray[np.bool_]:
    """Which parameters make the train rub; without them it is brought to rest."""
    kinds = {part.name: part.part.rubs for part in train.parts}
    return np.array([name.what in kinds.get(name.part, ()) for name in names], dtype=bool)


class Model(Protocol):
    """What quantities need of a note beside its motions."""

    @property
    def train(self) -> Train: ...
    def parameters(self) -> Floats: ...
    def kernel(self) -> Kernel: ...
    def vector(self, drive: Drive, piece: Piece) -> Floats: ...
