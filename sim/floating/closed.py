"""Closed forms of a floating rail: springs that only pull, small ways, every rod taut."""

from __future__ import annotations

import numpy as np

from keyaction.sim.floating.equilibrium import Held
from keyaction.sim.motion.integrate import Floats


def rail_stiffness(held: Held, stretch: Floats, place: float = 0.0) -> float:
    """Force that moves the rail by a metre, N/m: sum(k g^2) of the rods that are taut, and what the load falls.

    Parameters
    ----------
    held : Held
    stretch : (n,) array
        Of each note before the rail moves, m.
    place : float
        Of the rail, m.
    """
    return float(np.sum(_slopes(held, stretch, place) * held.gains)) + held.rail.rate


def _slopes(held: Held, stretch: Floats, place: float) -> Floats:
    """k g of every note, N per m of its stretch."""
    return np.array([float(c.slope(s + g * place)) for c, g, s in zip(held.curves, held.gains, stretch, strict=True)])


def weighted_mean(held: Held, base: Floats, tighter: Floats) -> Floats:
    """Where the rail goes as its notes are drawn tighter, (D,), m: -sum(k g t) / (sum(k g^2) + rate).

    Valid while every rod stays taut, the rail between its stops, stiffnesses as they are at `base`; no friction.

    Parameters
    ----------
    held : Held
    base : (n,) array
        Stretch of each note at which all together carry the load with the rail at its centre, m.
    tighter : (n, D) array
        What is added to it, m.
    """
    return np.asarray(-(_slopes(held, base, 0.0) @ tighter) / rail_stiffness(held, base))


def tightest_rod(held: Held, stretch: Floats) -> Floats:
    """Where the rail goes under a vanishing load, (D,), m: to the first place where a rod is taut, between the stops.

    Parameters
    ----------
    held : Held
    stretch : (n, D) array
        Of each note before the rail moves, m.
    """
    on = held.gains > 0.0
    places = (held.taut[on, None] - stretch[on]) / held.gains[on, None]
    return np.asarray(np.clip(np.min(places, axis=0), -held.rail.behind, held.rail.ahead))


def dead_band(held: Held, stretch: Floats, place: float = 0.0) -> float:
    """Half the way between the places in which friction holds the rail, m: friction / (sum(k g^2) + rate).

    Valid while every rod stays taut over it; infinite where no rod is taut. `Held.band` has it from the curves.
    """
    stiffness = rail_stiffness(held, stretch, place)
    if held.rail.friction == 0.0:
        return 0.0
    return held.rail.friction / stiffness if stiffness > 0.0 else float("inf")


def shift_under(held: Held, stretch: Floats, place: float, over: float) -> float:
    """How far the rail goes once its rods pull so much (N) more than its load, m; below 0 against the load.

    -(over - friction) / (sum(k g^2) + rate), nought within friction; valid while the rods stay taut.
    """
    friction = held.rail.friction
    excess = over - min(max(over, -friction), friction)
    if excess == 0.0:
        return 0.0
    stiffness = rail_stiffness(held, stretch, place)
    return -excess / stiffness if stiffness > 0.0 else float(-np.sign(excess) * np.inf)
