"""The figures at the key of which sensitivities are known: all of the slow press, wind on and off."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from keyaction.sim.figures import quantities as q
from keyaction.sim.figures.evenness import JUST_NOTICEABLE
from keyaction.sim.figures.limits import NO_FORCE
from keyaction.sim.figures.record import Pressed
from keyaction.sim.measuring.computed import Read
from keyaction.sim.motion.integrate import Floats
from keyaction.sim.weighing.weighoff import NO_WEIGHTS, opening_gaps, weights_of

CUSTOM = 0.3e-3
"""m by which levels, dips and ways of neighbours may differ (common practice: set to 0.2 or 0.3 mm)."""
NOTHING = {"N": NO_FORCE, "m": 1e-5, "J": 1e-5, "": 1e-3}
"""Spread below which a figure has none, by its SI unit."""


@dataclass(frozen=True)
class KeyFigure:
    """One figure at the key.

    Attributes
    ----------
    name, heading : str
    unit : str
        SI.
    places : int
        Decimal places in the trade's units.
    off : bool
        Whether the wind is off.
    """

    name: str
    heading: str
    unit: str
    places: int
    off: bool = False

    @property
    def relative(self) -> bool:
        """Whether a step is a share of the mean of both notes, as forces are felt; else it is a difference."""
        return self.unit == "N"

    @property
    def limit(self) -> float:
        """Step that counts: the just-noticeable difference of a force, custom of a length (m)."""
        return JUST_NOTICEABLE if self.relative else CUSTOM


_WAYS = (
    KeyFigure("level", "level", "m", 2),
    KeyFigure("dip", "dip", "m", 2),
    KeyFigure("play", "play", "m", 2),
    KeyFigure("point", "pluck point", "m", 2),
    KeyFigure("lift", "lift", "m", 2),
)
_FORCES = (
    KeyFigure("pluck", "pluck", "N", 1),
    KeyFigure("follow", "follow", "N", 1),
    KeyFigure("hold", "hold", "N", 1),
    KeyFigure("up", "up", "N", 1),
    KeyFigure("friction", "friction", "N", 1),
)
_OFF = tuple(
    KeyFigure(f"{name}-off", f"{name}, wind off", "N", 1, off=True) for name in ("pluck", "hold", "up", "friction")
)
_STORED = KeyFigure("stored", "stored", "J", 1)
FIGURES: tuple[KeyFigure, ...] = (*_WAYS, *_FORCES, _STORED, *_OFF)
"""In the order of tables."""
NAMES = tuple(one.name for one in FIGURES)
BY_NAME = {one.name: one for one in FIGURES}

_OF_PRESS: tuple[Callable[[Pressed], float], ...] = (
    q.key_dip, q.lost_motion, q.pluck_point, q.steady_lift, q.pluck_force, q.follow_through_force,
)  # fmt: skip


def read(on: Read, off: Read | None = None) -> Floats:
    """All figures of a note.

    Parameters
    ----------
    on, off : Pressed or NotPlayed
        With the wind on and off; without the latter its figures are NaN.

    Returns
    -------
    (figures,) array
        SI, in the order of `NAMES`; NaN where the note does not have a figure. The level counts from the key travel 0
        of the train's equations.
    """
    found = dict.fromkeys(NAMES, math.nan)
    if isinstance(on, Pressed):
        ways = dict(zip(("dip", "play", "point", "lift", "pluck", "follow"), (of(on) for of in _OF_PRESS), strict=True))
        weights = weights_of(on.press, opening_gaps(on.model))
        found |= {"level": -on.press.down.rest, **ways, "hold": weights.hold, "up": weights.up}
        found |= {"friction": q.friction_at_key(on), "stored": q.stored_energy(on)}
    if off is not None:
        weights = weights_of(off.press, opening_gaps(off.model)) if isinstance(off, Pressed) else NO_WEIGHTS
        friction = (weights.down - weights.up) / 2 if weights.up > 0.0 else math.nan
        found |= {"pluck-off": weights.down, "hold-off": weights.hold, "up-off": weights.up, "friction-off": friction}
    return np.array([found[name] for name in NAMES])
