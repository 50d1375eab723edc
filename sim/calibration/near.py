"""How far measured points lie from a curve, in units of the errors of both their coordinates."""

from __future__ import annotations

import numpy as np
from scipy.interpolate import PchipInterpolator

from keyaction.sim.fitting.least import Floats
from keyaction.sim.statics.feel_curve import FORCE, SAME, WAY
from keyaction.sim.statics.press import Course

_LEAST = 1e-9
"""m between the last two places of a curve, at least, for the slope with which it goes on."""
FINER = 3
"""Points for each equilibrium of the smooth curve between them."""
AIR = 5e-3
"""m of way before the key is touched, where nothing presses."""
_LONG = 0.2
"""m of way over which the last slope is carried on."""


def line_of(course: Course) -> Floats:
    """What a finger that only goes on meets along a course: travel and force (m, 2), rising in travel.

    Before the key is touched there is no force, beyond the last place the course goes on as it ended. The highest
    force is in it: where a second pallet plucks nothing else tells of the edge.
    """
    travel, force = course.with_landings(course.met)
    if course.sense < 0:
        travel, force = travel[::-1], force[::-1]
    steps = np.hypot(np.diff(travel) / WAY, np.diff(force) / FORCE)
    at = np.concatenate([[0.0], np.cumsum(steps)])
    moved = np.concatenate([[True], np.diff(at) > SAME])
    at, line = at[moved], np.column_stack([travel, force])[moved]
    if len(at) > 2:
        fine = np.interp(np.linspace(0.0, len(at) - 1.0, FINER * (len(at) - 1) + 1), np.arange(len(at)), at)
        line = np.asarray(PchipInterpolator(at, line)(fine))
    slope = (line[-1, 1] - line[-2, 1]) / max(line[-1, 0] - line[-2, 0], _LEAST) if len(line) > 1 else 0.0
    ahead = [line[0, 0] - AIR, 0.0], [line[0, 0], 0.0]
    behind = [line[-1, 0] + _LONG, line[-1, 1] + _LONG * max(slope, 0.0)]
    return np.concatenate([ahead, line, [behind]])


def distances(points: Floats, errors: Floats, line: Floats) -> Floats:
    """Signed distances (n,) of points from a line, above it positive, each coordinate over its error.

    Where the line is flat it is the force by which they lie above it, where it is steep the travel. So a pluck
    that comes too late is told by how much too late, not by the force that is then missing (least squares with
    errors in both coordinates: W. E. Deming, Statistical Adjustment of Data, 1943, from memory).

    Parameters
    ----------
    points : (n, 2) array
        Travel and force.
    errors : (2,) array
        Their standard deviations.
    line : (m, 2) array
        Rising in travel.
    """
    (x, y), (left, low) = (points / errors).T, (line / errors).T
    along, rise = np.diff(left), np.diff(low)
    square = np.maximum(along**2 + rise**2, 1e-300)
    right, up = x[:, None] - left[:-1], y[:, None] - low[:-1]
    share = np.clip((right * along + up * rise) / square, 0.0, 1.0)
    right -= share * along
    up -= share * rise
    lengths = right**2 + up**2
    rows, nearest = np.arange(len(x)), np.argmin(lengths, axis=1)
    above = along[nearest] * up[rows, nearest] - rise[nearest] * right[rows, nearest]
    return np.asarray(np.where(above >= 0.0, 1.0, -1.0) * np.sqrt(lengths[rows, nearest]))
