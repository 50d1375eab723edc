"""Moisture in a plane sheet by the law of diffusion itself: what the first-order law of `lag` is held against.

J. Crank, The Mathematics of Diffusion, 2nd ed., 1975, ch. 4 (from memory, its series summed here): a sheet of thickness
L, both faces open, whose faces are at rest with the air at once, or behind a film. Sizes without dimension: D t/L² for
time, and Biot's number L/(2 D R) for a film of resistance R (infinite without one).
"""

from __future__ import annotations

import cmath
import math
from functools import lru_cache

_TERMS = 400


def taken_up(fourier: float, biot: float = math.inf) -> float:
    """Share of a step that the mean of the sheet has made.

    Parameters
    ----------
    fourier : float
        D t/L², above 0; good to 1e-9 from 1e-5 on without a film.
    biot : float
        L/(2 D R) of the films.

    Returns
    -------
    float
        1 - sum of 2 B² exp(-4 b² F) / (b² (b² + B² + B)) over the roots of b tan b = B; without a film b are the odd
        multiples of a right angle.
    """
    left = 0.0
    for root in _roots(biot):
        weight = 2 / root**2 if math.isinf(biot) else 2 / (root**2 * (1 + 1 / biot + (root / biot) ** 2))
        left += weight * math.exp(-4 * root**2 * fourier)
    return 1 - left


@lru_cache(maxsize=16)
def _roots(biot: float) -> tuple[float, ...]:
    """The first roots of b tan b = B."""
    return tuple(_root(n, biot) for n in range(_TERMS))


def _root(n: int, biot: float) -> float:
    """The n-th of them, between n pi and a right angle more, by halving."""
    low, high = n * math.pi, (n + 0.5) * math.pi
    if math.isinf(biot):
        return high
    for _ in range(60):
        middle = (low + high) / 2
        if middle * math.sin(middle - n * math.pi) < biot * math.cos(middle - n * math.pi):
            low = middle
        else:
            high = middle
    return (low + high) / 2


def time_to(share: float) -> float:
    """D t/L² at which the mean of a sheet without film has made so much of a step, by halving; 0.05 to 0.999."""
    low, high = 0.0, 1.0
    for _ in range(60):
        middle = (low + high) / 2
        low, high = (middle, high) if taken_up(middle) < share else (low, middle)
    return (low + high) / 2


def wave_answer(thickness: float, period: float, diffusion: float, resistance: float = 0.0) -> tuple[float, float]:
    """How the mean of a sheet follows a steady wave of the air.

    Parameters
    ----------
    thickness : float
        m.
    period : float
        s.
    diffusion : float
        m2/s.
    resistance : float
        Of the film on each face, s/m.

    Returns
    -------
    swing : float
        Over that of the air.
    behind : float
        s.
    """
    turns = 2 * math.pi / period
    z = thickness / 2 * cmath.sqrt(1j * turns / diffusion)
    film = 2 * diffusion * resistance / thickness
    answer = cmath.tanh(z) / z / (1 + film * z * cmath.tanh(z))
    return abs(answer), -cmath.phase(answer) / turns
