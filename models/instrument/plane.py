"""The side view: vectors in (back, up), and the line that touches two circles."""

from __future__ import annotations

import math

Plane = tuple[float, float]
"""Back and up, m."""


def added(a: Plane, b: Plane, times: float = 1.0) -> Plane:
    """``a + times b``."""
    return a[0] + times * b[0], a[1] + times * b[1]


def way(a: Plane, b: Plane) -> Plane:
    """From `a` to `b`."""
    return b[0] - a[0], b[1] - a[1]


def quarter(v: Plane) -> Plane:
    """`v` after a quarter turn from back to up: what lies to the left of one who walks along it."""
    return -v[1], v[0]


def cross(a: Plane, b: Plane) -> float:
    """Above zero where `b` turns to the left of `a`."""
    return a[0] * b[1] - a[1] * b[0]


def dot(a: Plane, b: Plane) -> float:
    """Of two vectors."""
    return a[0] * b[0] + a[1] * b[1]


def turn(a: Plane, b: Plane) -> float:
    """Angle from `a` to `b`, rad; above zero to the left."""
    return math.atan2(cross(a, b), dot(a, b))


def tangent(near: Plane, far: Plane, aside: float) -> tuple[Plane, float] | None:
    """The rod between two arms that stand square to it.

    With e along the rod and Je a quarter turn from it, its ends are ``near + p Je`` and ``far + q Je``. Their
    difference is L e, so far - near = L e - (q - p) Je, of which the square is L^2 + (q - p)^2.

    Parameters
    ----------
    near, far : Plane
        Axes of the arms, or ends that stand fast.
    aside : float
        q - p, m: how much further to the left the arm at `far` holds its end.

    Returns
    -------
    (Plane, float) or None
        Unit vector along the rod and its length, m; None where the axes stand no further apart than `aside`.
    """
    span = way(near, far)
    apart = math.hypot(*span)
    if apart <= abs(aside) * (1 + 1e-12):
        return None
    length = math.sqrt((apart - aside) * (apart + aside))
    left = quarter(span)
    return ((length * span[0] + aside * left[0]) / apart**2, (length * span[1] + aside * left[1]) / apart**2), length
