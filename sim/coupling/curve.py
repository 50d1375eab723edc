"""Peak and lift of one note over the play of a coupler: what there is to choose from."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from keyaction.cases.instrument.coupled import joined_note
from keyaction.sim.coupling.setting import WIDEST, Bench
from keyaction.sim.coupling.trees import part_of
from keyaction.sim.coupling.tune import Regulated
from keyaction.sim.figures.play import NotPlayed
from keyaction.sim.motion.integrate import Floats
from keyaction.sim.motion.note import with_couplers_set

POINTS = 41
"""Plays that are pressed for a curve."""
BEYOND = 1.6
"""Times the largest play that the lift allows, up to which the curve goes."""


@dataclass(frozen=True)
class Curve:
    """Highest peak (N) and lift (m) of the driven pallet over the play (m) of a coupler; NaN where nothing was found.

    `marks` are plays by the words for them; `lift_kept` is the least lift that is asked for, m.
    """

    name: str
    division: str
    note: int
    pallet: str
    plays: Floats
    peaks: Floats
    lifts: Floats
    lift_kept: float
    marks: dict[str, float]


def curve(regulated: Regulated, name: str, note: int) -> Curve:
    """Press a key over the play of a coupler, those that were set before it drawn and set.

    Parameters
    ----------
    regulated : Regulated
    name : str
        The coupler.
    note : int
        One at which it was set.
    """
    one = next(each for each in regulated.found if (each.name, each.note) == (name, note))
    order = regulated.order[: regulated.order.index(name) + 1]
    drawn = [each for each in regulated.instrument.couplers if each in order]
    coupled = joined_note(regulated.regulated, one.division, note, drawn)
    part = part_of(drawn, coupled, regulated.instrument.couplers[name])
    bench = Bench(with_couplers_set(coupled.train()), part, regulated.instrument.divisions[one.division].strokes)
    marks = {"as stated": one.stated.play} if one.stated else {}
    marks |= {"to set": one.chosen.play} if one.chosen else {}
    most = one.split.widest if one.split and math.isfinite(one.split.widest) else 0.0
    end = min(max(BEYOND * most, 1.2 * max(marks.values(), default=0.0), 1e-3), WIDEST)
    plays = np.linspace(0.0, end, POINTS)
    found = np.array([_pressed(bench, float(play), one.pallet) for play in plays])
    kept = regulated.wishes.lift(one.own[one.pallet]) if one.pallet in one.own else math.nan
    return Curve(name, one.division, note, one.pallet, plays, found[:, 0], found[:, 1], kept, marks)


def _pressed(bench: Bench, play: float, pallet: str) -> tuple[float, float]:
    try:
        setting = bench.at(play)
    except NotPlayed:
        return math.nan, math.nan
    return setting.peak, setting.lifts[pallet]
