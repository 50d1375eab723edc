"""A chord held until all is still, by closed forms: gap and toes in series, notes side by side, the trunk before."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from keyaction.models.formulas.supply import in_series, smallest_trunk, steady_box
from keyaction.models.parts.supply import USUAL_LOSS
from keyaction.sim.chord.places import grooves_of
from keyaction.sim.figures.limits import FULL
from keyaction.sim.motion.drives import HANDS_OFF
from keyaction.sim.motion.integrate import Floats
from keyaction.sim.motion.note import NoteModel
from keyaction.sim.wind.supplies import Supply

_PROBE = 100.0
"""Pa of drop under which an opening is measured: far above what creeps."""


@dataclass(frozen=True)
class Opening:
    """A groove with its pallet as the held key holds it.

    Attributes
    ----------
    note, groove, pallet, box : str
        The note, the parts of its train, and the box of the chord.
    area : float
        Gap and slot in series times their flow coefficient, m2.
    toes : float
        Toes of the drawn stops and leak times theirs, m2.
    """

    note: str
    groove: str
    pallet: str
    box: str
    area: float
    toes: float

    @property
    def share(self) -> float:
        """Pressure in the groove over that of its box as it is, in steady flow: a²/(a² + o²)."""
        return self.area**2 / (self.area**2 + self.toes**2) if self.area > 0.0 else 0.0

    @property
    def through(self) -> float:
        """Pallet and toes as one orifice, m2."""
        return in_series((self.area, self.toes))


def openings_of(note: str, model: NoteModel, boxes: Mapping[str, str], held: Floats) -> list[Opening]:
    """The openings of a note in the state (n,) in which its key is held.

    An opening is a matter of where its pallet stands: it is read from what flows through it under a known drop.
    """
    kernel, train = model.kernel(), model.train
    grooves, state = grooves_of(model), held.copy()
    for groove in grooves:
        state[groove.state] = train.value(groove.box, "p_box") - _PROBE
    still = model.vector(HANDS_OFF, HANDS_OFF.pieces[0])
    shown = kernel.observe(np.zeros(1), state[None, :], model.parameters(), still)[0]
    found = []
    for groove in grooves:
        flow = float(shown[kernel.observables.index(kernel.seen_of(groove.name, "flow_in"))])
        density, smooth = (train.value(groove.box, name) for name in ("rho_air", "p_smooth"))
        area = flow / (math.sqrt(2 / density) * _PROBE / (_PROBE**2 + smooth**2) ** 0.25)
        toes = train.value(groove.name, "A_out")
        found.append(Opening(note, groove.name, groove.pallet, boxes[groove.box], max(area, 0.0), toes))
    return found


def steady_pressures(openings: Sequence[Opening], supplies: Mapping[str, Supply]) -> dict[str, float]:
    """The pressure of every box while all these stand open, Pa."""
    found = {}
    for name, supply in supplies.items():
        out = sum(one.through for one in openings if one.box == name)
        found[name] = steady_box(supply.pressure, supply.fall, supply.orifice, out, supply.density)
    return found


def trunk_that_carries(openings: Sequence[Opening], supply: Supply, share: float = FULL) -> float:
    """Clear section (m2) of the smallest trunk with which every groove has a share of the box with no key down.

    0 where any will do; NaN where none does: a pallet itself is too small, or the reservoir falls too far.
    """
    least = min((one.share for one in openings), default=1.0)
    if least <= 0.0 or supply.pressure <= 0.0:
        return math.nan
    out = sum(one.through for one in openings)
    needed = share / least
    if needed >= 1.0:
        return math.nan
    return smallest_trunk(supply.pressure, supply.fall, heads_of(supply), out, supply.density, needed)


def heads_of(supply: Supply) -> float:
    """Heads that a trunk loses; those usually assumed where the box has none yet."""
    return supply.loss if math.isfinite(supply.area) else USUAL_LOSS


def scales_that_carry(openings: Sequence[Opening], supply: Supply, share: float = FULL) -> list[float]:
    """By how much each opening may be smaller (or must be larger) for every groove to have just that share.

    All of them at once: then each groove stands at the share of the box with no key down, so that the toes' flow is
    known, with it the box, and what each opening may lose. NaN where the box itself falls so far; 0 where no stop is
    drawn.
    """
    groove = share * supply.pressure
    flow = math.sqrt(2 * groove / supply.density) * sum(one.toes for one in openings)
    drag = 0.0 if math.isinf(supply.orifice) else supply.resistance * flow**2
    left = supply.pressure - supply.fall * flow - drag - groove
    if left <= 0.0:
        return [math.nan for _ in openings]
    needed = [one.toes * math.sqrt(groove / left) for one in openings]
    return [area / one.area if one.area > 0.0 else math.inf for area, one in zip(needed, openings, strict=True)]


def with_toes(openings: Sequence[Opening], toes: Sequence[float]) -> list[Opening]:
    """The same with other stops drawn."""
    return [replace(one, toes=area) for one, area in zip(openings, toes, strict=True)]
