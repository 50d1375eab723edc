"""Where the work went of notes that share a rail: trains and rail together."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from keyaction.sim.floating.loop import (
    AHEAD,
    ANGLE,
    ARM,
    BEHIND,
    ENDS,
    MASS,
    RAIL,
    SHARE,
    STOP,
    TURN,
    WAY,
    M,
)
from keyaction.sim.floating.places import ACCOUNTS, Places
from keyaction.sim.motion.integrate import Floats, Motion


@dataclass(frozen=True)
class RailAudit:
    """Works of notes and rail, J: what fingers, wind and load gave is stored or lost.

    Attributes
    ----------
    finger, wind : float
        Given by fingers and wind.
    load : float
        Given by what draws the rail.
    friction, damping : float
        Lost in the trains.
    guides, damped : float
        Lost in the rail's guides: by dry friction, by damping.
    stored, rail : float
        Stored more at the end than at the beginning: in the trains; in the rail's motion and its stops.
    """

    finger: float
    wind: float
    load: float
    friction: float
    damping: float
    guides: float
    damped: float
    stored: float
    rail: float

    @property
    def residual(self) -> float:
        """What the integration lost or made."""
        came = self.finger + self.wind + self.load
        return came - self.friction - self.damping - self.guides - self.damped - self.stored - self.rail

    @property
    def throughput(self) -> float:
        """The larger of what came in and what was lost: the measure for the residual."""
        came = abs(self.finger) + abs(self.wind) + abs(self.load)
        return max(came, abs(self.friction) + abs(self.damping) + abs(self.guides) + abs(self.damped), 1e-12)


def audit_of_rail(motions: Iterable[Motion], places: Places, y: Floats) -> RailAudit:
    """The audit of motions (N, n) played together."""
    audits = [motion.audit for motion in motions]
    finger, wind, friction, damping, stored = (
        sum(getattr(one, name) for one in audits) for name in ("finger", "wind", "friction", "damping", "stored")
    )
    load, guides, damped = (float(y[-1, k] - y[0, k]) for k in range(-ACCOUNTS, 0))
    rail = stored_by_rail(places, y[-1]) - stored_by_rail(places, y[0])
    return RailAudit(finger, wind, load, friction, damping, guides, damped, stored, rail)


def stored_by_rail(places: Places, y: Floats) -> float:
    """Energy of the rail's motion, of the rods' ends that it takes along, and of its stops, J."""
    figures, ends = places.body[RAIL], places.whole[ENDS]
    arm, angle, share, mass = (places.body[k] for k in (ARM, ANGLE, SHARE, MASS))
    place, speed = y[places.at[-1]], y[places.at[-1] + 1]
    lever = np.repeat(np.arange(len(ends) - 1), np.diff(ends))
    way, turn = y[places.whole[WAY]][lever], y[places.whole[TURN]][lever]
    taken = float(np.sum(mass * share * (arm * np.cos(way + angle) * turn + share * speed / 2))) * speed
    pressed = max(0.0, place - figures[AHEAD]) ** 2 + max(0.0, -figures[BEHIND] - place) ** 2
    own = figures[M] * speed**2 / 2 if speed else 0.0
    return float(own + taken + figures[STOP] * pressed / 2)
