"""The balance of forces in a resting train: what stands where in its equations, and what each unknown is counted in.

Speeds are zero and every generalised force vanishes; the groove's pressure is that of steady orifices. Only dry
friction needs a word of its own: it opposes the way that a body has gone. In the law of the motion the slip u of a
bushing follows its turn alone, du/dq = (1 - u) / reach on the way down, so u = 1 - (1 - u0) exp(-(q - q0) / reach):
nothing before the body has moved, the whole friction after. A body that stands back in a snap keeps its slip.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from keyaction.models.algebra.names import FINGER, Name
from keyaction.models.train.train import Train
from keyaction.sim.code.kernel import Kernel
from keyaction.sim.code.layout import DRIVE
from keyaction.sim.motion.drives import Drive, Piece
from keyaction.sim.motion.integrate import Floats, Tolerances, turned_too_far
from keyaction.sim.motion.note import Model
from keyaction.sim.motion.rest import relaxed, sunk
from keyaction.sim.statics.bushings import Bushings
from keyaction.sim.statics.compiled import follower
from keyaction.sim.statics.following import ROOM
from keyaction.sim.statics.kinematics import kinematics
from keyaction.sim.statics.path import ARRIVED, BROKEN, ENDLESS, FALLEN, FULL, MOST

Places = NDArray[np.int64]

PINHOLE = 1e-7
"""m2: a tenth of a square millimetre."""
LET_GO = ("speed", "impulse", "work")
"""Kinds of state that are nothing in a train that has fallen: friction holds it."""
FALLING = 5
"""Times that a train which goes on by itself is let go on, before it is taken to rest."""
ASIDE = 1e-3
"""m: what a rod's sideways motion, which is no share of the key's way, is counted in."""
MORE = 4
"""Times as much room for a path that needs more."""
_WAY = DRIVE.index("x0")


class NoEquilibrium(RuntimeError):
    """A path of equilibria that breaks off; the message says where."""


class NotAtRest(NoEquilibrium):
    """There is none near the state to begin with."""


class TooFar(NoEquilibrium):
    """A body turns further than the equations hold; the message says which."""


class OpenAtRest(TooFar):
    """The pallet falls open before the key is touched, until a body turns too far; the message says which."""


class RunsOff(TooFar):
    """The pallet opens further by itself until a body turns too far: nothing carries it; the message says which."""


class Balance:
    """Equations of equilibrium of one note.

    The unknowns `z` are the coordinates, the groove's pressure and the finger's way, each as a share of what it goes
    through in a whole press.

    Parameters
    ----------
    model : Model
        Of the note; its `train`, `kernel`, `parameters` and `vector` are used.
    stiffness : float
        Of the finger, N/m.
    """

    def __init__(self, model: Model, stiffness: float) -> None:
        self.kernel: Kernel = model.kernel()
        self.model, self.stiffness = model, stiffness
        train, kernel = model.train, self.kernel
        still = Drive("motion", (Piece(0.0, 1.0),), stiffness, damping=0.0)
        self.drive: Floats = model.vector(still, still.pieces[0])
        self.parameters = _vented(train, model.parameters(), kernel.parameters)
        self.geometry = kinematics(train.structure)
        ways, speeds, pressures = (kernel.of_kind(kind) for kind in ("coordinate", "speed", "pressure"))
        self.slips, self.pressures, self.speeds = _places(kernel.of_kind("slip")), _places(pressures), _places(speeds)
        self.unknown, self.rows = _places([*ways, *pressures]), _places([*speeds, *pressures])
        self.owner = _places(self.geometry.slips)
        could = self.geometry.own_ratios(np.zeros(len(ways)), self.parameters)
        box = max(train.box_pressure, 1.0)
        ways_of = np.where(could == 0.0, ASIDE, np.abs(could) * train.dip)
        self.scale = np.concatenate([ways_of, np.full(len(pressures), box), [train.dip]])
        self.reach = self._reaches()
        self.bottom = kernel.element(train.key.name, "bottom").stretch
        self.columns = [kernel.observables.index(n) for n in (self.gap, self.bottom, self.pad, "key_force")]
        self.places = _places([len(kernel.states), _WAY, len(kernel.observables)])

    @property
    def gap(self) -> str:
        """Name of the widest gap under any pallet."""
        return self.kernel.speech[2]

    @property
    def pad(self) -> str:
        """Name of the stretch of the finger's pad."""
        return self.kernel.element(FINGER).stretch

    def _reaches(self) -> Floats:
        """Scaled turn within which each slip builds up, from its own rate at unit speed."""
        y = np.zeros(len(self.kernel.states))
        y[self.speeds] = 1.0
        rates = np.abs(np.asarray(self.kernel.rates(0.0, y, self.parameters, self.drive))[self.slips])
        return np.asarray(1 / (rates * self.scale[self.owner]))

    def scaled(self, y: Floats, way: float) -> Floats:
        """Unknowns of a state of the motion and of a finger's way (m)."""
        return np.asarray(np.append(y[self.unknown], way) / self.scale)

    def observe(self, y: Floats, way: float) -> Floats:
        """Observables (m,) of a state (n,) with the finger at `way` (m)."""
        drive = self.drive.copy()
        drive[_WAY] = way
        return np.asarray(self.kernel.observe(np.zeros(1), y[None, :], self.parameters, drive)[0])

    def friction(self, y: Floats) -> Floats:
        """What each bushing's whole friction weighs at the key front in a state (n,), N: (s,) array."""
        return Bushings(self.model.train.structure, self.kernel, self.parameters, self.drive).friction(y)

    def follow(
        self, sense: int, z: Floats, u: Floats, far: Floats, tangent: Floats, dip_force: float, stop: tuple[str, float]
    ) -> tuple[bool, tuple[Floats, ...]]:
        """Equilibria from `z` on, as `keyaction.sim.statics.following.follow` gives them.

        `stop` is an observable's name (empty for none) and the level at which the path ends before its usual end. The
        first of what is returned tells whether the train, the pallet being open, goes on by itself from the last.

        Raises
        ------
        NoEquilibrium
            When the path breaks off before.
        """
        kernel = self.kernel
        column = kernel.observables.index(stop[0]) if stop[0] else -1
        columns, wanted = _places([*self.columns, column]), np.array([dip_force, self.stiffness, stop[1]])
        code, room = FULL, ROOM
        while code == FULL:
            code, *found = follower(kernel.compiled)(
                kernel.fill, kernel.fill_jacobian, kernel.observe_all, self.parameters, self.drive.copy(), self.unknown,
                self.rows, self.slips, self.owner, self.scale, self.reach, self.places, columns, wanted, float(sense),
                z, u, far, tangent, room,
            )  # fmt: skip
            room *= MORE
        open_ = sense > 0 and found[4][-1, self.columns[0]] > 0.0
        if code == BROKEN and open_:
            return True, tuple(found)
        if code == BROKEN:
            way = found[0][-1, -1] * self.scale[-1]
            raise NoEquilibrium(f"no equilibrium beyond {way * 1e3:.3f} mm of the finger's way")
        if code == ENDLESS:
            raise NoEquilibrium(f"the path of equilibria does not end within {MOST} steps")
        if code not in (ARRIVED, FALLEN):
            raise NotAtRest("no equilibrium is found near the train at rest")
        return code == FALLEN, tuple(found)

    def fallen(self, y: Floats, way: float) -> Floats:
        """Where a train that goes on by itself from the state `y` comes to rest, the finger at `way` (m).

        Raises
        ------
        RunsOff
            When a body turns further than the equations hold.
        """
        drive = self.drive.copy()
        drive[_WAY] = way
        for _ in range(FALLING):
            y, calm = relaxed(self.kernel, y, self.parameters, drive, Tolerances(), 10.0, LET_GO)
            far = turned_too_far(self.kernel, np.abs(y))
            if far:
                raise RunsOff(far)
            if calm:
                return y
        y = sunk(self.kernel, y, self.parameters, drive, Tolerances(), LET_GO)
        far = turned_too_far(self.kernel, np.abs(y))
        if far:
            raise RunsOff(far)
        return y


def _places(found: Sequence[int] | Places) -> Places:
    return np.array(found, dtype=np.int64)


def _vented(train: Train, parameters: Floats, names: Sequence[Name]) -> Floats:
    """The parameters with a pinhole in a groove that has no way out: else its pressure, shut in, is anything."""
    grooves = {part.name for part in train.parts if part.role == "groove"}
    outlets = [i for i, name in enumerate(names) if name.part in grooves and name.what == "A_out"]
    parameters[outlets] = np.maximum(parameters[outlets], PINHOLE)
    return parameters
