"""What a force gauge shows of a slow press: it does not follow the ringing of parts that knock together."""

from __future__ import annotations

import numpy as np

from keyaction.plots.style import reading
from keyaction.plots.style.page import Floats
from keyaction.sim.files.labelled import Result

RESPONSE = 0.010
"""s over which the gauge averages: a few periods of what rings when finger and key meet, a hundredth of a slow press
(assumed; gauges of the trade average over longer)."""


def averaged(time: Floats, values: Floats, span: float = RESPONSE) -> Floats:
    """A course averaged over `span` about every instant; over less at its ends, evenly about it.

    Parameters
    ----------
    time, values : (n,) arrays
        Straight lines join the values.
    span : float
        In the unit of `time`.

    Returns
    -------
    (n,) array
    """
    area = np.concatenate([[0.0], np.cumsum(np.diff(time) * (values[1:] + values[:-1]) / 2)])
    half = np.minimum(span / 2, np.minimum(time - time[0], time[-1] - time))
    inside = half > 0
    found = np.array(values, dtype=float)
    ends = [_area(time, values, area, time[inside] + side * half[inside]) for side in (-1, 1)]
    found[inside] = (ends[1] - ends[0]) / (2 * half[inside])
    return found


def _area(time: Floats, values: Floats, area: Floats, at: Floats) -> Floats:
    """Area under the course from its beginning."""
    i = np.clip(np.searchsorted(time, at, side="right") - 1, 0, len(time) - 2)
    step = at - time[i]
    slope = (values[i + 1] - values[i]) / (time[i + 1] - time[i])
    return np.asarray(area[i] + step * (values[i] + slope * step / 2))


def gauged(result: Result, travel: Floats, force: Floats) -> Floats:
    """The force of a slow press as the gauge shows it; as it is where the result does not tell the press' speed.

    The samples of a press are even in time, and the key's way at the press' speed is nearly all of it.
    """
    speed, there = reading.stroke_setting(result, "press_speed"), np.isfinite(travel) & np.isfinite(force)
    if not np.isfinite(speed) or np.count_nonzero(there) < 3:
        return force
    step = float(np.median(np.abs(np.diff(travel[there])))) / speed
    if not step > 0:
        return force
    found = force.copy()
    found[there] = averaged(step * np.arange(np.count_nonzero(there), dtype=np.float64), force[there])
    return found


def gauge_words() -> str:
    """The gauge, in words."""
    return f"a gauge that averages over {1e3 * RESPONSE:.0f} ms"
