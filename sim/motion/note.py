"""One note ready to play: its train, its compiled equations, and its state of rest."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from numbers import Real
from typing import Protocol

import numpy as np

from keyaction.cases.text.near import hint
from keyaction.models.algebra.names import Name
from keyaction.models.train.bounds import bound_told
from keyaction.models.train.train import Train
from keyaction.models.units.quantity import format_value
from keyaction.sim.code.kernel import Kernel, load_kernel
from keyaction.sim.motion.changes import check_taken
from keyaction.sim.motion.drives import HANDS_OFF, Drive, Piece
from keyaction.sim.motion.integrate import Enough, Floats, Motion, Tolerances, integrate
from keyaction.sim.motion.regulated import apart, couplers_unset, held_by_hand, regulated
from keyaction.sim.motion.rest import rubbing, settled


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

    def __post_init__(self) -> None:
        """Regulate couplers: their play counts from where everything rests."""
        if not couplers_unset(self.train):
            return
        loose = NoteModel(apart(self.train), self.tolerances, self.plain)
        rest, off = loose.rest(), loose.vector(HANDS_OFF, HANDS_OFF.pieces[0])
        self.train = regulated(self.train, loose.kernel(), rest, loose.parameters(), off)
        if not held_by_hand(self.train):
            self._rest[False] = rest  # no coupler drives at rest: it is the same

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
        return drive.vector(piece, self.held(drive.rider))

    def held(self, rider: bool = False) -> list[tuple[Name, float]]:
        """What the train takes from outside, with its own values of it, SI."""
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

    def play(self, drive: Drive, tolerances: Tolerances | None = None, enough: Enough | None = None) -> Motion:
        """Integrate a drive from rest; the finger starts at the key's surface where it rests.

        Parameters
        ----------
        drive : Drive
        tolerances : Tolerances, optional
            In place of the model's own.
        enough : callable, optional
            Told the instants (N,), s, and observables (N, m), SI, of every piece of the drive as it is played; the
            motion ends there where it answers True.

        Returns
        -------
        Motion
            With ``status.ok`` false, and what was reached, where no method managed.

        Raises
        ------
        TypeError
            When it is no drive.
        ValueError
            When the drive changes what the train does not take from outside, or a pressure to one below 0.
        """
        if not isinstance(drive, Drive):
            raise TypeError(f"{drive!r} cannot be played; a drive is needed, such as keyaction.drives.laid_mass(0.12)")
        kernel, p, start = self.kernel(drive.rider), self.parameters(drive.rider), self.rest(drive.rider)
        check_taken(drive.changes, kernel.inputs)
        self._refuse_suction(drive)
        used, held = tolerances or self.tolerances, self.held(drive.rider)
        return integrate(kernel, p, start, self.at_rest(drive), used, held=held, enough=enough)

    def _refuse_suction(self, drive: Drive) -> None:
        """Wind presses: a pressure never falls below that of the room, from which it counts."""
        for change in drive.changes:
            if self.train.parameters[change.of].unit == "Pa" and change.after < 0:
                told = f"a change of '{change.of.what}' of {change.of.part} to {format_value(change.after, 'Pa', 'si')}"
                raise ValueError(f"{told}: a pressure of wind below 0 Pa; allowed: 0 Pa or more")

    def _settled(self, rider: bool) -> Floats:
        off = Drive("motion", (Piece(0.0, 1.0),), stiffness=0.0, mass=1.0)
        kernel, drive = self.kernel(rider), off.vector(off.pieces[0], self.held(rider))
        slippery = np.where(rubbing(self.train, kernel.parameters), 0.0, self.parameters(rider))
        return settled(kernel, slippery, drive, self.tolerances)

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
            For every name that is not known (with the nearest), and every value that is no finite number, or that no
            such parameter can have (a mass below nothing).

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


def with_couplers_set(train: Train) -> Train:
    """The train with the play of its couplers counted from where it rests: as every `NoteModel` has it."""
    return NoteModel(train).train if couplers_unset(train) else train


def with_parameters(train: Train, known: Mapping[str, Name], values: Mapping[str, float]) -> Train:
    """A train with other values of some parameters, `known` by their spelling; see `NoteModel.with_parameters`.

    Raises
    ------
    ValueError
        For every name that is not known and every value that is no finite number, or that no such parameter can have.
    """
    defects = [f"no parameter '{text}'{hint(text, known)}" for text in values if text not in known]
    defects += [
        f"{text} = {value!r}: a finite number is needed, in {train.parameters[known[text]].unit or '1'}"
        for text, value in values.items()
        if text in known and not _finite(value)
    ]
    defects += [
        f"{text} = {value:g}: {told}"
        for text, value in values.items()
        if text in known and _finite(value) and (told := bound_told(train.parameters[known[text]], float(value)))
    ]
    if defects:
        raise ValueError("; ".join(defects))
    for text, value in values.items():
        train = train.with_parameter(known[text], float(value), "set for this note")
    return train


def _finite(value: object) -> bool:
    return isinstance(value, Real) and not isinstance(value, bool) and math.isfinite(value)


class Model(Protocol):
    """What quantities need of a note beside its motions."""

    @property
    def train(self) -> Train: ...
    def parameters(self) -> Floats: ...
    def kernel(self) -> Kernel: ...
    def vector(self, drive: Drive, piece: Piece) -> Floats: ...
    def rest(self) -> Floats: ...
