"""What feeds a box."""

from __future__ import annotations

import math
from dataclasses import dataclass

from keyaction.models.formulas.supply import effective_trunk
from keyaction.models.parts import supply as facts
from keyaction.models.train.train import Train, TrainPart

HEAT_RATIO = 1.4
"""Of air, as in the grooves."""


@dataclass(frozen=True)
class Supply:
    """A pallet box and what feeds it.

    Attributes
    ----------
    pressure : float
        Of the reservoir while nothing flows, Pa: that of the box with no key down.
    density, atmosphere : float
        Of the air, kg/m3; pressure of the room, Pa.
    volume : float
        Of the box, m3; NaN where it is not told.
    area, length, loss : float
        Of the trunk: clear section (m2; infinite without a trunk), length (m), heads that it loses.
    fall : float
        What the reservoir loses by each m3/s, Pa s/m3.
    """

    pressure: float
    density: float
    atmosphere: float
    volume: float = math.nan
    area: float = math.inf
    length: float = 0.0
    loss: float = 0.0
    fall: float = 0.0

    @property
    def holds(self) -> bool:
        """Whether the box's pressure cannot move: it is a reservoir that does not fall."""
        return math.isinf(self.area) and self.fall == 0.0

    @property
    def orifice(self) -> float:
        """The trunk as an orifice, m2."""
        return effective_trunk(self.area, self.loss)

    @property
    def capacity(self) -> float:
        """Volume (m3) of air that the box takes for each Pa."""
        return self.volume / (HEAT_RATIO * self.atmosphere)

    @property
    def inertance(self) -> float:
        """Pa of each m3/s2: the air in the trunk."""
        return self.density * self.length / self.area

    @property
    def resistance(self) -> float:
        """Pa lost in the trunk by the square of the flow, Pa s2/m6."""
        return self.density / (2 * self.orifice**2)

    @property
    def swing(self) -> float:
        """Frequency (Hz) at which the air in the trunk swings on that in the box, without loss; NaN without a trunk."""
        if self.holds or math.isinf(self.area):
            return math.nan
        return 1 / (2 * math.pi * math.sqrt(self.inertance * self.capacity))


def supply_of(box: TrainPart) -> Supply:
    """The supply of one box of a train; one that nothing is said of holds its pressure."""
    found = box.values.derived

    def told(name: str, without: float) -> float:
        return found[name].value if name in found else without

    return Supply(
        box.figure("p_box"),
        box.figure("rho_air"),
        box.figure("p_atm"),
        told(facts.VOLUME, math.nan),
        told(facts.AREA, math.inf),
        told(facts.LENGTH, 0.0),
        told(facts.LOSS, 0.0),
        told(facts.FALL, 0.0),
    )


def boxes_of(train: Train) -> tuple[TrainPart, ...]:
    """The boxes of a train, in its order."""
    return tuple(part for part in train.parts if part.role == "box")
