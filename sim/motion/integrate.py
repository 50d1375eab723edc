"""Integration by SciPy: cut at the knots of the drive, with a bounded step, a status, and an audit of energy."""

from __future__ import annotations

import warnings
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.integrate import odeint, solve_ivp

from keyaction.cases.text.near import hint
from keyaction.models.algebra.names import Name
from keyaction.models.train.structure import TURN_LIMIT
from keyaction.sim.code.kernel import Kernel
from keyaction.sim.code.layout import Layout
from keyaction.sim.motion.drives import Drive
from keyaction.sim.motion.going_on import may_go_on

Floats = NDArray[np.float64]

LADDER = ("LSODA", "Radau", "BDF")
"""Methods in the order in which they are tried; which one served is in the status."""


@dataclass(frozen=True)
class Tolerances:
    """How exactly to integrate.

    `relative` error per step, longest step `max_step` (s), spacing `grid` (s) of the recorded instants. The
    scales below which a state's error does not matter: way and angle (m, rad), speed, slip, pressure (Pa), work (J).
    """

    relative: float = 1e-5
    max_step: float = 2.5e-3
    grid: float = 1e-4
    way: float = 1e-8
    speed: float = 1e-5
    slip: float = 1e-5
    pressure: float = 1e-2
    work: float = 1e-8

    def finer(self, times: float = 100.0) -> Tolerances:
        """A hundredth of every error, or another part, by which a figure is seen to hang on them."""
        scales = ("relative", "way", "speed", "slip", "pressure", "work")
        return replace(self, **{name: getattr(self, name) / times for name in scales})

    def absolute(self, kinds: Sequence[str]) -> Floats:
        """One absolute tolerance per state, by its kind."""
        known = {"coordinate": self.way, "speed": self.speed, "pressure": self.pressure, "work": self.work}
        return np.array([known.get(kind, self.slip) for kind in kinds])


@dataclass(frozen=True)
class Status:
    """How an integration ended. `ok`, the method that served, what else was tried and why it failed, and the remedy.

    `beyond` tells that a body turned further than the equations hold, and nothing else went wrong.
    """

    ok: bool
    method: str
    message: str = ""
    remedy: str = ""
    attempts: tuple[str, ...] = ()
    beyond: bool = False

    def __str__(self) -> str:
        return f"{self.method}: done" if self.ok else f"failed: {self.message}; {self.remedy}"


@dataclass(frozen=True)
class Audit:
    """Where the work went between start and end (J): in by finger and wind = stored + lost.

    `others` is what came in by other ways, where a train has some (a rail that moves).
    """

    finger: float
    wind: float
    friction: float
    damping: float
    stored: float
    others: float = 0.0

    @property
    def residual(self) -> float:
        return self.finger + self.wind - self.friction - self.damping - self.stored + self.others

    @property
    def throughput(self) -> float:
        """The larger of what came in and what was lost: the measure for the residual."""
        return max(abs(self.finger) + abs(self.wind) + abs(self.others), abs(self.friction) + abs(self.damping), 1e-12)


@dataclass(frozen=True)
class Motion:
    """A motion of the train, from `NoteModel.play`; ``motion["key_travel"]`` is a recorded quantity by name, SI.

    Attributes
    ----------
    kernel : Kernel
        The equations, with the names of ``states`` and ``observables``.
    parameters : (np,) array
        Their parameters, SI.
    drive : Drive
        What was played, its ways counted as the equations count them.
    t : (N,) array
        Recorded instants, s; a knot of the drive appears once.
    y : (N, n) array
        States, SI, in the order of ``kernel.states``.
    seen : (N, m) array
        Observables, SI, in the order of ``kernel.observables``.
    status : Status
        Whether it went well (``ok``), by which method, or why not and what to do.
    audit : Audit
        Where the work went, J; its ``residual`` is what the integration lost or made.
    evaluations, steps, pieces : int
        Of the equations, of the integrator, of the drive.

    Examples
    --------
    >>> import keyaction as ka
    >>> model = ka.NoteModel(ka.train_of(ka.read_case("demo-wood"), "C4"))
    >>> motion = model.play(ka.drives.stroke(0.04, 0.15, 0.04, 0.011))
    >>> motion.status.ok, abs(motion.audit.residual) < 1e-3 * motion.audit.throughput
    (True, True)
    >>> round(float(1e3 * motion["pallet_lift"].max()), 1)  # mm
    11.3
    """

    kernel: Layout
    parameters: Floats
    drive: Drive
    t: Floats
    y: Floats
    seen: Floats
    status: Status
    audit: Audit
    evaluations: int
    steps: int
    pieces: int

    def __repr__(self) -> str:
        return f"<Motion: {self.t[-1]:g} s, {len(self.t)} instants, {self.status}>"

    def __getitem__(self, name: str) -> Floats:
        """A recorded quantity or state by name, (N,), SI; `KeyError`, with the nearest name, if there is none."""
        if name in self.kernel.observables:
            return self.seen[:, self.kernel.observables.index(name)]
        if name in self.kernel.states:
            return self.y[:, self.kernel.states.index(name)]
        raise KeyError(f"no '{name}' in this motion{hint(name, (*self.kernel.observables, *self.kernel.states))}")

    def until(self, end: float) -> Motion:
        """The motion up to a time (s)."""
        kept = self.t <= end + 1e-12
        return replace(self, t=self.t[kept], y=self.y[kept], seen=self.seen[kept])


