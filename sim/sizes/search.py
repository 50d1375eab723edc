"""The shortest opening that feeds a note, by the closed form, with the lift that a press of each length gives."""

from __future__ import annotations

import math
from dataclasses import dataclass

from scipy.optimize import brentq

from keyaction.sim.sizes.shape import Shape
from keyaction.sim.sizes.sized import EYE, FEEDS, WIDTH

STEP = 1e-4
"""m: lengths are rounded up to whole tenths of a millimetre; no bench works closer (common practice)."""
MOST = 6
"""Presses of one opening after which its length is taken as it is."""
_BELOW = 1 - 1e-9


@dataclass(frozen=True)
class Length:
    """A length of opening (m), and what stands against a shorter one."""

    length: float
    limit: str


def kept(shape: Shape, inlet: float, travel: float) -> Length | None:
    """The shortest opening with eye and spring in their places; None where even the longest passes too little.

    Parameters
    ----------
    shape : Shape
    inlet : float
        Effective area that is needed, m2.
    travel : float
        How far the eye is pulled from rest, m.
    """
    low = shape.shortest_kept
    limit = EYE if low > shape.shortest * (1 + 1e-9) else WIDTH
    return _shortest(shape, inlet, travel, (low, shape.longest), limit)


def moved(shape: Shape, inlet: float, travel: float) -> Length | None:
    """The shortest opening with eye and spring further back in proportion; None where there is no shorter one."""
    high = shape.shortest_kept * _BELOW
    if high <= shape.shortest:
        return None
    return _shortest(shape, inlet, travel, (shape.shortest, high), WIDTH)


def _shortest(shape: Shape, inlet: float, travel: float, ends: tuple[float, float], limit: str) -> Length | None:
    def over(length: float) -> float:
        return shape.passed(length, travel).inlet - inlet

    if not (math.isfinite(inlet) and math.isfinite(travel)) or ends[0] > ends[1]:
        return None
    if over(ends[0]) >= 0.0:
        return Length(ends[0], limit)
    if over(ends[1]) < 0.0:
        return None
    exact = float(brentq(over, *ends, xtol=STEP / 1000))
    return Length(min(math.ceil(exact / STEP - 1e-6) * STEP, ends[1]), FEEDS)
