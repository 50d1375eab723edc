"""A note's equations as a function of time and state, for any integrator."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike

from keyaction.models.train.equations import StateRow
from keyaction.sim.code.kernel import Kernel
from keyaction.sim.motion.drives import HANDS_OFF, Drive
from keyaction.sim.motion.integrate import Floats
from keyaction.sim.motion.note import NoteModel


@dataclass(frozen=True)
class RightHandSide:
    """dy/dt = f(t, y) of one note under one drive, compiled, its parameters bound; from `right_hand_side`.

    Attributes
    ----------
    kernel : Kernel
        The compiled equations.
    parameters : (np,) array
        Their parameters, SI.
    drive : Drive
        The drive, its ways counted as the equations count them.
    start : (n,) array
        The state of rest, SI.
    states : tuple of StateRow
        ``name``, ``unit``, ``doc`` and ``kind`` of each state: coordinates, speeds, slips, pressures, work accounts.
    vectors : tuple of (nd,) arrays
        The drive as the compiled equations take it, piece by piece.

    Examples
    --------
    >>> import keyaction as ka
    >>> model = ka.NoteModel(ka.train_of(ka.read_case("demo-wood"), "C4"))
    >>> f = ka.right_hand_side(model, ka.drives.stroke(0.04, 0.15, 0.04, 0.011))
    >>> f(0.0, f.start).shape, f.breaks.round(3).tolist()
    ((23,), [0.0, 0.04, 0.19, 0.23, 0.45])
    """

    kernel: Kernel
    parameters: Floats
    drive: Drive
    start: Floats
    states: tuple[StateRow, ...]
    vectors: tuple[Floats, ...]

    @cached_property
    def breaks(self) -> Floats:
        """Where the pieces of the drive begin, and where the last one ends (s): stop and start again there."""
        return np.array([piece.start for piece in self.drive.pieces] + [self.drive.end])

    @property
    def span(self) -> tuple[float, float]:
        """First and last instant of the drive, s."""
        return float(self.breaks[0]), float(self.breaks[-1])

    def _drive(self, t: float) -> Floats:
        """The drive vector at a time: of the piece that begins there; the first and last go on outside."""
        place = int(np.searchsorted(self.breaks, t, side="right")) - 1
        return self.vectors[min(max(place, 0), len(self.vectors) - 1)]

    def _state(self, y: ArrayLike) -> Floats:
        found = np.ascontiguousarray(y, dtype=float)
        if found.shape != self.start.shape:
            raise ValueError(f"a state has {len(self.start)} entries in one axis; given: {found.shape}")
        return found

    def __call__(self, t: float, y: ArrayLike) -> Floats:
        """Rates (n,) of the states, SI per second.

        Parameters
        ----------
        t : float
            Time, s.
        y : (n,) array_like
            State, SI.

        Raises
        ------
        ValueError
            When the state is not of that shape.
        """
        rates = self.kernel.rates(float(t), self._state(y), self.parameters, self._drive(t))
        return np.asarray(rates, dtype=float)

    def jacobian(self, t: float, y: ArrayLike) -> Floats:
        """d rates / d state, (n, n), for implicit integrators.

        The rows of the four work accounts at the end are left zero: nothing depends on them, so that Newton's
        iteration converges as well. Time, state and errors are those of a call.
        """
        found = self.kernel.jacobian(float(t), self._state(y), self.parameters, self._drive(t))
        return np.asarray(found, dtype=float)

    def observe(self, t: ArrayLike, y: ArrayLike) -> dict[str, Floats]:
        """What is recorded of a motion, by name, each (N,), SI.

        Parameters
        ----------
        t : (N,) array_like
            Times, s.
        y : (N, n) array_like
            States (``solve_ivp`` gives them transposed).

        Raises
        ------
        ValueError
            When times and states do not fit together.
        """
        times, path = np.asarray(t, dtype=float), np.asarray(y, dtype=float)
        if times.ndim != 1 or path.shape != (len(times), len(self.start)):
            raise ValueError(f"{times.shape} times need ({times.size}, {len(self.start)}) states; given: {path.shape}")
        rows = [
            self.kernel.observe(times[i : i + 1], self._state(path[i])[None, :], self.parameters, self._drive(times[i]))
            for i in range(len(times))
        ]
        seen = np.concatenate(rows) if rows else np.empty((0, len(self.kernel.observables)))
        return dict(zip(self.kernel.observables, seen.T, strict=True))


def right_hand_side(model: NoteModel, drive: Drive = HANDS_OFF) -> RightHandSide:
    """The equations of a note under a drive as a compiled f(t, y).

    Parameters
    ----------
    model : NoteModel
        Its parameters are bound as they are now.
    drive : Drive
        As for `NoteModel.play`; by default nothing touches the key.

    Returns
    -------
    RightHandSide
        Call it; ``start`` is the state of rest, ``span`` the time of the drive, ``jacobian`` and ``observe`` go with
        it.

    Raises
    ------
    ValueError
        From the function itself, for a state of another shape.

    Notes
    -----
    Contact is stiff and the drive has corners. A step bounded at 2.5 ms (`NoteModel.play` does so) does not step
    over a blow; for full order integrate from break to break.

    Examples
    --------
    >>> import keyaction as ka
    >>> from scipy.integrate import solve_ivp
    >>> model = ka.NoteModel(ka.train_of(ka.read_case("demo-wood"), "C4"))
    >>> f = ka.right_hand_side(model, ka.drives.stroke(0.04, 0.15, 0.04, 0.011))
    >>> steps = {"max_step": 2.5e-3, "rtol": 1e-5, "atol": 1e-7}
    >>> found = solve_ivp(f, (0.0, 0.04), f.start, method="Radau", jac=f.jacobian, **steps)
    >>> seen = f.observe(found.t, found.y.T)
    >>> round(float(1e3 * seen["pallet_lift"][-1]), 1)  # mm, as the finger arrives
    10.1
    """
    rider, begun = drive.rider, model.at_rest(drive)
    states, vectors = model.train.system(rider).states, tuple(model.vector(begun, piece) for piece in begun.pieces)
    return RightHandSide(model.kernel(rider), model.parameters(rider), begun, model.rest(rider), states, vectors)


def jacobian(model: NoteModel, state: ArrayLike | None = None, drive: Drive = HANDS_OFF, t: float = 0.0) -> Floats:
    """d rates / d state of a note at a state, from the derivatives of its equations.

    Parameters
    ----------
    model : NoteModel
    state : (n,) array_like, optional
        SI, in the order of ``model.kernel().states``; the state of rest by default.
    drive : Drive
        What acts on the key meanwhile; by default nothing.
    t : float
        Time in the drive, s.

    Returns
    -------
    (m, m) array
        Over the m = n - 4 states that move the train: coordinates, speeds, pressures, slips; the four work accounts,
        on which nothing depends, are left out. Entry (i, j) is in units of state i per unit of state j and second.

    Raises
    ------
    ValueError
        When the state is not of that shape.

    Examples
    --------
    >>> import keyaction as ka
    >>> model = ka.NoteModel(ka.train_of(ka.read_case("demo-wood"), "C4"))
    >>> found = ka.jacobian(model)
    >>> found.shape, bool((found[:6, 6:12].diagonal() == 1).all())  # dq/dt = v
    ((19, 19), True)
    """
    f = right_hand_side(model, drive)
    moving = model.train.system(drive.rider).motion_states
    return f.jacobian(t, f.start if state is None else state)[:moving, :moving]
