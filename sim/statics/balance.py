"""The balance of forces in a resting train, from the equations of its motion: residual and Jacobian.

Speeds are zero and every generalised force vanishes; the groove's pressure is that of steady orifices. Only dry
friction needs a word of its own: it opposes the way that a body has gone. In the law of the motion the slip u of a
bushing follows its turn alone, du/dq = (1 - u) / reach on the way down, so u = 1 - (1 - u0) exp(-(q - q0) / reach):
nothing before the body has moved, the whole friction after. A body that stands back in a snap keeps its slip.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from keyaction.models.algebra.names import Name
from keyaction.models.train.train import Train
from keyaction.sim.code.kernel import Kernel
from keyaction.sim.code.layout import DRIVE
from keyaction.sim.figures.kinematics import kinematics
from keyaction.sim.motion.drives import Drive, Piece
from keyaction.sim.motion.integrate import Floats
from keyaction.sim.motion.note import NoteModel

Places = NDArray[np.int64]

FORWARD = 1e-7
"""m: step of the difference quotient over the finger's way."""
PINHOLE = 1e-7
"""m2: a tenth of a square millimetre."""


@dataclass(frozen=True)
class Friction:
    """Where a path's friction stands: slips `u`, and how far each owner had gone when they were that; sense +1 or -1.

    `far` is in scaled coordinates.
    """

    u: Floats
    far: Floats
    sense: int


class Balance:
    """Equations of equilibrium of one note.

    The unknowns `z` are the coordinates, the groove's pressure and the finger's way, each as a share of what it goes
    through in a whole press.

    Parameters
    ----------
    model : NoteModel
    stiffness : float
        Of the finger, N/m.
    """

    def __init__(self, model: NoteModel, stiffness: float) -> None:
        self.kernel: Kernel = model.kernel()
        self.model, self.stiffness = model, stiffness
        train = model.train
        still = Drive("motion", (Piece(0.0, 1.0),), stiffness, damping=0.0)
        self._still = model.vector(still, still.pieces[0])
        self.parameters = _vented(train, model.parameters(), self.kernel.parameters)
        geometry = kinematics(train.structure)
        kinds = np.array(self.kernel.kinds)
        ways, speeds, pressures = (np.flatnonzero(kinds == kind) for kind in ("coordinate", "speed", "pressure"))
        self.slips, self.pressures = np.flatnonzero(kinds == "slip"), pressures
        self.unknown, self.rows = np.concatenate([ways, pressures]), np.concatenate([speeds, pressures])
        self.owner = np.array(geometry.slips, dtype=int)
        dip = train.dip
        ratio = np.abs(geometry.ratios(np.zeros(len(ways)), self.parameters))
        box = max(train.box_pressure, 1.0)
        self.scale = np.concatenate([ratio * dip, np.full(len(pressures), box), [dip]])
        self.reach = self._reaches(speeds)

    def _reaches(self, speeds: Places) -> Floats:
        """Scaled turn within which each slip builds up, from its own rate at unit speed."""
        y = np.zeros(len(self.kernel.states))
        y[speeds] = 1.0
        rates = np.abs(self._rates(y, 0.0)[self.slips])
        return np.asarray(1 / (rates * self.scale[self.owner]))

    def drive(self, way: float) -> Floats:
        """The drive vector of a finger that rests at `way` (m)."""
        d = self._still.copy()
        d[DRIVE.index("x0")] = way
        return d

    def _rates(self, y: Floats, way: float) -> Floats:
        return np.asarray(self.kernel.rates(0.0, y, self.parameters, self.drive(way)))

    def scaled(self, y: Floats, way: float) -> Floats:
        """Unknowns of a state of the motion and a finger's way."""
        return np.asarray(np.append(y[self.unknown], way) / self.scale)

    def way(self, z: Floats) -> float:
        """The finger's way, m."""
        return float(z[-1] * self.scale[-1])

    def slip(self, z: Floats, friction: Friction) -> tuple[Floats, Floats]:
        """Slips at `z` and their slopes."""
        sense = friction.sense
        ahead = sense * (z[self.owner] - friction.far) / self.reach
        u = sense - (sense - friction.u) * np.exp(-ahead.clip(0.0))
        return u, (ahead > 0.0) * (sense - u) * sense / self.reach

    def state(self, z: Floats, friction: Friction) -> Floats:
        """The full state vector, at rest."""
        return self._state(z, self.slip(z, friction)[0])

    def _state(self, z: Floats, slips: Floats) -> Floats:
        y = np.zeros(len(self.kernel.states))
        y[self.unknown] = z[:-1] * self.scale[:-1]
        y[self.slips] = slips
        return y

    def residual(self, z: Floats, friction: Friction) -> tuple[Floats, Floats]:
        """What is out of balance (n,), and its derivative (n, n + 1); each row over its own largest entry."""
        u, give = self.slip(z, friction)
        y, way = self._state(z, u), self.way(z)
        out = self._rates(y, way)[self.rows]
        whole = np.asarray(self.kernel.jacobian(0.0, y, self.parameters, self.drive(way)))[self.rows]
        slopes = np.empty((len(out), len(out) + 1))
        slopes[:, :-1] = whole[:, self.unknown] * self.scale[:-1]
        for slip, owner, slope in zip(self.slips, self.owner, give, strict=True):
            slopes[:, owner] += whole[:, slip] * slope
        slopes[:, -1] = (self._rates(y, way + FORWARD)[self.rows] - out) / FORWARD * self.scale[-1]
        size = np.abs(slopes).max(axis=1)
        size[size == 0.0] = 1.0
        return out / size, slopes / size[:, None]

    def observe(self, y: Floats, ways: Floats) -> Floats:
        """Observables (N, m) of states (N, n) with the finger at `ways` (N,)."""
        rows = [
            self.kernel.observe(np.zeros(1), one[None, :], self.parameters, self.drive(float(way)))[0]
            for one, way in zip(y, ways, strict=True)
        ]
        return np.array(rows)


def _vented(train: Train, parameters: Floats, names: Sequence[Name]) -> Floats:
    """The parameters with a pinhole in a groove that has no way out: else its pressure, shut in, is anything."""
    grooves = {part.name for part in train.parts if part.role == "groove"}
    outlets = [i for i, name in enumerate(names) if name.part in grooves and name.what == "A_out"]
    parameters[outlets] = np.maximum(parameters[outlets], PINHOLE)
    return parameters
