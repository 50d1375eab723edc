"""How much looser a run may be made so that its note is well all year: closed forms over the figures of the year."""

from __future__ import annotations

import math

import numpy as np

from keyaction.sim.motion.integrate import Floats
from keyaction.sim.seasons.advice import Limits, Window
from keyaction.sim.seasons.season import NoteSeason

_NO_LIFT = 0.01e-3
"""m below which a pallet has not opened."""


def window(one: NoteSeason, eye: float, limits: Limits) -> Window:
    """The window of one note.

    Parameters
    ----------
    one : NoteSeason
    eye : float
        Way of the pallet's eye per way of the key front.
    limits : Limits

    Returns
    -------
    Window
        By closed forms: x looser at the key gives x more margin on every day, x more play on the slackest day (at
        most x, where there is none yet), and eye times x less lift, as the bottom felt stays where it is. Exact while
        the run is slack there and arms stand square; presses confirm what is advised. A hung key follows its run down
        and gains no play: its lift alone bounds it. Where a note is mute the same closed form goes on below no lift.
    """
    margin, play = figure(one, "margin"), figure(one, "lost_motion")
    least, regulated = limits.keep - _least(margin), as_regulated(one, "steady_lift")
    bounds = {"lift": (_least(_lifts(one, eye, regulated)) - limits.lift * regulated) / eye}
    if one.balanced:
        bounds["play"] = limits.play(True)[1] - _most(play)
    known = {name: bound for name, bound in bounds.items() if math.isfinite(bound)}
    if not known:
        return Window(least, math.inf, "")
    by = min(known, key=lambda name: known[name])
    return Window(least, known[by], by)


def mutes(one: NoteSeason) -> np.ndarray:
    """When the pressed key does not open its pallet, though that rests shut, (D,) of bool."""
    lift = one.figures.get("steady_lift")
    told = one.mute if len(one.mute) else np.zeros(len(one.stretch), dtype=bool)
    still = told if lift is None else told | ~(lift > _NO_LIFT)
    return np.asarray(still & ~(figure(one, "margin") < 0.0))


def _lifts(one: NoteSeason, eye: float, regulated: float) -> Floats:
    """Lift over the year, m, where the note is mute by how much slacker it is than as regulated: it may be below 0."""
    by_path = np.minimum(regulated + eye * figure(one, "tightening"), 0.0)
    return np.where(mutes(one), by_path, figure(one, "steady_lift"))


def figure(one: NoteSeason, name: str) -> Floats:
    """A figure of a note over the year, (D,); NaN where the season does not hold it."""
    return np.asarray(one.figures.get(name, np.full(len(one.stretch), np.nan)), dtype=float)


def as_regulated(one: NoteSeason, name: str) -> float:
    """A figure as on the day of regulation, between the instants of the year by straight lines; NaN if there is none.

    Of a year that does not come so far the nearest that it has.
    """
    values, moved = figure(one, name), figure(one, "tightening")
    known = np.flatnonzero(np.isfinite(values) & np.isfinite(moved))
    if not len(known):
        return math.nan
    order = known[np.argsort(moved[known])]
    return float(np.interp(0.0, moved[order], values[order]))


def _least(values: Floats) -> float:
    known = values[~np.isnan(values)]
    return float(known.min()) if len(known) else math.nan


def _most(values: Floats) -> float:
    known = values[~np.isnan(values)]
    return float(known.max()) if len(known) else math.nan
