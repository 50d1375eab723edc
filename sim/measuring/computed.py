"""What would be read at the keys of many trains at once: one slow press with the wind on, one with it off."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from keyaction.cases.action.strokes import Strokes
from keyaction.models.algebra.names import Name
from keyaction.models.readings.figures import NAMES
from keyaction.models.readings.readings import Head
from keyaction.models.train.train import Train
from keyaction.sim.figures import quantities
from keyaction.sim.figures.limits import REOPENED
from keyaction.sim.figures.play import NotPlayed
from keyaction.sim.figures.record import Pressed
from keyaction.sim.figures.verdict import Fate, Verdict, verdict
from keyaction.sim.lanes.batch import Batch
from keyaction.sim.lanes.presses import in_chunks, presses
from keyaction.sim.motion.integrate import Floats
from keyaction.sim.weighing.weighoff import NO_WEIGHTS, Weights, opening_gaps, weights_of, wind_off

Read = Pressed | NotPlayed
SPEECH_OF = {
    Fate.SPEAKS: "speaks",
    Fate.WEAK: "weak",
    Fate.MUTE: "mute",
    Fate.CIPHER: "ciphers",
    Fate.HANGS: "hangs",
}
"""The words of a sheet for verdicts."""


@dataclass(frozen=True)
class Computed:
    """What would be read of trains, without errors.

    Attributes
    ----------
    values : (n, figures) array
        SI, in the order of `keyaction.models.readings.figures.NAMES`; NaN where a train does not have a figure. The
        level counts from the key travel 0 of the train's equations.
    verdicts : tuple of Verdict
        With the wind on.
    failed : tuple of str
        Why a train could not be pressed with the wind on; empty of the others.
    """

    values: Floats
    verdicts: tuple[Verdict, ...]
    failed: tuple[str, ...]

    def __getitem__(self, figure: str) -> Floats:
        """One figure of all trains."""
        return np.asarray(self.values[:, NAMES.index(figure)])

    @property
    def speech(self) -> tuple[str, ...]:
        """What each note does, in the words of a sheet; empty where nothing is known."""
        return tuple(SPEECH_OF.get(one.fate, "") for one in self.verdicts)

    def rows(self, at: Sequence[int]) -> Computed:
        """Those of some trains, by place."""
        return Computed(self.values[list(at)], tuple(self.verdicts[i] for i in at), tuple(self.failed[i] for i in at))

    def from_level(self, level: Floats | float) -> Computed:
        """The same with levels counted from others, (n,) or one for all, m."""
        values = self.values.copy()
        values[:, NAMES.index("level")] -= level
        return Computed(values, self.verdicts, self.failed)


def computed(trains: Sequence[Train], strokes: Strokes, wind_off_too: bool = True, jobs: int = 0) -> Computed:
    """Press trains as a builder does.

    Parameters
    ----------
    trains : sequence of Train
        In any mixture of structures; regulated as they are.
    strokes : Strokes
        How a key is pressed.
    wind_off_too : bool
        Whether they are pressed without wind as well.
    jobs : int
        Threads; 0 means one per core.
    """
    on = pressed(trains, strokes, jobs)
    off: Sequence[Read | None] = [None] * len(trains)
    if wind_off_too:
        off = pressed([wind_off(train) for train in trains], strokes, jobs)
    rows = [read_row(one, other) for one, other in zip(on, off, strict=True)]
    verdicts = tuple(verdict(one) if isinstance(one, Pressed) else one.verdict for one in on)
    failed = tuple(str(one) if isinstance(one, NotPlayed) else "" for one in on)
    return Computed(np.array(rows).reshape(len(trains), len(NAMES)), verdicts, failed)


def both_winds(found: Computed, trains: Sequence[Train], strokes: Strokes, jobs: int = 0) -> Computed:
    """Figures of trains with those without wind, where they have none."""
    off = [NAMES.index(name) for name in ("pluck_off", "hold_off", "up_off")]
    if np.any(np.isfinite(found.values[:, off])):
        return found
    values = found.values.copy()
    still = pressed([wind_off(train) for train in trains], strokes, jobs)
    values[:, off] = np.array([_three(one) for one in still]).reshape(len(trains), len(off))
    return Computed(values, found.verdicts, found.failed)


def pressed(trains: Sequence[Train], strokes: Strokes, jobs: int = 0) -> list[Read]:
    """Every train pressed, or why it could not be."""
    found: list[Read] = [NotPlayed("not pressed")] * len(trains)
    for part in in_chunks(trains):
        chosen = [trains[i] for i in part]
        rest = Batch.of(chosen, jobs=jobs).rest()
        for i, one in zip(part, presses(chosen, strokes, rest, jobs), strict=True):
            found[i] = one
    return found


def read_row(on: Read | None, off: Read | None = None) -> list[float]:
    """All figures of a sheet, read off presses with the wind on and off; NaN where there is no such press."""
    ways = _ways(on) if isinstance(on, Pressed) else [math.nan] * 5
    weights = [value for one in (on, off) for value in _three(one)]
    return [*ways, *weights]


def _ways(one: Pressed) -> list[float]:
    """Level, dip, play, pluck point and lift: the lift of a pallet that stays shut is nothing, and it has no pluck."""
    press = one.press
    plucks = math.isfinite(press.pluck_point) and press.down[press.sounders[0].gap][0] <= 0.0
    play, point = (quantities.lost_motion(one), press.pluck_point) if plucks else (math.nan, math.nan)
    lift = quantities.steady_lift(one)
    return [-press.down.rest, quantities.key_dip(one), play, point, lift if lift >= REOPENED else 0.0]


def _three(one: Read | None) -> tuple[float, float, float]:
    found: Weights = NO_WEIGHTS
    if isinstance(one, Pressed):
        found = weights_of(one.press, opening_gaps(one.model))
    return found.down, found.hold, found.up


def as_measured(train: Train, head: Head) -> Train:
    """The train, regulated as it is, at the pressure at which a sheet was measured, if it says so."""
    if not math.isfinite(head.pressure):
        return train
    for box in (part for part in train.parts if part.role == "box"):
        train = train.with_parameter(Name(box.name, "p_box"), head.pressure, "pressure of the sheet")
    return train


def drawn_levels(trains: Sequence[Train], strokes: Strokes, jobs: int = 0) -> Floats:
    """Levels (n,) of trains as they are drawn, from which those of a sheet count, m; NaN where none is known."""
    return np.array(
        [-one.press.down.rest if isinstance(one, Pressed) else math.nan for one in pressed(trains, strokes, jobs)]
    )
