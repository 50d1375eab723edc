"""One note ready to play: its train, its compiled equations, and its state of rest."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from numbers import Real
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from keyaction.cases.text.near import hint
from keyaction.models.algebra.names import Name
from keyaction.models.train.train import Train
from keyaction.models.units.quantity import format_value
from keyaction.sim.code.kernel import Kernel, load_kernel
from keyaction.sim.motion.changes import check_taken
from keyaction.sim.motion.drives import Drive, Piece
from keyaction.sim.motion.integrate import Failed, Floats, Motion, Tolerances, integrate, lsoda

_SETTLING = (0.5e-3, 2e-3, 8e-3)
"""s after which all motion is stopped, in turn."""
_NUDGE, _QUIET = 1e-9, 1e-6
"""rad or m within a spell of settling: of a train that rests, and of one that only its filling groove still moves."""
_FILLED, _FILLING = 1e-4, 0.25
"""Pa within a spell: of a groove that is full; and s of a spell while one fills past a leak."""
_LOWERING = np.linspace(0.0, 8e-3, 33)
"""s at which a train that is let down is looked at: its stiff rods swing within a millisecond."""
_LOWERINGS = 2000
"""Times that it is stopped, at most: half a second, in which the slowest keys come down."""
STOPPED = ("speed", "slip", "work")
"""Kinds of state that are nothing in a train at rest."""


@dataclass
class NoteModel:
    """A note that can be played.

    Parameters
    ----------
    train : Train
        From `train_of`.
    tolerances : Tolerances
        How exactly to integrate.
    plain : bool, optional
        Whether to run the equations as plain Python; by default Numba compiles them where it can.

    Examples
    --------
    >>> import keyaction as ka
    >>> model = ka.NoteModel(ka.train_of(ka.read_case("demo-wood"), "C4"))
    >>> motion = model.play(ka.drives.laid_mass(0.200))  # 200 g laid on the key
    >>> print(motion.status)
    LSODA: done
    >>> round(float(1e3 * motion["key_travel"][-1]), 1)  # mm: the pallet has plucked
    9.9
    """

    train: Train
    tolerances: Tolerances = field(default_factory=Tolerances)
    plain: bool | None = None
    _rest: dict[bool, Floats] = field(default_factory=dict, repr=False)

    def kernel(self, rider: bool = False) -> Kernel:
        """The compiled equations.

        Parameters
        ----------
        rider : bool
            Whether a mass lies on the key in place of the finger.
        """
        return load_kernel(self.train.structure, rider, self.plain)

    def parameters(self, rider: bool = False) -> Floats:
        """The parameter vector of these equations, (np,), SI, in the order of ``kernel().parameters``.

        Parameters
        ----------
        rider : bool
            As for `kernel`.
        """
        return np.array(self.train.vector(self.kernel(rider).parameters))

    def vector(self, drive: Drive, piece: Piece) -> Floats:
        """The drive vector of a piece, with the train's own values of what it takes from outside.

        Parameters
        ----------
        drive : Drive
        piece : Piece
            One of its pieces.

        Returns
        -------
        (nd,) array
        """
        return drive.vector(piece, self._held(drive.rider))

    def _held(self, rider: bool) -> list[tuple[Name, float]]:
        return [(name, self.train.parameters[name].value) for name in self.kernel(rider).inputs]

    def rest(self, rider: bool = False) -> Floats:
        """The state (n,) in which the unplayed train rests under its weights, spring and wind.

        Parameters
        ----------
        rider : bool
            As for `kernel`.
        """
        if rider not in self._rest:
            self._rest[rider] = self._settled(rider)
        return self._rest[rider].copy()

    def play(self, drive: Drive, tolerances: Tolerances | None = None) -> Motion:
        """Integrate a drive from rest; the finger starts at the key's surface where it rests.

        Parameters
        ----------
        drive : Drive
        tolerances : Tolerances, optional
            In place of the model's own.

        Returns
        -------
        Motion
            With ``status.ok`` false, and what was reached, where no method managed.

        Raises
        ------
        ValueError
            When the drive changes what the train does not take from outside, or a pressure to one below 0.
        """
        kernel, p, start = self.kernel(drive.rider), self.parameters(drive.rider), self.rest(drive.rider)
        check_taken(drive.changes, kernel.inputs)
        self._refuse_suction(drive)
        used, held = tolerances or self.tolerances, self._held(drive.rider)
        return integrate(kernel, p, start, self.at_rest(drive), used, held=held)

    def _refuse_suction(self, drive: Drive) -> None:
        """Wind presses: a pressure never falls below that of the room, from which it counts."""
        for change in drive.changes:
            if self.train.parameters[change.of].unit == "Pa" and change.after < 0:
                told = f"a change of '{change.of.what}' of {change.of.part} to {format_value(change.after, 'Pa', 'si')}"
                raise ValueError(f"{told}: a pressure of wind below 0 Pa; allowed: 0 Pa or more")

    def _settled(self, rider: bool) -> Floats:
        """Relax without friction, stopping all motion again and again, until nothing moves any more.

        A pallet that is found open may have been thrown open on the way: then the train is let down slowly.
        """
        kernel, tol = self.kernel(rider), self.tolerances
        slippery = np.where(rubbing(self.train, kernel.parameters), 0.0, self.parameters(rider))
        y = np.zeros(len(kernel.states))
        off = Drive("motion", (Piece(0.0, 1.0),), stiffness=0.0, mass=1.0)
        drive = off.vector(off.pieces[0], self._held(rider))
        found = relaxed(kernel, y, slippery, drive, tol)[0]
        if _opens(kernel, found, slippery, drive):
            found = relaxed(kernel, let_down(kernel, y, slippery, drive, tol), slippery, drive, tol)[0]
        return found

    def at_rest(self, drive: Drive) -> Drive:
        """The drive with its ways counted as the equations count them: from the key's surface where it rests."""
        kernel, start = self.kernel(drive.rider), self.rest(drive.rider)
        probe = self.vector(drive, drive.pieces[0])
        seen = kernel.observe(np.zeros(1), start[None, :], self.parameters(drive.rider), probe)[0]
        return drive.lowered(float(seen[kernel.observables.index("key_travel")]))

    def with_parameters(self, **values: float) -> NoteModel:
        """The same note with other values of some parameters of its equations.

        Nothing that a part derives from its sizes follows: change those with ``read_case(..., set_={...})``.

        Parameters
        ----------
        **values : float
            Parameter by name, as `equations` and ``keyaction equations`` list them, SI.

        Returns
        -------
        NoteModel
            A new one; this one is unchanged.

        Raises
        ------
        ValueError
            For every name that is not known (with the nearest) and every value that is no finite number.

        Examples
        --------
        >>> import keyaction as ka
        >>> model = ka.NoteModel(ka.train_of(ka.read_case("demo-wood"), "C4"))
        >>> softer = model.with_parameters(K_roller=40.0)  # N m/rad
        >>> softer.train.value("roller", "K")
        40.0
        >>> model.with_parameters(K_rollr=40.0)
        Traceback (most recent call last):
            ...
        ValueError: no parameter 'K_rollr'; did you mean 'K_roller'?
        """
        kernel = self.kernel()
        known = dict(zip(kernel.spellings, kernel.parameters, strict=True))
        return NoteModel(with_parameters(self.train, known, values), self.tolerances, self.plain)


