"""What feeds the box of a note: its reservoir, trunk, and how far others pull its pressure down."""

from __future__ import annotations

import math
from dataclasses import dataclass

from scipy.optimize import brentq

from keyaction.models.formulas.openings import creeping, groove_share, inlet_for
from keyaction.models.formulas.supply import in_series, steady_box
from keyaction.models.train.train import Train
from keyaction.sim.wind.supplies import Supply, supply_of


@dataclass(frozen=True)
class Feed:
    """What a note gets from its box while that feeds others too.

    Attributes
    ----------
    box : Supply
    smooth : float
        Drop below which flow creeps, Pa: what is wanted allows for it, shares are those of free flow.
    """

    box: Supply
    smooth: float = 0.0

    @property
    def pressure(self) -> float:
        """Of the box with no key down, Pa."""
        return self.box.pressure

    @property
    def finite(self) -> bool:
        """Whether keys that are down take anything from the others."""
        return not self.box.holds

    def left(self, outflow: float) -> float:
        """What the box holds of its pressure while it feeds `outflow` (m2, all of its notes together): 0 to 1."""
        if not self.finite or self.pressure <= 0.0:
            return 1.0
        box = self.box
        return steady_box(box.pressure, box.fall, box.orifice, outflow, box.density) / box.pressure

    def wanted(self, share: float, outlet: float, others: float = 0.0) -> float:
        """Inlet (m2) at which a groove holds `share` of the pressure of the box with no key down.

        NaN where none does: the box itself falls too far while it feeds `others` and the outlet.
        """
        inlet = self._wanted(share, outlet, others)
        if self.pressure <= 0.0 or not inlet > 0.0:
            return inlet
        held = groove_share(inlet, outlet)
        return inlet * creeping(held, share / held * self.pressure, self.smooth)

    def _wanted(self, share: float, outlet: float, others: float) -> float:
        if not self.finite:
            return inlet_for(share, outlet)
        if self.left(others + outlet) <= share:
            return math.nan
        low, high = inlet_for(share, outlet) / 2, outlet
        while self.share(high, outlet, others) < share:
            high *= 2
        return float(brentq(lambda inlet: self.share(inlet, outlet, others) - share, min(low, high), high, rtol=1e-12))

    def share(self, inlet: float, outlet: float, others: float = 0.0) -> float:
        """What a groove holds of the pressure of the box with no key down, while the box feeds `others` (m2) too."""
        return self.left(others + in_series((inlet, outlet))) * groove_share(inlet, outlet)


def feed_of(train: Train) -> Feed:
    """What the box of a note's first pallet gives."""
    box = train.role("box")
    return Feed(supply_of(box), box.figure("p_smooth"))
