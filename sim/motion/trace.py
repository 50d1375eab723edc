"""A drive from a recorded trace: smooth pieces through the samples, no more of them than the trace needs."""

from __future__ import annotations

from itertools import pairwise
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.interpolate import PchipInterpolator

from keyaction.sim.motion.drives import FINGER_DAMPING, FINGER_STIFFNESS, Drive, Piece

Floats = NDArray[np.float64]

FAITHFUL = 1e-4
"""Share of a trace's range by which the pieces may miss its samples: 1 um in 10 mm, far below what is measured."""


def drive_from(
    times: ArrayLike,
    positions: ArrayLike | None = None,
    forces: ArrayLike | None = None,
    within: float | None = None,
    stiffness: float = FINGER_STIFFNESS,
    damping: float = FINGER_DAMPING,
) -> Drive:
    """A drive that replays recorded positions of the finger or forces on the key.

    The slopes at the samples are those of the piecewise cubic that adds no extremes of its own (PCHIP: F. N. Fritsch
    and J. Butland, SIAM J. Sci. Stat. Comput. 5, 1984, 300-304, from memory). Cubics with continuous speed then go
    from sample to sample, leaving out samples that they pass within `within` anyhow: the integrator starts anew at
    every piece, which costs time and exactness.

    Parameters
    ----------
    times : (N,) array_like
        Instants of the samples, s, rising; counted from the first, which becomes time 0 of the drive.
    positions : (N,) array_like, optional
        Way of the finger down from the key's surface at rest, m; below 0 it is off the key.
    forces : (N,) array_like, optional
        Force down on the key's front, N. Give either positions or forces.
    within : float, optional
        How far the drive may pass from that curve, m or N; 0.01 % of the trace's range by default. 0 goes through
        every sample; for a noisy trace state the noise.
    stiffness, damping : float
        Of the finger's pad, N/m and s/m, as in `Drive`; only positions need them.

    Returns
    -------
    Drive
        Of kind ``motion`` or ``force``, with the marks ``press`` and ``end``. After the last sample it is over.

    Raises
    ------
    ValueError
        When both or neither are given; when there are fewer than two samples, their number differs from that of the
        times, an array has more than one axis, a sample or time is no finite number, the times do not rise, or
        `within` is below 0.

    Examples
    --------
    >>> import numpy as np
    >>> from keyaction import drives
    >>> t = np.arange(0.0, 0.1001, 1e-4)  # a trace at 10 kHz
    >>> way = 0.005 * (1 - np.cos(2 * np.pi * t / 0.1))  # 10 mm down and up
    >>> drive = drives.drive_from(t, positions=way)
    >>> len(t), len(drive.pieces) < 30
    (1001, True)
    >>> round(drive.pieces[0].way_at(0.0), 6)
    0.0
    """
    if (positions is None) == (forces is None):
        raise ValueError("give either positions or forces")
    name, given = ("positions", positions) if forces is None else ("forces", forces)
    t, x = _checked(times, given, name)
    allowed = FAITHFUL * float(np.ptp(x)) if within is None else float(within)
    if not allowed >= 0:
        raise ValueError(f"within is {allowed:g}; it must be 0 or above")
    with np.errstate(over="ignore"):  # of the reciprocal of a slope near the smallest number: the mean slope is then 0
        curve = PchipInterpolator(t, x)
    slopes = np.asarray(curve.derivative()(t), dtype=float)
    knots = _knots(t, x, curve, slopes, allowed)
    pieces = tuple(_piece(t, x, slopes, i, j, name) for i, j in pairwise(knots))
    marks = (("press", 0.0), ("end", float(t[-1])))
    if name == "forces":
        return Drive("force", pieces, marks=marks)
    return Drive("motion", pieces, stiffness, damping, marks=marks)


def _checked(times: ArrayLike, given: ArrayLike | None, name: str) -> tuple[Floats, Floats]:
    """Times from 0 and samples, or why they cannot be."""
    t, x = (_floats(array, word) for array, word in ((times, "times"), (given, name)))
    if t.shape != x.shape:
        raise ValueError(f"{len(t)} times and {len(x)} {name}: there must be as many of both")
    if len(t) < 2:
        raise ValueError(f"two samples at least are needed; there are {len(t)}")
    back = np.flatnonzero(~(np.diff(t) > 0))
    if len(back):
        i = int(back[0])
        raise ValueError(f"times must rise: sample {i + 1} at {t[i + 1]:g} s follows sample {i} at {t[i]:g} s")
    return t - t[0], x


def _floats(array: Any, name: str) -> Floats:
    found = np.asarray(array, dtype=float)
    if found.ndim != 1:
        raise ValueError(f"{name} must be an array with one axis; it has {found.ndim}")
    wrong = np.flatnonzero(~np.isfinite(found))
    if len(wrong):
        raise ValueError(f"{name}: sample {int(wrong[0])} is {found[wrong[0]]}, no finite number")
    return found


def _cubic(t: Floats, x: Floats, slopes: Floats, i: int, j: int) -> tuple[float, float, float, float]:
    """Coefficients of the cubic with the values and slopes of samples i and j, in the time since i."""
    h = t[j] - t[i]
    rise = (x[j] - x[i]) / h
    second = (3 * rise - 2 * slopes[i] - slopes[j]) / h
    third = (slopes[i] + slopes[j] - 2 * rise) / h**2
    return float(x[i]), float(slopes[i]), float(second), float(third)


def _knots(t: Floats, x: Floats, curve: PchipInterpolator, slopes: Floats, allowed: float) -> list[int]:
    """Samples at which pieces meet: an interval is cut at its worst sample until the curve is nowhere missed by more.

    Two cubics that agree at the ends of an interval and at its quarters agree.
    """
    fine = np.append((t[:-1, None] + np.diff(t)[:, None] * np.arange(4) / 4).ravel(), t[-1])
    meant = np.asarray(curve(fine), dtype=float)
    meant[::4] = x
    kept, waiting = [0], [(0, len(t) - 1)]
    while waiting:
        i, j = waiting.pop()
        a, b, c, d = _cubic(t, x, slopes, i, j)
        inner = slice(4 * i + 1, 4 * j)
        s = fine[inner] - t[i]
        missed = np.abs(a + s * (b + s * (c + s * d)) - meant[inner])
        if j == i + 1 or np.max(missed) <= allowed:
            kept.append(j)
            continue
        worst = i + round((int(np.argmax(missed)) + 1) / 4)
        middle = min(max(worst, i + 1), j - 1)
        waiting += [(middle, j), (i, middle)]
    return kept


def _piece(t: Floats, x: Floats, slopes: Floats, i: int, j: int, name: str) -> Piece:
    terms = _cubic(t, x, slopes, i, j)
    if name == "forces":
        return Piece(float(t[i]), float(t[j]), force=terms)
    return Piece(float(t[i]), float(t[j]), way=terms)
