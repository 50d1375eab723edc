"""Notes played together: integration of all their states and of the boxes' by SciPy, cut at the knots of all drives."""

from __future__ import annotations

import math
import warnings
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from scipy.integrate import odeint

from keyaction.sim.chord.audit import ChordAudit, audit_of_chord
from keyaction.sim.chord.compiled import Loop, loop_of
from keyaction.sim.chord.places import Places, Player, grooves_of, places_of
from keyaction.sim.chord.resting import resting
from keyaction.sim.code.kernel import Kernel
from keyaction.sim.motion.drives import ROUNDING, Drive
from keyaction.sim.motion.integrate import (
    ABSURD,
    SHORTER,
    Failed,
    Floats,
    Motion,
    Status,
    Tolerances,
    audit_of,
    grid,
    turned_too_far,
)
from keyaction.sim.wind.supplies import Supply

FLOW = 1e-8
"""m3/s: error of a trunk's flow that does not matter."""


@dataclass(frozen=True)
class BoxCourse:
    """What a box went through: its supply, pressure (N,) in Pa and flow (N,) through its trunk in m3/s."""

    supply: Supply
    pressure: Floats
    flow: Floats


@dataclass(frozen=True)
class Together:
    """Notes that were played together.

    Attributes
    ----------
    t : (N,) array
        Recorded instants, s, the same for all.
    notes : mapping of str to Motion
    boxes : mapping of str to BoxCourse
    status : Status
    audit : ChordAudit
        Of all notes and boxes together.
    evaluations : int
        Of the equations of all.
    """

    t: Floats
    notes: Mapping[str, Motion]
    boxes: Mapping[str, BoxCourse]
    status: Status
    audit: ChordAudit
    evaluations: int


def play_together(
    players: Sequence[Player], supplies: Mapping[str, Supply], tolerances: Tolerances | None = None
) -> Together:
    """Play notes that share boxes; where no box's pressure can move, each by itself, which gives its own figures.

    Parameters
    ----------
    players : sequence of Player
        Their drives end together (see `keyaction.sim.chord.hands.even`).
    supplies : mapping of str to Supply
        Of the boxes that they name.
    tolerances : Tolerances, optional

    Raises
    ------
    ValueError
        If there is no note, two have one name, or drives end at different times.
    """
    _check(players)
    tol = tolerances or Tolerances()
    drawn = {name: supplies[name] for one in players for name in one.boxes.values()}
    if all(one.holds for one in drawn.values()):
        return _each_alone(players, drawn, tol)
    return _Chord(players, drawn, tol).played()


def _check(players: Sequence[Player]) -> None:
    if not players:
        raise ValueError("a chord needs at least one note")
    if len({one.name for one in players}) < len(players):
        raise ValueError("two notes of a chord have one name")
    if len({round(one.drive.end, 9) for one in players}) > 1:
        raise ValueError("the drives of a chord end together; `even` makes them")


def _each_alone(players: Sequence[Player], supplies: Mapping[str, Supply], tol: Tolerances) -> Together:
    motions = {one.name: one.model.play(one.drive, tol) for one in players}
    t = next(iter(motions.values())).t
    flows = {name: _drawn(name, players, motions, t) for name in supplies}
    courses = {name: BoxCourse(one, np.full(len(t), one.pressure), flows[name]) for name, one in supplies.items()}
    failed = [f"{name}: {motion.status.message}" for name, motion in motions.items() if not motion.status.ok]
    status = Status(not failed, "LSODA", "; ".join(failed), SHORTER if failed else "")
    count = sum(motion.evaluations for motion in motions.values())
    return Together(t, motions, courses, status, audit_of_chord(motions.values()), count)


def _drawn(box: str, players: Sequence[Player], motions: Mapping[str, Motion], t: Floats) -> Floats:
    """What flows out of a box into grooves (N,), m3/s."""
    flow = np.zeros(len(t))
    for one in players:
        kernel, motion = one.model.kernel(), motions[one.name]
        for groove in grooves_of(one.model):
            if one.boxes[groove.box] == box:
                flow += np.interp(t, motion.t, motion[kernel.seen_of(groove.name, "flow_in")])
    return flow


