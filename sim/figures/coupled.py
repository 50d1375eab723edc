"""Figures of a note whose key opens several pallets: what a player feels, and what the couplers cost.

Each function takes the `Record` of the coupled note and the `Pressed` of the same key alone, and returns an SI float,
NaN where the note does not have it.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from keyaction.sim.figures.quantities import effective_mass, follow_through_force, friction_at_key, loop_work
from keyaction.sim.figures.quantities import pluck_force as highest_pluck
from keyaction.sim.figures.registry import OfSeveral
from keyaction.sim.figures.sounding import pallet_opening_time, pallet_pluck_force

if TYPE_CHECKING:
    from keyaction.sim.figures.record import Pressed, Record


def _points(record: Pressed) -> list[float]:
    """Key travels at which pallets leave their seats, in order."""
    found = (record.press.leaves(one) for one in record.press.sounders)
    return sorted(point for point in found if math.isfinite(point))


def plucks_apart(record: Pressed, alone: Pressed) -> float:  # noqa: ARG001  one form for all
    """Key travel between the first and the last pluck in the slow press; 0 where one pallet opens."""
    points = _points(record)
    return points[-1] - points[0] if points else math.nan


def speech_apart(record: Record, alone: Pressed) -> float:  # noqa: ARG001
    """Time between the first and the last groove passing 50 % of its box's pressure in the standard stroke."""
    found = [pallet_opening_time(record, one) for one in record.press.sounders]
    known = [time for time in found if math.isfinite(time)]
    return max(known) - min(known) if known else math.nan


def second_peak(record: Pressed, alone: Pressed) -> float:  # noqa: ARG001
    """The second highest of the peaks at the plucks in the slow press; none where all open together or one opens."""
    peaks = {
        point: pallet_pluck_force(record, one)
        for one in record.press.sounders
        if math.isfinite(point := record.press.leaves(one))
    }
    return sorted(peaks.values())[-2] if len(peaks) > 1 else math.nan


def added_pluck(record: Pressed, alone: Pressed) -> float:
    """Pluck force of the coupled key less that of the key alone."""
    return highest_pluck(record) - highest_pluck(alone)


def hold_force(record: Pressed, alone: Pressed) -> float:  # noqa: ARG001
    """Key force in the slow press half a millimetre before the bottom felt: what holding the note takes."""
    bottom = record.press.bottom_point
    return float(record.press.down.force_at(bottom - 5e-4)) if math.isfinite(bottom) else math.nan


def return_force(record: Pressed, alone: Pressed) -> float:  # noqa: ARG001
    """Lowest key force on the way up in the slow press, from half a millimetre above the bottom felt to 1 mm of travel.

    With what the key lifts the finger at its weakest; none where it stays down.
    """
    up, bottom = record.press.up, record.press.bottom_point
    if not math.isfinite(bottom) or float(np.min(up.travel)) > 1e-3:
        return math.nan
    axis = np.linspace(1e-3, max(bottom - 5e-4, 1e-3), 201)
    return float(np.min(up.force_at(axis)))


def added_hold(record: Pressed, alone: Pressed) -> float:
    """Lowest key force after the last pluck, less that of the key alone."""
    return follow_through_force(record) - follow_through_force(alone)


def added_work(record: Pressed, alone: Pressed) -> float:
    """Work lost in a slow stroke, less that of the key alone."""
    return loop_work(record) - loop_work(alone)


def added_friction(record: Pressed, alone: Pressed) -> float:
    """Friction at the key, less that of the key alone."""
    return friction_at_key(record) - friction_at_key(alone)


def added_mass(record: Pressed, alone: Pressed) -> float:
    """Effective mass at the key, less that of the key alone."""
    return effective_mass(record) - effective_mass(alone)


def coupler_mass(record: Pressed, alone: Pressed) -> float:  # noqa: ARG001
    """Effective mass at the key of the couplers themselves: their levers, stickers and hooks."""
    found = record.kinematics.effective_masses(record.rest, record.model.parameters())
    couplers = [part.name for part in record.model.train.parts if part.role == "coupler"]
    return float(sum(found.get(name, 0.0) for name in couplers))


def coupler_play(record: Pressed, alone: Pressed) -> float:  # noqa: ARG001
    """Key travel at which the last coupler begins to drive in the slow press; none where one never does.

    All that it costs in way: its play, and what its felt and all before it give.
    """
    down, kernel = record.press.down, record.model.kernel()
    found = [0.0]
    for part in record.model.train.parts:
        if part.role == "coupler":
            force = down[kernel.element(part.name, "give").force]
            carrying = np.flatnonzero(force > 0.0)
            if not len(carrying):
                return math.nan
            found.append(float(down.travel[carrying[0]]))
    return max(found)


COUPLED = {
    one.name: one
    for one in (
        OfSeveral(plucks_apart, "m", "plucks apart", "apart", 2),
        OfSeveral(speech_apart, "s", "grooves apart", "apart", 1),
        OfSeveral(second_peak, "N", "second peak", "second\npeak", 0),
        OfSeveral(hold_force, "N", "hold force", "hold", 0),
        OfSeveral(return_force, "N", "return force", "return", 0),
        OfSeveral(added_pluck, "N", "added pluck force", "pluck\nadded", 0),
        OfSeveral(added_hold, "N", "added follow-through", "follow\nadded", 0),
        OfSeveral(added_friction, "N", "added friction at the key", "friction\nadded", 1),
        OfSeveral(added_work, "J", "added work lost", "work\nadded", 1),
        OfSeveral(added_mass, "kg", "added effective mass", "mass\nadded", 0),
        OfSeveral(coupler_mass, "kg", "effective mass of the couplers", "couplers'\nmass", 1),
        OfSeveral(coupler_play, "m", "key travel until all couplers drive", "drives\nfrom", 2),
    )
}
"""Figures of a coupled note, by name."""
