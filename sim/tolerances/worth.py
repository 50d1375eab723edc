"""Which tolerance is worth paying for: what half of it and twice it do to the steps between neighbours."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from scipy.optimize import brentq

from keyaction.sim.motion.integrate import Floats
from keyaction.sim.tolerances.sensitivity import Sensitivity
from keyaction.sim.tolerances.steps import Drawn, Lineal, Scatter, draw_steps

CLOSER = 6
"""Tolerances of which half and twice are drawn as well."""
UNFELT = 0.001
"""Share of all steps: a tolerance that adds less when it is twice as wide is not felt in them."""
SPARED = 0.05
"""Share by which the standard deviation of any other figure may grow with it."""
WIDEST = 100.0
"""Factor at which the search for how wide a tolerance may be ends."""


@dataclass(frozen=True)
class Worth:
    """What one tolerance does to the steps.

    Attributes
    ----------
    number : int
        Of the tolerance.
    name : str
    part : float
        Share of the variance of all steps that it makes, to first order.
    halved, doubled : float
        Change of the share of steps beyond the limit with half the tolerance and with twice it, by the closed form.
    halved_drawn, doubled_drawn : Scatter or None
        The same as drawn; None where it was not.
    """

    number: int
    name: str
    part: float
    halved: float
    doubled: float
    halved_drawn: Scatter | None = None
    doubled_drawn: Scatter | None = None


@dataclass(frozen=True)
class Worths:
    """All tolerances, those first whose half saves most; with them the draws.

    Attributes
    ----------
    line : Lineal
    share : float
        Of steps beyond the limit, by the closed form; NaN without neighbours.
    ranked : tuple of Worth
    drawn : Drawn or None
    relaxed : tuple of int
        Tolerances that may be twice as wide unfelt: neither these steps nor any other figure show it.
    relaxed_share : float
        Of steps beyond the limit with all of those twice as wide.
    """

    line: Lineal
    share: float
    ranked: tuple[Worth, ...]
    drawn: Drawn | None
    relaxed: tuple[int, ...]
    relaxed_share: float


def worths(found: Sensitivity, line: Lineal, draws: int, seed: int = 1) -> Worths:
    """Rank the tolerances.

    Parameters
    ----------
    found : Sensitivity
    line : Lineal
        The figure whose steps are looked at.
    draws, seed : int
        Of the straight line.
    """
    count = len(found.doubts)
    if not len(line.pairs):
        return Worths(line, math.nan, (), None, (), math.nan)
    now, means = line.share(), np.mean(line.variances, axis=0)
    total = float(np.sum(means))
    halves, twice = ([line.share(_one(count, k, factor)) - now for k in range(count)] for factor in (0.5, 2.0))
    order = np.lexsort((-means, np.round(halves, 9))).tolist()
    closer = [(k, factor) for k in order[:CLOSER] if means[k] > 0.0 for factor in (0.5, 2.0)]
    drawn = draw_steps(line, draws, seed, closer)
    changed = drawn.changed if drawn else {}
    ranked = tuple(
        Worth(
            k,
            found.doubts[k].name,
            float(means[k]) / total if total else 0.0,
            halves[k],
            twice[k],
            changed.get((k, 0.5)),
            changed.get((k, 2.0)),
        )
        for k in order
    )
    relaxed = tuple(k for k in order if abs(twice[k]) < UNFELT and _spared(found, k))
    factors = np.ones(count)
    factors[list(relaxed)] = 2.0
    return Worths(line, now, ranked, drawn, relaxed, line.share(factors))


def _one(count: int, number: int, factor: float) -> Floats:
    factors = np.ones(count)
    factors[number] = factor
    return factors


def _spared(found: Sensitivity, number: int) -> bool:
    """Whether no figure of any note scatters noticeably more with a tolerance twice as wide."""
    squares = np.nan_to_num(found.common) ** 2 + np.nan_to_num(found.own) ** 2
    total = np.sum(squares, axis=1)
    return bool(np.all(3.0 * squares[:, number] <= ((1.0 + SPARED) ** 2 - 1.0) * total))


@dataclass(frozen=True)
class Room:
    """How wide one tolerance may be.

    Attributes
    ----------
    number : int
        Of the tolerance; -1 of all together.
    allow : float
        Share of steps that may be beyond the limit.
    now, without : float
        The share as it is, and with none of the tolerance.
    factor : float
        Times the tolerance at which the share is what is allowed; NaN where it is more even without the tolerance,
        infinite where it is less at `WIDEST` times it.
    drawn : Scatter or None
        At that factor, drawn.
    """

    number: int
    allow: float
    now: float
    without: float
    factor: float
    drawn: Scatter | None = None


def room(line: Lineal, number: int, allow: float, draws: int = 0, seed: int = 1) -> Room:
    """Find how wide a tolerance may be before more than a share of the steps is beyond the limit.

    Parameters
    ----------
    line : Lineal
        With neighbours.
    number : int
        The tolerance; -1 for all together.
    allow : float
    draws, seed : int
        With which the answer is drawn; 0 for none.
    """
    count = line.variances.shape[1]

    def share(factor: float) -> float:
        return line.share(factor if number < 0 else _one(count, number, factor))

    now, without = share(1.0), share(0.0)
    if without > allow:
        return Room(number, allow, now, without, math.nan)
    if share(WIDEST) <= allow:
        return Room(number, allow, now, without, math.inf)
    factor = float(brentq(lambda one: share(one) - allow, 0.0, WIDEST, xtol=1e-4))
    if not draws or number < 0:
        return Room(number, allow, now, without, factor)
    made = draw_steps(line, draws, seed, [(number, factor)])
    return Room(number, allow, now, without, factor, made.changed[number, factor] if made else None)
