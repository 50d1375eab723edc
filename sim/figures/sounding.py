"""Figures of every pallet that a key opens: its own and those that couplers add, or several of one key.

Each function takes the `Record` of a note (or a `Pressed`) and one of its `Sounder`s and returns an SI float, NaN where
that pallet does not have it.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from keyaction.sim.figures.limits import EMPTY, FULL, HALF, NOTHING, SPEECH_START
from keyaction.sim.figures.measure import above_seat, crossing
from keyaction.sim.figures.registry import OfSeveral

if TYPE_CHECKING:
    from keyaction.sim.figures.record import Pressed, Record
    from keyaction.sim.motion.sounders import Sounder


def pallet_pluck_point(record: Pressed, one: Sounder) -> float:
    """Key travel at which this pallet leaves its seat in the slow press."""
    return record.press.leaves(one)


def pallet_pluck_force(record: Pressed, one: Sounder) -> float:
    """Highest key force in the slow press about this pallet's pluck: at most 1 mm past it.

    From where the force is lowest since the pluck before, to where it is lowest until the next: so each pluck has its
    own peak, and pallets that open together have the same.
    """
    press = record.press
    point = press.leaves(one)
    if math.isnan(point):
        return math.nan
    points = [at for other in press.sounders if math.isfinite(at := press.leaves(other))]
    before = max((at for at in points if at < point), default=None)
    after = min((at for at in points if at > point), default=None)
    start = 0.0 if before is None else press.lowest_between(before, point)
    end = press.just_past(point) if after is None else min(press.just_past(point), press.lowest_between(point, after))
    return press.highest_between(start, max(end, point))


def pallet_lift(record: Pressed, one: Sounder) -> float:
    """Lift of this pallet above its seat, at the eye, with the key held at the bottom by the dip force."""
    down = record.press.down
    lift = float(above_seat(down[one.lift], down[one.gap])[-1])
    return lift if down[one.gap][-1] > 0.0 else 0.0


def pallet_groove_share(record: Pressed, one: Sounder) -> float:
    """Pressure in this pallet's groove over its box pressure, the key held at the bottom by the dip force."""
    if one.box_pressure <= 0.0:
        return math.nan
    share = float(record.press.down[one.pressure][-1]) / one.box_pressure
    return share if abs(share) > NOTHING else 0.0


def _passes(record: Record, one: Sounder, share: float) -> float:
    stroke, travel = record.stroke, record.travel(record.stroke)
    start = crossing(stroke.t, travel, SPEECH_START)
    if one.box_pressure <= 0.0 or stroke[one.pressure][0] > EMPTY * one.box_pressure:
        return math.nan
    return crossing(stroke.t, stroke[one.pressure], share * one.box_pressure, after=start) - start


def pallet_opening_time(record: Record, one: Sounder) -> float:
    """From the played key passing 1 mm to this groove passing 50 % of its box's pressure, in the standard stroke."""
    return _passes(record, one, HALF)


def pallet_speech_delay(record: Record, one: Sounder) -> float:
    """From the played key passing 1 mm to this groove passing 90 % of its box's pressure, in the standard stroke."""
    return _passes(record, one, FULL)


def pallet_release_delay(record: Record, one: Sounder) -> float:
    """From the finger's lift to this groove falling below 10 % of its box's pressure, in the standard stroke.

    None of a groove that the stroke does not fill to half.
    """
    stroke, lift = record.stroke, record.stroke.drive.mark("lift")
    pressure = stroke[one.pressure]
    if one.box_pressure <= 0.0 or np.max(pressure) < HALF * one.box_pressure:
        return math.nan
    return crossing(stroke.t, pressure, EMPTY * one.box_pressure, after=lift, rising=False) - lift


OF_PALLETS = {
    one.name: one
    for one in (
        OfSeveral(pallet_pluck_point, "m", "pluck point of the pallet", "plucks\nat", 2),
        OfSeveral(pallet_pluck_force, "N", "peak at its pluck", "peak", 0),
        OfSeveral(pallet_lift, "m", "lift of the pallet", "lift", 1),
        OfSeveral(pallet_groove_share, "", "groove pressure share", "groove", 0, percent=True),
        OfSeveral(pallet_opening_time, "s", "opening time", "opens", 1),
        OfSeveral(pallet_speech_delay, "s", "speech delay", "delay", 1),
        OfSeveral(pallet_release_delay, "s", "release delay", "release", 0),
    )
}
"""Figures of the pallets of a note, by name."""
