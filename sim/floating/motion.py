"""Notes on a rail played together: all their states and the rail's, cut at the knots of all drives."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from keyaction.models.frame.rail import Rail
from keyaction.sim.floating.audit import RailAudit, audit_of_rail
from keyaction.sim.floating.compiled import Loop, loop_of
from keyaction.sim.floating.places import OnRail, Places, places_of, without_friction
from keyaction.sim.floating.resting import begun, rested, slippery
from keyaction.sim.floating.solving import Solver
from keyaction.sim.motion.drives import HANDS_OFF, ROUNDING, Drive
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


@dataclass(frozen=True)
class RailMotion:
    """Notes and their rail, as they moved.

    Attributes
    ----------
    t : (N,) array
        Recorded instants, s.
    notes : mapping of str to Motion
    place, speed : (N,) arrays
        Of the rail from its centre, towards its load, m and m/s.
    pull : (N,) array
        Of all rods against the load, N.
    status : Status
    audit : RailAudit
    evaluations : int
        Of the equations of all.
    """

    t: Floats
    notes: dict[str, Motion]
    place: Floats
    speed: Floats
    pull: Floats
    status: Status
    audit: RailAudit
    evaluations: int


def play_on_rail(
    notes: Sequence[OnRail], rail: Rail, tolerances: Tolerances | None = None, start: Floats | None = None
) -> RailMotion:
    """Play notes that share a rail, from where they rest together or from a state (n,).

    Parameters
    ----------
    notes : sequence of OnRail
        Their drives end together (see `keyaction.sim.chord.hands.even`).
    rail : Rail
    tolerances : Tolerances, optional
    start : (n,) array, optional

    Raises
    ------
    NoRest
        If notes and rail do not come to rest.
    ValueError
        If there is no note, or drives end at different times.
    """
    if not notes:
        raise ValueError("a rail needs at least one note")
    if len({round(one.drive.end, 9) for one in notes}) > 1:
        raise ValueError("the drives of notes on a rail end together; `even` makes them")
    played = OfRail(notes, rail, tolerances or Tolerances())
    return played.played(played.rest() if start is None else start)


class OfRail:
    """Notes on a rail, ready to be played."""

    def __init__(self, notes: Sequence[OnRail], rail: Rail, tol: Tolerances) -> None:
        self.notes, self.rail, self.tol = notes, rail, tol
        self.kernels = [one.model.kernel() for one in notes]
        self.places: Places = places_of(notes, rail)

    def rest(self) -> Floats:
        """The state (n,) in which notes and rail rest together, without friction."""
        places, parameters = without_friction(self.places), slippery(self.notes)
        solver, off = Solver(loop_of(self.kernels, places.whole, places.body), places, self.tol), self.off()

        def follow(y: Floats, t: Floats) -> Floats:
            return solver.lsoda(parameters, y, t, off)[0]

        return rested(follow, begun(self.notes, self.places), self.places)

    def off(self) -> Floats:
        """The drive vectors of all notes while nobody plays."""
        return np.concatenate([one.model.vector(HANDS_OFF, HANDS_OFF.pieces[0]) for one in self.notes])

    def _lowered(self, y: Floats) -> list[Drive]:
        """The drives with their ways counted from the keys' surfaces where they rest with the rail."""
        run = loop_of(self.kernels, self.places.whole, self.places.body)
        seen = self._seen(run, np.zeros(1), y[None, :], self.off())
        return [
            one.drive.lowered(float(shown[0, kernel.observables.index("key_travel")]))
            for one, kernel, shown in zip(self.notes, self.kernels, seen, strict=True)
        ]

    def played(self, start: Floats) -> RailMotion:
        """The motion from a state (n,) in which the keys lie where fingers begin."""
        run, drives = loop_of(self.kernels, self.places.whole, self.places.body), self._lowered(start)
        solver, methods = Solver(run, self.places, self.tol), list[str]()
        y, attempts, evaluations, message, beyond = start, list[str](), 0, "", ""
        times, paths, seen = [np.zeros(1)], [y[None, :]], [[one] for one in self._seen_first(run, y, drives)]
        for begin, end in pairwise(_cuts(drives)):
            t, d = grid(begin, end, self.tol.grid), self._driven(drives, begin, end)
            try:
                path, more, method = solver.either(self.places.parameters.copy(), y, t, d, attempts)
            except Failed as problem:
                message = str(problem)
                break
            methods.append(method)
            y, evaluations = path[-1], evaluations + more
            times.append(t[1:])
            paths.append(path[1:])
            for i, found in enumerate(self._seen(run, t, path, d)):
                seen[i].append(found[1:])
            if beyond := self._too_far(path):
                break
        remedy = SHORTER if beyond else ABSURD if message else ""
        status = Status(
            not remedy, "+".join(dict.fromkeys(methods)), message or beyond, remedy, tuple(attempts), bool(beyond)
        )
        whole = [np.concatenate(found) for found in seen]
        return self._motion(np.concatenate(times), np.concatenate(paths), whole, drives, status, evaluations)

    def _driven(self, drives: Sequence[Drive], start: float, end: float) -> Floats:
        """The drive vectors of all notes between two cuts."""
        found, middle = [], (start + end) / 2
        for one, drive in zip(self.notes, drives, strict=True):
            piece = next((p for p in drive.pieces if p.start <= middle <= p.end), drive.pieces[-1])
            found.append(one.model.vector(drive, piece))
        return np.concatenate(found)

    def _seen_first(self, run: Loop, y: Floats, drives: Sequence[Drive]) -> list[Floats]:
        return self._seen(run, np.zeros(1), y[None, :], self._driven(drives, 0.0, 2 * ROUNDING))

    def _seen(self, run: Loop, t: Floats, path: Floats, d: Floats) -> list[Floats]:
        found, p = [], self.places.parameters.copy()
        for i, kernel in enumerate(self.kernels):
            shown = np.zeros((len(t), len(kernel.observables)))
            run.watch(run.watches, run.places, i, t, path, p, d, shown)
            found.append(shown)
        return found

    def _too_far(self, path: Floats) -> str:
        widest = np.max(np.abs(path), axis=0)
        for i, (one, kernel) in enumerate(zip(self.notes, self.kernels, strict=True)):
            told = turned_too_far(kernel, widest[self.places.at[i] : self.places.at[i + 1]])
            if told:
                return f"{one.name}: {told}"
        return ""

    def _motion(
        self,
        t: Floats,
        y: Floats,
        seen: Sequence[Floats],
        drives: Sequence[Drive],
        status: Status,
        evaluations: int,
    ) -> RailMotion:
        places, motions, pull = self.places, dict[str, Motion](), np.zeros(len(t))
        for i, (one, kernel) in enumerate(zip(self.notes, self.kernels, strict=True)):
            states, drive = y[:, places.at[i] : places.at[i + 1]], drives[i]
            audit, p = audit_of(kernel, states, seen[i]), one.model.parameters()
            motions[one.name] = motion = Motion(
                kernel, p, drive, t, states, seen[i], status, audit, evaluations, 0, len(drive.pieces)
            )
            for hold in one.holds:
                pull += hold.tighter * motion[force_at(motion, hold.rod, hold.end)]
        first, audit_of_all = places.at[-1], audit_of_rail(motions.values(), places, y)
        return RailMotion(t, motions, y[:, first], y[:, first + 1], pull, status, audit_of_all, evaluations)


def force_at(motion: Motion, rod: str, end: str) -> str:
    """Observable that is a rod's force at a lever's ``in`` or ``out`` arm; of one in pieces, at its end there."""
    places = [one.place for one in motion.kernel.elements if one.part == rod and one.kind == "rod"]
    return motion.kernel.element(rod, {"in": "out", "out": "in"}[end] if "in" in places else "").force


def _cuts(drives: Sequence[Drive]) -> list[float]:
    """Instants at which any drive changes, rising."""
    every = sorted({t for drive in drives for piece in drive.pieces for t in drive.cuts(piece)})
    kept = every[:1]
    for t in every[1:]:
        if t - kept[-1] > ROUNDING:
            kept.append(t)
    return kept
