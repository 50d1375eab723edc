"""Where a floating rail stands as its notes pull at it."""

from __future__ import annotations

from dataclasses import dataclass

from keyaction.models.frame.rail import Rail
from keyaction.sim.motion.integrate import Floats


@dataclass(frozen=True)
class RailCourse:
    """A floating rail over a year.

    Attributes
    ----------
    rail : Rail
    place : (D,) array
        From its centre, towards the direction of its load, m, with friction.
    lower, upper : (D,) arrays
        Ends of its dead band: the places between which friction holds it, m; both are `place` without friction.
    pull : (D,) array
        What all rods together pull against the load, N.
    at_stop : (D,) array of int
        +1 at the stop ahead, -1 at the one behind, 0 between.
    gains : mapping of int to float
        By note: how much the rod that stands for all is drawn tighter per way of the rail.
    """

    rail: Rail
    place: Floats
    lower: Floats
    upper: Floats
    pull: Floats
    at_stop: Floats
    gains: dict[int, float]
