"""Reading figures off a sampled motion: crossings and peaks between the recorded instants."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


def crossing(t: Floats, x: Floats, level: float, after: float = -np.inf, rising: bool = True) -> float:
    """First time after `after` at which `x` passes `level`, by linear interpolation; NaN if it never does.

    A motion that is beyond the level at the start of the search has passed it there.
    """
    side = (x >= level) if rising else (x <= level)
    start = int(np.searchsorted(t, after, side="left"))
    hits = np.flatnonzero(side[start:])
    if not len(hits):
        return float("nan")
    i = start + int(hits[0])
    if i == 0:
        return float(t[0])
    if side[i - 1]:
        return float(max(after, t[i - 1]))
    passed = t[i - 1] + (level - x[i - 1]) / (x[i] - x[i - 1]) * (t[i] - t[i - 1])
    return float(max(after, passed))


def value_at(t: Floats, x: Floats, when: float) -> float:
    """`x` at a time between the recorded instants; NaN at NaN."""
    return float(np.interp(when, t, x)) if np.isfinite(when) else float("nan")


def peak(t: Floats, x: Floats, start: float, end: float) -> tuple[float, float]:
    """Time and height of the highest value in a span, by the parabola through the top three samples."""
    inside = np.flatnonzero((t >= start) & (t <= end))
    if not len(inside):
        return float("nan"), float("nan")
    i = int(inside[np.argmax(x[inside])])
    if not 0 < i < len(t) - 1:
        return float(t[i]), float(x[i])
    left, top, right = x[i - 1], x[i], x[i + 1]
    bend = left - 2 * top + right
    even = abs((t[i + 1] - t[i]) - (t[i] - t[i - 1])) < 1e-9
    if bend >= 0 or not even or top < max(left, right):
        return float(t[i]), float(top)
    shift = 0.5 * (left - right) / bend
    return float(t[i] + shift * (t[i + 1] - t[i])), float(top - 0.25 * (left - right) * shift)


def spans_above(x: Floats, level: float) -> list[tuple[int, int]]:
    """Runs of samples in which `x` lies above `level`, as (first, last) indices."""
    above = np.concatenate([[False], x > level, [False]])
    edges = np.flatnonzero(np.diff(above.astype(int)))
    return [(int(a), int(b) - 1) for a, b in zip(edges[::2], edges[1::2], strict=True)]


def above_seat(lift: Floats, gap: Floats) -> Floats:
    """Lift at the eye counted from the seat's surface, from the lift along a course and the gap where it begins."""
    return np.asarray(lift - lift[0] + gap[0])