Enough = Callable[[Floats, Floats], bool]
"""Of instants (N,) and observables (N, m) that are new, each once, whether no more of the motion is needed."""


class Failed(RuntimeError):
    """A method could not integrate a piece."""


def grid(start: float, end: float, spacing: float) -> Floats:
    """Instants from start to end, evenly and at most `spacing` apart."""
    return np.linspace(start, end, max(2, int(np.ceil((end - start) / spacing - 1e-9)) + 1))


def lsoda(
    kernel: Kernel, y: Floats, times: Floats, p: Floats, d: Floats, tol: Tolerances, absolute: Floats
) -> tuple[Floats, int, int]:
    return followed(kernel.driven(p, d), y, times, tol.relative, absolute, tol.max_step)


def followed(
    rates: Callable[[float, Any], Any],
    y: Floats,
    times: Floats,
    relative: float,
    absolute: Floats,
    longest: float = 0.0,
) -> tuple[Floats, int, int]:
    """States at the times, evaluations and steps by LSODA; `longest` step (s), 0 for any.

    Raises
    ------
    Failed
        When it does not come to the last time.
    """
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        path, info = odeint(
            rates,
            y,
            times,
            tfirst=True,
            rtol=relative,
            atol=absolute,
            hmax=longest,
            tcrit=[times[-1]],
            mxstep=20000,
            full_output=True,
        )
    if info["message"] != "Integration successful.":
        raise Failed(info["message"])
    return path, int(info["nfe"][-1]), int(info["nst"][-1])


def _implicit(method: str) -> Callable[..., tuple[Floats, int, int]]:
    def integrated(
        kernel: Kernel, y: Floats, times: Floats, p: Floats, d: Floats, tol: Tolerances, absolute: Floats
    ) -> tuple[Floats, int, int]:
        count = 0

        def bounded(t: float, state: Floats) -> Any:
            nonlocal count
            count += 1
            if count > 400_000:
                raise Failed("more than 400 000 evaluations in one piece")
            return kernel.rates(t, state, p, d)

        with np.errstate(all="ignore"), warnings.catch_warnings():
            warnings.simplefilter("ignore")
            found = solve_ivp(
                bounded,
                (times[0], times[-1]),
                y,
                method=method,
                t_eval=times,
                rtol=tol.relative,
                atol=absolute,
                max_step=tol.max_step,
                jac=lambda t, state: kernel.jacobian(t, state, p, d),
            )
        if not found.success:
            raise Failed(found.message)
        return found.y.T, int(found.nfev), len(found.t)

    return integrated


_METHODS: dict[str, Callable[..., tuple[Floats, int, int]]] = {
    "LSODA": lsoda,
    "Radau": _implicit("Radau"),
    "BDF": _implicit("BDF"),
}

SHORTER = (
    "look at its arms (the shorter, the wider it turns), at the rod that moves it, at what holds it back (a stroke "
    "throws a pallet with a weak spring far open: a stop of the pallet catches it), and at the drive and its units"
)
ABSURD = "look for absurd values with `keyaction check` (a mass, stiffness or damping far from its neighbours')"
_REMEDY = f"{ABSURD}; if they are meant, a smaller relative tolerance may pass"


