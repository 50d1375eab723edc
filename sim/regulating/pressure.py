"""What readings say of the pressure in the box: whether they may say anything, and whether it is to be set."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from keyaction.models.readings.figures import BY_NAME, NAMES
from keyaction.models.readings.readings import Readings
from keyaction.sim.measuring.noticed import NEARLY_ALL
from keyaction.sim.regulating.cause import Cause
from keyaction.sim.regulating.fewest import FEW, enough
from keyaction.sim.regulating.state import State

ALLOWED = (50.0, 10e3)
"""Pa that a box can stand at: what the head of a sheet may say."""


@dataclass(frozen=True)
class Wind:
    """What the readings say of the wind.

    Attributes
    ----------
    exchanged : bool
        Weights stand under the other state of the wind: none of them is believed.
    shift : float
        Share by which the wind on all shut pallets is off together.
    contradicts : bool
        The pressure is written on the sheet, and the plucks want another.
    supposed : bool
        It is not written down, and the plucks want another than the case's.
    sure : bool
        Of what is supposed: whether it is sound enough to be set by.
    """

    exchanged: bool = False
    shift: float = 0.0
    contradicts: bool = False
    supposed: bool = False
    sure: bool = False

    @property
    def measure(self) -> bool:
        """Whether the pressure is to be measured before anything is said of a step."""
        return self.contradicts or (self.supposed and not self.sure) or self.exchanged


def without_weights(readings: Readings) -> Readings:
    """The sheet without what was read with the balance."""
    return replace(readings, rows=tuple(one for one in readings.rows if BY_NAME[one.figure].tool != "balance"))


def nearly_all(state: State, found: Sequence[Cause]) -> bool:
    """Whether the plucks of nearly all notes stand out: one thing is wrong with the wind, not so many notes."""
    plucked = np.isfinite(state.read[:, NAMES.index("pluck")])
    odd = {one.note for one in found if one.kind == "seal" or (one.kind == "contradiction" and "pluck" in one.said)}
    return len(odd) >= FEW and len(odd) >= NEARLY_ALL * plucked.sum()


def wind_of(readings: Readings, shift: float, wanted: float, read: int, division: int, odd: bool = False) -> Wind:
    """What is made of a shift that all shut pallets share.

    Parameters
    ----------
    readings : Readings
    shift : float
        Share by which the wind on them is off together, 0 where they share none.
    wanted : float
        Pressure of the case, Pa.
    read, division : int
        Notes of which a pluck was read, and all of the division.
    odd : bool
        Whether nearly all plucks stand out beyond what any shift explains.
    """
    if not shift and not odd:
        return Wind()
    if math.isfinite(readings.head.pressure):
        return Wind(shift=shift, contradicts=True)
    off = any(name.endswith("_off") for name in readings.figures)
    inside = ALLOWED[0] <= wanted * (1.0 + shift) <= ALLOWED[1] and not odd
    return Wind(shift=shift, supposed=True, sure=off and inside and enough(read, division))
