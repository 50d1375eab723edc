"""Where the work went of notes that share boxes: trains and air together."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from keyaction.sim.chord.loop import CAP, CAPACITY, INERTANCE, KIND, STATE
from keyaction.sim.chord.places import Places
from keyaction.sim.motion.integrate import Floats, Motion


@dataclass(frozen=True)
class ChordAudit:
    """Works of a chord, J: what fingers and reservoirs gave is stored or lost.

    Attributes
    ----------
    finger, others : float
        Given by fingers, and by what else moves a train from outside.
    reservoir : float
        Given by the reservoirs; of boxes that hold their pressure only what the wind does on the pallets, if no box
        of the chord moves.
    friction, damping : float
        Lost in the trains.
    trunk, openings : float
        Lost in trunks and falling reservoirs; in gaps and toes.
    stored, air : float
        Stored more at the end than at the beginning: in the trains; in grooves, boxes and trunks.
    """

    finger: float
    reservoir: float
    friction: float
    damping: float
    stored: float
    others: float = 0.0
    trunk: float = 0.0
    openings: float = 0.0
    air: float = 0.0

    @property
    def residual(self) -> float:
        """What the integration lost or made."""
        came = self.finger + self.reservoir + self.others
        return came - self.friction - self.damping - self.trunk - self.openings - self.stored - self.air

    @property
    def throughput(self) -> float:
        """The larger of what came in and what was lost: the measure for the residual."""
        came = abs(self.finger) + abs(self.reservoir) + abs(self.others)
        return max(came, abs(self.friction) + abs(self.damping) + abs(self.trunk) + abs(self.openings), 1e-12)


def audit_of_chord(motions: Iterable[Motion], places: Places | None = None, y: Floats | None = None) -> ChordAudit:
    """The audit of motions played together; without `places` and states (N, n) each stands by itself."""
    audits = [motion.audit for motion in motions]
    finger, wind, friction, damping, stored, others = (
        sum(getattr(one, name) for one in audits)
        for name in ("finger", "wind", "friction", "damping", "stored", "others")
    )
    if places is None or y is None:
        return ChordAudit(finger, wind, friction, damping, stored, others)
    given, trunk, openings = (float(y[-1, -k] - y[0, -k]) for k in (3, 2, 1))
    air = _stored_air(places, y[-1]) - _stored_air(places, y[0])
    return ChordAudit(finger, given, friction, damping, stored, others, trunk, openings, air)


def _stored_air(places: Places, y: Floats) -> float:
    """Energy of the air in grooves, boxes that are fed, and trunks, J."""
    state, kind = places.whole[STATE], places.whole[KIND]
    caps, capacity, inertance = places.air[CAP], places.air[CAPACITY], places.air[INERTANCE]
    first = places.at[-1]
    pressure, flow = y[first : first + 2 * places.boxes : 2], y[first + 1 : first + 2 * places.boxes : 2]
    grooves = np.sum(caps * y[state] ** 2)
    boxes = np.sum(np.where(kind > 0, capacity * pressure**2, 0.0))
    trunks = np.sum(np.where(kind > 1, inertance * flow**2, 0.0))
    return float(grooves + boxes + trunks) / 2
