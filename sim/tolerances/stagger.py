"""What is left of a stagger: plucks that are set apart, when each comes where its tolerances let it.

Two notes of different divisions share neither jig nor batch here: all that deviates is each note's own. Once a division
is regulated note by note what all its notes share has been taken out, and only each note's own part is left.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from scipy.special import ndtr, ndtri

from keyaction.sim.motion.integrate import Floats
from keyaction.sim.tolerances.sensitivity import Sensitivity

STAGGER = 0.4e-3
"""m of key travel by which plucks are set apart unless it is said (common practice: 0.3 to 0.5 mm)."""
SURE = 0.95
"""Share of pairs that are to keep their order."""


@dataclass(frozen=True)
class Kept:
    """What is left of a stagger between two notes like one, everything normal.

    Attributes
    ----------
    sd : float
        Standard deviation of the distance of both plucks, m.
    order, half : float
        Probability that they come in the order that is wanted, and that at least half of the distance is left.
    needed, needed_half : float
        Staggers at which each is `SURE`, m.
    """

    sd: float
    order: float
    half: float
    needed: float
    needed_half: float


@dataclass(frozen=True)
class PluckPoint:
    """Where one note plucks, and how far that scatters, m.

    Attributes
    ----------
    note : int
    point : float
        Key travel.
    common, own : float
        Standard deviations.
    built, regulated : Kept
        Beside a note of another division that scatters alike: all parts, and each note's own alone.
    """

    note: int
    point: float
    common: float
    own: float
    built: Kept
    regulated: Kept


def kept(stagger: float, sd: float) -> Kept:
    """What is left of a stagger (m) whose distance scatters by `sd` (m)."""
    if sd <= 0.0:
        return Kept(0.0, 1.0, 1.0, 0.0, 0.0)
    needed = float(ndtri(SURE)) * sd
    return Kept(sd, float(ndtr(stagger / sd)), float(ndtr(stagger / 2 / sd)), needed, 2 * needed)


def pluck_points(found: Sensitivity, stagger: float, shares: Mapping[str, float] | None = None) -> list[PluckPoint]:
    """Every note that plucks, beside a like one of another division.

    Parameters
    ----------
    found : Sensitivity
    stagger : float
        m.
    shares : mapping of str to float, optional
        Factors on tolerances by name.
    """
    points, common, own = found.of("point")
    factors = np.array([(shares or {}).get(one.name, 1.0) for one in found.doubts])
    whole = [np.sqrt(np.nansum((part * factors) ** 2, axis=1)) for part in (common, own)]
    return [
        PluckPoint(
            note,
            float(point),
            float(shared),
            float(alone),
            kept(stagger, math.sqrt(2.0 * (shared**2 + alone**2))),
            kept(stagger, math.sqrt(2.0) * float(alone)),
        )
        for note, point, shared, alone in zip(found.notes, points, *whole, strict=True)
        if math.isfinite(point)
    ]


def origins(found: Sensitivity, figure: str = "point") -> list[tuple[int, float, float]]:
    """Tolerances by what they add to a figure: number, common and own standard deviation, rms over the notes."""
    _, common, own = found.of(figure)
    there = found.has(figure)
    if not np.any(there):
        return []
    sizes = [np.sqrt(np.mean(part[there] ** 2, axis=0)) for part in (common, own)]
    order = np.argsort(-(sizes[0] ** 2 + sizes[1] ** 2), kind="stable")
    return [(int(k), float(sizes[0][k]), float(sizes[1][k])) for k in order]


def together(points: Sequence[PluckPoint]) -> tuple[float, float, float, float]:
    """Means over all notes: order kept and half kept, as built and as regulated."""
    rows: Floats = np.array(
        [(one.built.order, one.built.half, one.regulated.order, one.regulated.half) for one in points]
    )
    means = rows.mean(axis=0) if len(rows) else np.full(4, np.nan)
    return float(means[0]), float(means[1]), float(means[2]), float(means[3])