class _Chord:
    """One chord being played."""

    def __init__(self, players: Sequence[Player], supplies: Mapping[str, Supply], tol: Tolerances) -> None:
        self.tol, self.supplies = tol, supplies
        self.players, self.start = resting(players, supplies)
        self.kernels: list[Kernel] = [one.model.kernel(one.drive.rider) for one in self.players]
        self.drives = [one.model.at_rest(one.drive) for one in self.players]
        self.places: Places = places_of(self.players, supplies)
        self.loop: Loop = loop_of(self.kernels, self.places.whole, self.places.air)
        self.parameters = self.places.parameters.copy()
        known = {"coordinate": tol.way, "speed": tol.speed, "pressure": tol.pressure, "work": tol.work, "flow": FLOW}
        self.absolute = np.array([known.get(kind, tol.slip) for kind in self.places.kinds])

    def played(self) -> Together:
        y, attempts, evaluations, message, beyond = self._begin(), list[str](), 0, "", ""
        times, paths, seen = list[Floats](), list[Floats](), [list[Floats]() for _ in self.players]
        for start, end in pairwise(_cuts(self.drives)):
            t, d = grid(start, end, self.tol.grid), self._driven(start, end)
            try:
                path, more = self._piece(y, t, d)
            except Failed as problem:
                attempts.append(f"LSODA at {start * 1e3:.1f} ms: {problem}")
                message = attempts[-1]
                break
            keep, y, evaluations = slice(1 if times else 0, None), path[-1], evaluations + more
            times.append(t[keep])
            paths.append(path[keep])
            for i, found in enumerate(self._seen(t, path, d)):
                seen[i].append(found[keep])
            if beyond := self._too_far(path):
                break
        if not times:
            t0, path0 = np.zeros(1), y[None, :]
            times, paths = [t0], [path0]
            seen = [[one] for one in self._seen(t0, path0, self._driven(0.0, 1e-9))]
        remedy = SHORTER if beyond else ABSURD if message else ""
        status = Status(not remedy, "LSODA", message or beyond, remedy, tuple(attempts), bool(beyond))
        whole = [np.concatenate(found) for found in seen]
        return self._together(np.concatenate(times), np.concatenate(paths), whole, status, evaluations)

    def _begin(self) -> Floats:
        y = np.zeros(self.places.size)
        for i, one in enumerate(self.players):
            y[self.places.at[i] : self.places.at[i + 1]] = one.model.rest(one.drive.rider)
        first = self.places.at[-1]
        for b, name in enumerate(self.places.names):
            y[first + 2 * b : first + 2 * b + 2] = self.start[name]
        return y

    def _driven(self, start: float, end: float) -> Floats:
        """The drive vectors of all notes between two cuts."""
        found = []
        for one, drive in zip(self.players, self.drives, strict=True):
            middle = (start + end) / 2
            piece = next((p for p in drive.pieces if p.start <= middle <= p.end), drive.pieces[-1])
            found.append(one.model.vector(drive, piece))
        return np.concatenate(found)

    def _piece(self, y: Floats, t: Floats, d: Floats) -> tuple[Floats, int]:
        """All states at the times, and how many evaluations that took."""
        places, run, p = self.places, self.loop, self.parameters
        n, wide = places.size, places.wide
        out, band = np.zeros(n), np.zeros((2 * wide + 1, n))

        def rates(now: float, state: Floats) -> Floats:
            run.together(run.fills, run.places, run.air, now, state, p, d, out)
            return out

        def slopes(now: float, state: Floats) -> Floats:
            run.slopes(run.fills, run.places, run.air, now, state, p, d, places.scale, wide, band)
            return band

        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            path, told = odeint(
                rates,
                y,
                t,
                Dfun=slopes,
                ml=wide,
                mu=wide,
                tfirst=True,
                rtol=self.tol.relative,
                atol=self.absolute,
                hmax=self.tol.max_step,
                tcrit=[t[-1]],
                mxstep=50_000,
                full_output=True,
            )
        if told["message"] != "Integration successful.":
            raise Failed(told["message"])
        if not np.all(np.isfinite(path)):
            raise Failed("the motion grew beyond all bounds")
        return path, int(told["nfe"][-1])

    def _seen(self, t: Floats, path: Floats, d: Floats) -> list[Floats]:
        found = []
        for i, kernel in enumerate(self.kernels):
            shown = np.zeros((len(t), len(kernel.observables)))
            self.loop.watch(self.loop.watches, self.loop.places, i, t, path, self.parameters, d, shown)
            found.append(shown)
        return found

    def _too_far(self, path: Floats) -> str:
        widest = np.max(np.abs(path), axis=0)
        for i, (one, kernel) in enumerate(zip(self.players, self.kernels, strict=True)):
            told = turned_too_far(kernel, widest[self.places.at[i] : self.places.at[i + 1]])
            if told:
                return f"{one.name}: {told}"
        return ""

    def _together(self, t: Floats, y: Floats, seen: Sequence[Floats], status: Status, evaluations: int) -> Together:
        places, motions = self.places, dict[str, Motion]()
        for i, (one, kernel) in enumerate(zip(self.players, self.kernels, strict=True)):
            states = y[:, places.at[i] : places.at[i + 1]]
            audit = audit_of(kernel, states, seen[i])
            p = one.model.parameters(one.drive.rider)
            motions[one.name] = Motion(
                kernel, p, self.drives[i], t, states, seen[i], status, audit, evaluations, 0, len(self.drives[i].pieces)
            )
        first, courses = places.at[-1], dict[str, BoxCourse]()
        for b, name in enumerate(places.names):
            pressure, flow, supply = y[:, first + 2 * b], y[:, first + 2 * b + 1], self.supplies[name]
            if supply.holds:
                flow = _drawn(name, self.players, motions, t)
            elif not math.isfinite(supply.area):
                flow = (supply.pressure - pressure) / supply.fall
            courses[name] = BoxCourse(supply, pressure, flow)
        return Together(t, motions, courses, status, audit_of_chord(motions.values(), places, y), evaluations)


def _cuts(drives: Sequence[Drive]) -> list[float]:
    """Instants at which any drive changes, rising."""
    every = sorted({t for drive in drives for piece in drive.pieces for t in drive.cuts(piece)})
    kept = every[:1]
    for t in every[1:]:
        if t - kept[-1] > ROUNDING:
            kept.append(t)
    return kept
