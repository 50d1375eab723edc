"""One note ready to play: its train, its compiled equations, and its state of rest."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Protocol

import numpy as np

from keyaction.models.train.train import Train
from keyaction.sim.code.kernel import Kernel, load_kernel
from keyaction.sim.motion.drives import Drive, Piece
from keyaction.sim.motion.integrate import Failed, Floats, Motion, Tolerances, integrate, lsoda

_SETTLING = (0.5e-3, 2e-3, 8e-3)
_NUDGE = 1e-9


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
        return np.array([self.train.parameters[name].value for name in self.kernel(rider).parameters])

    def rest(self, rider: bool = False) -> Floats:
        """The state in which the unplayed train rests under its weights, spring and wind."""
        if rider not in self._rest:
            self._rest[rider] = _settled(self.kernel(rider), self.parameters(rider), self.tolerances)
        return self._rest[rider].copy()

    def play(self, drive: Drive, tolerances: Tolerances | None = None) -> Motion:
        """Integrate a drive from rest; the finger starts at the key's surface where it rests."""
        kernel, p, start = self.kernel(drive.rider), self.parameters(drive.rider), self.rest(drive.rider)
        probe = drive.vector(drive.pieces[0])
        seen = kernel.observe(np.zeros(1), start[None, :], p, probe)[0]
        return integrate(
            kernel,
            p,
            start,
            drive.lowered(float(seen[kernel.observables.index("key_travel")])),
            tolerances or self.tolerances,
        )


def _settled(kernel: Kernel, parameters: Floats, tol: Tolerances) -> Floats:
    """Relax without friction, stopping all motion again and again, until nothing moves any more."""
    slippery = parameters.copy()
    for i, name in enumerate(kernel.parameters):
        if name.startswith(("tau0_", "c_", "F0_", "mu_bend_")):
            slippery[i] = 0.0
    y = np.zeros(len(kernel.states))
    ways = np.array([name.startswith("q_") for name in kernel.states])
    still = np.array([name.startswith(("v_", "u_", "work_")) for name in kernel.states])
    off = Drive("motion", (Piece(0.0, 1.0),), stiffness=0.0, mass=1.0)
    d, absolute = off.vector(off.pieces[0]), tol.absolute(kernel.states)
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


class Model(Protocol):
    """What quantities need of a note beside its motions."""

    @property
    def train(self) -> Train: ...
    def parameters(self) -> Floats: ...
    def kernel(self) -> Kernel: ...