def with_parameters(train: Train, known: Mapping[str, Name], values: Mapping[str, float]) -> Train:
    """A train with other values of some parameters, `known` by their spelling; see `NoteModel.with_parameters`.

    Raises
    ------
    ValueError
        For every name that is not known and every value that is no finite number.
    """
    defects = [f"no parameter '{text}'{hint(text, known)}" for text in values if text not in known]
    defects += [
        f"{text} = {value!r}: a finite number is needed, in {train.parameters[known[text]].unit or '1'}"
        for text, value in values.items()
        if text in known and not _finite(value)
    ]
    if defects:
        raise ValueError("; ".join(defects))
    for text, value in values.items():
        train = train.with_parameter(known[text], float(value), "set for this note")
    return train


def _finite(value: object) -> bool:
    return isinstance(value, Real) and not isinstance(value, bool) and math.isfinite(value)


def rubbing(train: Train, names: Sequence[Name]) -> NDArray[np.bool_]:
    """Which parameters make the train rub; without them it is brought to rest."""
    kinds = {part.name: part.part.rubs for part in train.parts}
    return np.array([name.what in kinds.get(name.part, ()) for name in names], dtype=bool)


def relaxed(
    kernel: Kernel, y: Floats, parameters: Floats, drive: Floats, tolerances: Tolerances, pace: float = 1.0
) -> tuple[Floats, bool]:
    """The state to which a train comes from `y`, its motion stopped again and again; whether it rests there.

    `pace` makes the times between the stops longer, for a train that has far to go.
    """
    ways, still = kernel.of_kind("coordinate"), np.array([kind in STOPPED for kind in kernel.kinds])
    pressures, absolute = kernel.of_kind("pressure"), tolerances.absolute(kernel.kinds)
    moved, filled = np.inf, 0.0
    for turn in range(240):
        slow = turn > 2 * len(_SETTLING) and moved < _QUIET and filled > _FILLED
        times = np.array([0.0, _FILLING if slow else pace * _SETTLING[turn % len(_SETTLING)]])
        try:
            path, _, _ = lsoda(kernel, y, times, parameters, drive, tolerances, absolute)
        except Failed:
            break
        if not np.all(np.isfinite(path[-1])):
            break
        moved = np.max(np.abs(path[-1] - y)[ways])
        filled = np.max(np.abs(path[-1] - y)[pressures], initial=0.0)
        y = np.where(still, 0.0, path[-1])
        if moved < _NUDGE and filled < _FILLED and turn > 2 * len(_SETTLING):
            return y, True
    return y, False


