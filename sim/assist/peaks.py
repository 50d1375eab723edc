"""Touch of a version: the force at each of its stages, and what a finger meets on the whole way."""

from __future__ import annotations

import math
from collections.abc import Sequence

from keyaction.sim.assist.versions import AS_IS
from keyaction.sim.figures.coupled import hold_force
from keyaction.sim.figures.quantities import groove_share
from keyaction.sim.figures.record import Pressed
from keyaction.sim.figures.sounding import pallet_lift
from keyaction.sim.figures.stages import stages
from keyaction.sim.statics.press import StaticPress


def touch(pressed: Pressed, version: str) -> dict[str, float]:
    """Figures of the slow press, SI; see `keyaction.sim.assist.assisted.Assisted`."""
    press = pressed.press
    points = [one.travel for one in stages(pressed)][:2]
    if version == AS_IS:
        points = points[:1]
    forces = [*peaks(press, points), math.nan, math.nan]
    bottom = press.bottom_point
    end = bottom if math.isfinite(bottom) else float(press.down.travel[-1])
    return {
        "first": forces[0],
        "second": forces[1],
        "second_at": points[1] if len(points) > 1 else math.nan,
        "highest": press.highest_between(0.0, end),
        "hold": hold_force(pressed, pressed),
        "lift": min(pallet_lift(pressed, one) for one in press.sounders),
        "share": groove_share(pressed),
    }


def peaks(press: StaticPress, points: Sequence[float]) -> list[float]:
    """The highest key force about each of some stages, N: each one's own, from trough to trough, to 1 mm past it.

    Parameters
    ----------
    press : StaticPress
    points : sequence of float
        Key travels of the stages, m, rising.
    """
    found = []
    for i, point in enumerate(points):
        start = press.lowest_between(points[i - 1], point) if i else 0.0
        end = press.just_past(point)
        if i + 1 < len(points):
            end = min(end, press.lowest_between(point, points[i + 1]))
        found.append(press.highest_between(start, max(end, point)))
    return found