def _piece(
    kernel: Kernel,
    y: Floats,
    times: Floats,
    p: Floats,
    d: Floats,
    tol: Tolerances,
    absolute: Floats,
    ladder: tuple[str, ...],
    attempts: list[str],
) -> tuple[Floats, int, int, str]:
    """One piece by the first method of the ladder that manages it."""
    for method in ladder:
        try:
            path, evaluations, steps = _METHODS[method](kernel, y, times, p, d, tol, absolute)
            if not np.all(np.isfinite(path)):
                raise Failed("the motion grew beyond all bounds")
            return path, evaluations, steps, method
        except (Failed, ValueError, ZeroDivisionError, OverflowError, np.linalg.LinAlgError) as problem:
            attempts.append(f"{method} at {times[0] * 1e3:.1f} ms: {problem}")
    raise Failed(attempts[-1])


def integrate(
    kernel: Kernel,
    parameters: Floats,
    start: Floats,
    drive: Drive,
    tol: Tolerances | None = None,
    ladder: tuple[str, ...] = LADDER,
    held: Sequence[tuple[Name, float]] = (),
    enough: Enough | None = None,
) -> Motion:
    """Integrate a drive from a state.

    Parameters
    ----------
    kernel : Kernel
    parameters : (np,) array
    start : (n,) array
        State at time 0, accounts of work at zero.
    drive : Drive
    tol : Tolerances
    ladder : tuple of str
        Methods to try, in order.
    held : sequence of (Name, float)
        The kernel's inputs with the values that they have unless the drive changes them.
    enough : callable, optional
        Told what was recorded of every piece; the motion ends there where it answers that this is enough.

    Returns
    -------
    Motion
        With ``status.ok`` false, and what was reached, where no method managed, or a body turned further than the
        equations hold.
    """
    tol = tol or Tolerances()
    absolute = tol.absolute(kernel.kinds)
    t_all: list[Floats] = []
    y_all: list[Floats] = []
    seen_all: list[Floats] = []
    attempts: list[str] = []
    evaluations = steps = 0
    used: list[str] = []
    y, message, remedy = start, "", _REMEDY
    spans = [(cut, drive.vector(piece, held)) for piece in drive.pieces for cut in pairwise(drive.cuts(piece))]
    for i, (ends, d) in enumerate(spans):
        may_go_on()
        times = grid(*ends, tol.grid)
        try:
            path, more, taken, method = _piece(kernel, y, times, parameters, d, tol, absolute, ladder, attempts)
        except Failed as problem:
            message = str(problem)
            break
        evaluations, steps, y = evaluations + more, steps + taken, path[-1]
        used.append(method)
        keep = slice(0 if i == 0 else 1, None)
        t_all.append(times[keep])
        y_all.append(path[keep])
        seen_all.append(kernel.observe(times, path, parameters, d)[keep])
        message = turned_too_far(kernel, np.max(np.abs(path), axis=0))
        if message:
            remedy = SHORTER
            break
        if enough is not None and enough(t_all[-1], seen_all[-1]):
            break
    t = np.concatenate(t_all) if t_all else np.zeros(1)
    states = np.concatenate(y_all) if y_all else start[None, :]
    seen = (
        np.concatenate(seen_all)
        if seen_all
        else kernel.observe(np.zeros(1), start[None, :], parameters, drive.vector(drive.pieces[0], held))
    )
    names = "+".join(dict.fromkeys(used)) or ladder[-1]
    status = Status(not message, names, message, remedy if message else "", tuple(attempts), remedy == SHORTER)
    return Motion(
        kernel,
        parameters,
        drive,
        t,
        states,
        seen,
        status,
        audit_of(kernel, states, seen),
        evaluations,
        steps,
        len(used),
    )


def audit_of(layout: Layout, y: Floats, seen: Floats) -> Audit:
    """Where the work of a motion went, from its accounts."""
    works = {name: float(y[-1, i] - y[0, i]) for name, i in layout.accounts}
    finger, wind, friction, damping = (works.pop(name) for name in ("finger", "wind", "friction", "damping"))
    energy = seen[:, layout.observables.index("energy")]
    return Audit(finger, wind, friction, damping, float(energy[-1] - energy[0]), sum(works.values()))


def turned_too_far(layout: Layout, widest: Floats) -> str:
    """Which body turned further than the equations hold, and how far; empty where none did.

    `widest` holds the largest absolute value of each state, the ways first.
    """
    for body, turn in zip(layout.bodies, widest, strict=False):
        if body.unit == "rad" and turn > TURN_LIMIT:
            return (
                f"{body.title} turns by {turn:.2f} rad ({np.degrees(turn):.0f} degrees), beyond the "
                f"{TURN_LIMIT:g} rad to which the equations hold"
            )
    return ""