def _opens(kernel: Kernel, y: Floats, parameters: Floats, drive: Floats) -> bool:
    seen = kernel.observe(np.zeros(1), y[None, :], parameters, drive)[0]
    gaps = [i for i, name in enumerate(kernel.observables) if name == "seat_gap"]
    return bool(np.any(seen[gaps] > 0.0))


def let_down(kernel: Kernel, y: Floats, parameters: Floats, drive: Floats, tolerances: Tolerances) -> Floats:
    """The state near which a train comes to rest from `y` when each body stops as soon as it moves against its force.

    So no body swings past the first place that would hold it.
    """
    ways, speeds = kernel.of_kind("coordinate"), np.flatnonzero([kind == "speed" for kind in kernel.kinds])
    absolute = tolerances.absolute(kernel.kinds)
    for _ in range(_LOWERINGS):
        try:
            path, _, _ = lsoda(kernel, y, _LOWERING, parameters, drive, tolerances, absolute)
        except Failed:
            break
        if not np.all(np.isfinite(path[-1])):
            break
        speed = path[:, speeds]
        slower = (speed[1:] * np.diff(speed, axis=0) < 0.0) & (np.abs(speed[1:]) > tolerances.speed)
        slowed = np.flatnonzero(np.any(slower, axis=1))
        end = int(slowed[0]) if len(slowed) else len(_LOWERING) - 2
        moved, y = float(np.max(np.abs(path[end + 1] - y)[ways])), path[end + 1].copy()
        y[speeds[slower[end]]] = 0.0
        if moved < _QUIET:
            break
    return y


class Model(Protocol):
    """What quantities need of a note beside its motions."""

    @property
    def train(self) -> Train: ...
    def parameters(self) -> Floats: ...
    def kernel(self) -> Kernel: ...
    def vector(self, drive: Drive, piece: Piece) -> Floats: ...
    def rest(self) -> Floats: ...
