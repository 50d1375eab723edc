"""What feeds the box of a note: its reservoir, trunk, and how far others pull its pressure down."""

from __future__ import annotations

import math
from dataclasses import dataclass

from scipy.optimize import brentq

from keyaction.models.formulas.openings import creeping, groove_share, inlet_for
from keyaction.models.formulas.supply import effective_trunk, in_series, steady_box
from keyaction.models.parts.supply import AREA, FALL, LOSS
from keyaction.models.train.train import Train


@dataclass(frozen=True)
class Supply:
    """The box of a note and what it gets its wind from.

    Attributes
    ----------
    pressure : float
        Of the box with no key down, Pa.
    density : float
        Of the air, kg/m3.
    trunk : float
        As an orifice, m2; infinite where none is stated.
    fall : float
        What the reservoir loses by each m3/s, Pa s/m3.
    smooth : float
        Drop below which flow creeps, Pa: what is wanted allows for it, shares are those of free flow.
    """

    pressure: float
    density: float
    trunk: float = math.inf
    fall: float = 0.0
    smooth: float = 0.0

    @property
    def finite(self) -> bool:
        """Whether keys that are down take anything from the others."""
        return self.fall > 0.0 or math.isfinite(self.trunk)

    def left(self, outflow: float) -> float:
        """What the box holds of its pressure while it feeds `outflow` (m2, all of its notes together): 0 to 1."""
        if not self.finite or self.pressure <= 0.0:
            return 1.0
        return steady_box(self.pressure, self.fall, self.trunk, outflow, self.density) / self.pressure

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


def supply_of(train: Train) -> Supply:
    """The supply of a note's box."""
    figure = {name: one.value for name, one in train.role("box").values.derived.items()}
    trunk = effective_trunk(figure[AREA], figure[LOSS]) if AREA in figure else math.inf
    return Supply(figure["p_box"], figure["rho_air"], trunk, figure.get(FALL, 0.0), figure["p_smooth"])
