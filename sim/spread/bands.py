"""Feel curves of a note in all draws, laid over each other: what its band is at each key travel."""

from __future__ import annotations

import numpy as np

from keyaction.sim.figures.play import NotPlayed, press_note
from keyaction.sim.lanes.presses import DesignModel
from keyaction.sim.motion.integrate import Floats
from keyaction.sim.spread.drawing import Draws
from keyaction.sim.statics.press import Course

_NEAR = 2e-5
"""m: a course begins and ends with the finger just on the key, this near to where it rests."""


def curves(draws: Draws, travel: Floats, start: int, stop: int) -> Floats:
    """Key forces of some draws at the one note that they are of.

    Parameters
    ----------
    draws : Draws
        At one note.
    travel : (m,) array
        Key travels, m.
    start, stop : int
        Which draws.

    Returns
    -------
    (stop - start, 2, m) array
        N, down and up; NaN beyond a draw's own way, and where it cannot be pressed.
    """
    found = np.full((stop - start, 2, len(travel)), np.nan)
    with np.errstate(all="ignore"):
        for row, number in enumerate(range(start, stop)):
            design = draws.design(number)
            (train,) = design.trains
            if isinstance(train, str):
                continue
            try:
                press = press_note(DesignModel(train), design.strokes).press
            except NotPlayed:
                continue
            found[row] = [_along(press.down, travel), _along(press.up, travel)]
    return found


def _along(course: Course, travel: Floats) -> Floats:
    ways = course.travel[course.met]
    inside = (travel >= ways.min() - _NEAR) & (travel <= ways.max())
    return np.where(inside, course.force_at(travel), np.nan)


def quantiles(values: Floats, shares: Floats) -> Floats:
    """Values below which each share of the draws lies, of those that have one.

    Parameters
    ----------
    values : (draws, ...) array
    shares : (q,) array

    Returns
    -------
    (q, ...) array
        NaN where less than half of the draws have a value.
    """
    few = np.mean(np.isfinite(values), axis=0) < 0.5
    kept = np.where(few, 0.0, values)
    return np.where(few, np.nan, np.nanquantile(kept, shares, axis=0))
