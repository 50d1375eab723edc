"""One length of opening, pressed: how far its pallet opens, what it passes, and what it costs at the finger."""

from __future__ import annotations

import math
from dataclasses import dataclass

from keyaction.models.parts.geometry import pallet_end
from keyaction.sim.figures.columns import QUANTITIES
from keyaction.sim.figures.quantities import steady_lift
from keyaction.sim.figures.verdict import Fate, Verdict
from keyaction.sim.run.standings import Standing
from keyaction.sim.sizes.shape import Passed, passed
from keyaction.sim.wind.stops import groove_of

_FEEDS = (Fate.SPEAKS, Fate.WEAK, Fate.MUTE)
"""What may become of a note whose opening is asked for: its pallet opens by the key and shuts again."""


@dataclass(frozen=True)
class Tried:
    """A note with an opening of some length, pressed slowly at a box that holds its pressure.

    Attributes
    ----------
    length, width : float
        Of the opening, m.
    end, across : float
        The pallet from its hinge to its free end, and its width, with its cover, m.
    eye : float
        From the hinge, m.
    verdict : Verdict
    travel : float
        How far the eye is pulled at full dip, m; NaN where the press cannot be followed.
    turn, lift : float
        Beyond the seat at full dip: rad, and m at the eye; NaN where it does not open.
    passed : Passed, optional
        What it lets through at full dip.
    share : float
        What the groove then holds of the box's pressure, by the program's own press.
    pluck : float
        Pluck force, N; NaN where nothing plucks.
    closing : float
        What closes the pallet at zero wind, N at the eye: spring less weight less the break-away of its hinge.
    """

    length: float
    width: float
    end: float
    across: float
    eye: float
    verdict: Verdict
    travel: float
    turn: float
    lift: float
    passed: Passed | None
    share: float
    pluck: float
    closing: float

    @property
    def feeds(self) -> bool:
        """Whether the key opens it, and it shuts again with and without wind."""
        return self.passed is not None and self.verdict.fate in _FEEDS and self.closing > 0.0


def tried(standing: Standing, passing: bool = True) -> Tried:
    """The figures of a note as it was pressed; without what it lets through where that is not `passing` as of one."""
    train, pressed = standing.train, standing.pressed
    pallet, spring = train.role("pallet").values, train.role("spring").values
    figure = {name: one.value for name, one in pallet.derived.items()}
    over = pallet.number("overlap") if pallet.has("overlap") else 0.0
    length, width = pallet.number("opening_length"), pallet.number("opening_width")
    end = pallet_end(pallet) or pallet.number("hinge_to_opening") + length
    travel = turn = lift = share = pluck = math.nan
    through = None
    if pressed is not None:
        gap = float(pressed.press.down["seat_gap"][-1])
        travel, lift = gap + figure["r_eye"] * figure["q_open"], steady_lift(pressed)
        share, pluck = (float(QUANTITIES[name].compute(pressed)) for name in ("groove_share", "pluck_force"))
        if passing and math.isfinite(lift):
            turn = gap / figure["r_eye"]
            through = passed(pallet, travel, groove_of(train).figure("Cd"))
    closing = (spring.derived["M0"].value - figure["B"] - figure["tau0"]) / figure["r_eye"]
    return Tried(
        length, width, end, width + 2 * over, figure["r_eye"], standing.verdict, travel, turn, lift, through, share,
        pluck, closing,
    )  # fmt: skip
