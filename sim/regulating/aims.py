"""What a regulated action is to keep: tolerances of level, dip, play, pluck, up-weight and lift."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from keyaction.models.units.names import STANDARD_GRAVITY
from keyaction.sim.seasons.advice import THREAD

STAGES = (
    "pressure",
    "pallets seat",
    "springs",
    "pull-downs",
    "rollers",
    "rail",
    "level",
    "dip",
    "pluck point",
    "couplers",
    "pedal",
    "recheck",
)
"""The trade's order of regulation (common practice)."""
SINGLE = 4
"""Parts of a turn that a nut is turned by: quarter turns (assumed), finer where those are too coarse."""
FELT = 0.1e-3
"""m: thickness that washers, paper and cloth come in, and by which a common adjuster is moved (common practice)."""


@dataclass(frozen=True)
class Aims:
    """What is to be kept, SI. All defaults are common practice, no table of them is known.

    Attributes
    ----------
    level, dip : float
        How far a key may stand off its level and its dip as drawn, m.
    balanced, hung : (float, float)
        Least and most play at the key of a balanced key and of a hung one, m; as drawn is as good.
    point : float
        Most that the play of neighbours may differ, so that their plucks come at one depth, m.
    even : float
        Share by which plucks of neighbours may differ, and each from that as drawn.
    up : float
        Least up-weight, N.
    lift : float
        Share of the lift as drawn that a pallet keeps at the least.
    pressure : float
        How far the pressure may be off, Pa.
    pitch : float
        Of the nuts' thread, m.
    springs : {"even", "drawn"}
        Whether springs that are all off by the same share are left so, or each set as drawn.
    """

    level: float = 0.3e-3
    dip: float = 0.3e-3
    balanced: tuple[float, float] = (0.5e-3, 1.5e-3)
    hung: tuple[float, float] = (0.0, 0.3e-3)
    point: float = 0.5e-3
    even: float = 0.07
    up: float = 20e-3 * STANDARD_GRAVITY
    lift: float = 0.9
    pressure: float = 10.0
    pitch: float = THREAD
    springs: Literal["even", "drawn"] = "even"

    def play(self, balanced: bool) -> tuple[float, float]:
        """Least and most play of a key of that kind, m."""
        return self.balanced if balanced else self.hung
