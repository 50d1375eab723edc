"""One note ready to play: its train, its compiled equations, and its state of rest."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from numbers import Real
from typing import Protocol

import numpy as np

from keyaction.cases.text.near import hint
from keyaction.models.fields.values import Derived
from keyaction.models.train.train import Train, TrainPart
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
        return np.array([self.train.parameters[name].value for name in self.kernel(rider).parameters])

    def rest(self, rider: bool = False) -> Floats:
        """The state (n,) in which the unplayed train rests under its weights, spring and wind.

        Parameters
        ----------
        rider : bool
            As for `kernel`.
        """
        if rider not in self._rest:
            self._rest[rider] = _settled(self.kernel(rider), self.parameters(rider), self.tolerances)
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
        """
        kernel, p, start = self.kernel(drive.rider), self.parameters(drive.rider), self.rest(drive.rider)
        return integrate(kernel, p, start, self.at_rest(drive), tolerances or self.tolerances)

    def at_rest(self, drive: Drive) -> Drive:
        """The drive with its ways counted as the equations count them: from the key's surface where it rests."""
        kernel, start = self.kernel(drive.rider), self.rest(drive.rider)
        probe = drive.vector(drive.pieces[0])
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
        >>> softer.train.parameters["K_roller"].value
        40.0
        >>> model.with_parameters(K_rollr=40.0)
        Traceback (most recent call last):
            ...
        ValueError: no parameter 'K_rollr'; did you mean 'K_roller'?
        """
        return NoteModel(with_parameters(self.train, values), self.tolerances, self.plain)


def with_parameters(train: Train, values: Mapping[str, float]) -> Train:
    """A train with other values of some parameters; see `NoteModel.with_parameters`.

    Raises
    ------
    ValueError
        For every name that is not known and every value that is no finite number.
    """
    known = train.parameters
    defects = [f"no parameter '{name}'{hint(name, known)}" for name in values if name not in known]
    defects += [
        f"{name} = {value!r}: a finite number is needed, in {known[name].unit or '1'}"
        for name, value in values.items()
        if name in known and not _finite(value)
    ]
    if defects:
        raise ValueError("; ".join(defects))
    changed = {
        name: replace(known[name], value=float(value), origin="set for this note") for name, value in values.items()
    }
    instead = {id(known[name]): item for name, item in changed.items()}
    parts = tuple(_with_derived(part, instead) for part in train.parts)
    return replace(train, parts=parts, parameters={**known, **changed})


def _finite(value: object) -> bool:
    return isinstance(value, Real) and not isinstance(value, bool) and math.isfinite(value)


def _with_derived(part: TrainPart, instead: Mapping[int, Derived]) -> TrainPart:
    """The part with the new figures in place of those that they replace, for what is computed from its own."""
    derived = {name: instead.get(id(item), item) for name, item in part.values.derived.items()}
    return replace(part, values=replace(part.values, derived=derived))


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
