"""Whether figures of notes are within what is to be kept, before the work, after it, and as they were read."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from keyaction.models.readings.figures import BALANCE, NAMES
from keyaction.sim.motion.integrate import Floats
from keyaction.sim.regulating.fewest import Flags
from keyaction.sim.regulating.plan import Table

KEPT = ("level", "dip", "play", "lift", "pluck", "up")
"""Figures that are held against what is to be kept."""

AS_DRAWN = 2.0 * BALANCE
"""N that an up-weight may be less than drawn where the drawing has hardly what is wanted: twice what a balance errs."""


@dataclass(frozen=True)
class Limits:
    """What figures may be, (n, `KEPT`), SI."""

    low: Floats
    high: Floats

    def within(self, figures: Floats, slack: Floats | float = 0.0) -> Flags:
        """Whether figures (n, all) are within, (n, `KEPT`); False where there is none."""
        chosen = figures[:, [NAMES.index(name) for name in KEPT]]
        return np.asarray((chosen >= self.low - slack) & (chosen <= self.high + slack))

    def off(self, figures: Floats) -> Floats:
        """How far figures (n, all) are outside, (n, `KEPT`), SI; 0 within, NaN where there is none."""
        chosen = figures[:, [NAMES.index(name) for name in KEPT]]
        return np.asarray(np.maximum(np.maximum(self.low - chosen, chosen - self.high), 0.0) + 0.0 * chosen)


def limits(table: Table, springs_off: float = 0.0, seal: float = 0.0) -> Limits:
    """What is to be kept at every note.

    Parameters
    ----------
    table : Table
    springs_off, seal : float
        Shares by which all springs, and the wind on all shut pallets, are off together and are left: plucks are then
        held against those.
    """
    drawn, aims = table.drawn, table.aims
    column = {name: drawn[:, NAMES.index(name)] for name in KEPT}
    low_play, high_play = table.play_band()
    pluck = column["pluck"] + springs_off * table.rise("spring", "pluck") + seal * table.rise("seal", "pluck")
    ends = {
        "level": (np.full(len(drawn), -aims.level), np.full(len(drawn), aims.level)),
        "dip": (column["dip"] - aims.dip, column["dip"] + aims.dip),
        "play": (low_play, high_play),
        "lift": (aims.lift * column["lift"], np.full(len(drawn), np.inf)),
        "pluck": ((1.0 - aims.even) * pluck, (1.0 + aims.even) * pluck),
        "up": (np.fmin(aims.up, column["up"] - AS_DRAWN), np.full(len(drawn), np.inf)),
    }
    low, high = (np.stack([ends[name][k] for name in KEPT], axis=1) for k in range(2))
    return Limits(low, high)
