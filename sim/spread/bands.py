"""Feel curves of a note in all draws, pluck on pluck; quantiles of draws, and how far off they may be."""

from __future__ import annotations

import math

import numpy as np

from keyaction.cases.action.strokes import Strokes
from keyaction.models.train.train import Train, build_train
from keyaction.sim.figures.play import NotPlayed, press_note
from keyaction.sim.lanes.presses import DesignModel
from keyaction.sim.motion.integrate import Floats
from keyaction.sim.spread.drawing import Draws
from keyaction.sim.statics.press import Course, StaticPress

_NEAR = 2e-5
"""m: a course begins and ends with the finger just on the key, this near to where it rests."""


def curves(draws: Draws, travel: Floats, start: int, stop: int) -> Floats:
    """Key forces of some draws at the one note that they are of, each at its own places on its way.

    Parameters
    ----------
    draws : Draws
        At one note.
    travel : (m,) array
        Key travels of the case itself, m. Every draw is asked where it is as far on its way from rest to the pluck,
        from there to the bottom felt, and on to the end: at equal travels some have plucked and others have not, and
        their quantiles would be those of the snap.
    start, stop : int
        Which draws.

    Returns
    -------
    (stop - start, 2, m) array
        N, down and up; NaN beyond a draw's own way, and where it cannot be pressed.
    """
    found = np.full((stop - start, 2, len(travel)), np.nan)
    with np.errstate(all="ignore"):
        own = _pressed(build_train(draws.recipe.parts[0], draws.recipe.library), draws.recipe.strokes)
        for row, number in enumerate(range(start, stop)):
            design = draws.design(number)
            (train,) = design.trains
            press = None if isinstance(train, str) else _pressed(train, design.strokes)
            if press is None:
                continue
            for way in (0, 1):
                course = (press.down, press.up)[way]
                places = _places(travel, (own.down, own.up)[way], course) if own else travel
                found[row, way] = _along(course, places)
    return found


def _pressed(train: Train, strokes: Strokes) -> StaticPress | None:
    try:
        return press_note(DesignModel(train), strokes).press
    except NotPlayed:
        return None


def _marks(course: Course) -> list[float]:
    """Key travels at rest, where the pallet leaves or meets its seat, at the bottom felt and at the end, m."""
    return [0.0, *(course.passing(name, 0.0) for name in ("seat_gap", course.balance.bottom)), _end(course)]


def _end(course: Course) -> float:
    return float(course.travel[course.met].max())


def _places(travel: Floats, case: Course, course: Course) -> Floats:
    """Where a draw is as far on its way as the case is at these travels, m; there itself where marks are missing."""
    marks, own = np.array(_marks(case)), np.array(_marks(course))
    there = np.isfinite(marks) & np.isfinite(own)
    marks, own = marks[there], own[there]
    ordered = np.all(np.diff(marks) > 0.0) and np.all(np.diff(own) > 0.0)
    return np.asarray(np.interp(travel, marks, own)) if ordered and there[1] else travel


def _along(course: Course, travel: Floats) -> Floats:
    ways = course.travel[course.met]
    inside = (travel >= ways.min() - _NEAR) & (travel <= ways.max() + _NEAR)
    return np.where(inside, course.force_at(travel), np.nan)


def quantiles(values: Floats, shares: Floats) -> Floats:
    """Values below which each share of the draws lies, of those that have one.

    Parameters
    ----------
    values : (draws, ...) array
    shares : (q,) array

    Returns
    -------
    (q, ...) array
        NaN where less than half of the draws have a value.
    """
    few = np.mean(np.isfinite(values), axis=0) < 0.5
    kept = np.where(few, 0.0, values)
    return np.where(few, np.nan, np.nanquantile(kept, shares, axis=0))


def quantile_errors(values: Floats, shares: Floats) -> Floats:
    """Standard errors of those quantiles, of draws that are few.

    J. S. Maritz and R. G. Jarrett, "A note on estimating the variance of the sample median", J. Am. Stat. Assoc. 73
    (1978), for any share, from memory: the quantile is a mean of the sorted draws with weights of a beta distribution.

    Parameters
    ----------
    values : (draws, n) array
    shares : (q,) array

    Returns
    -------
    (q, n) array
        NaN where `quantiles` is, and of fewer than two draws.
    """
    from scipy.special import betainc  # here, because a result is shown without it

    found = np.full((len(shares), values.shape[1]), np.nan)
    for column, one in enumerate(values.T):
        known = np.sort(one[np.isfinite(one)])
        count = len(known)
        if count < 2 or count < len(one) / 2:
            continue
        for k, share in enumerate(shares):
            rank = min(max(int(share * count + 0.5), 1), count)
            upto = betainc(rank, count - rank + 1, np.arange(count + 1) / count)
            mean, square = (float(np.diff(upto) @ known**power) for power in (1, 2))
            found[k, column] = math.sqrt(max(square - mean**2, 0.0))
    return found
