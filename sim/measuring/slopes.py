"""How every figure of a sheet answers to what can be changed: all notes and all changes in one batch of presses."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from keyaction.cases.action.strokes import Strokes
from keyaction.models.train.train import Train
from keyaction.sim.measuring.computed import Computed, computed
from keyaction.sim.measuring.knobs import Knob, changed
from keyaction.sim.motion.integrate import Floats

STEP = 0.1
"""Of what a change usually is when it is a fault: the step of a slope, well above what presses resolve."""


@dataclass(frozen=True)
class Point:
    """One note with some of its knobs at some amounts.

    Attributes
    ----------
    train : Train
        With all amounts at 0.
    level : float
        As it is drawn, from which its level is read, m.
    knobs : sequence of Knob
    amounts : (k,) array
    """

    train: Train
    level: float
    knobs: Sequence[Knob]
    amounts: Floats

    def at(self, amounts: Floats) -> Train:
        """The train with these amounts."""
        return changed(self.train, zip(self.knobs, map(float, amounts), strict=True))


@dataclass(frozen=True)
class Slopes:
    """Figures at some points and how they rise with every amount.

    Attributes
    ----------
    at : Computed
        Of every point, levels counted from the drawing.
    rise : tuple of (k, figures) array
        Of each point SI per unit of the amount; NaN where the figure is known at one end of the step only.
    """

    at: Computed
    rise: tuple[Floats, ...]


def slopes(points: Sequence[Point], strokes: Strokes, wind_off_too: bool = True, jobs: int = 0) -> Slopes:
    """Figures and slopes of all points.

    Parameters
    ----------
    points : sequence of Point
    strokes : Strokes
    wind_off_too : bool
    jobs : int
        Threads; 0 means one per core.
    """
    steps = [np.array([_step(knob, x) for knob, x in zip(p.knobs, p.amounts, strict=True)]) for p in points]
    trains, levels = list[Train](), list[float]()
    for point, by in zip(points, steps, strict=True):
        rows = [point.amounts, *(point.amounts + np.eye(len(by))[k] * by for k in range(len(by)))]
        trains += [point.at(row) for row in rows]
        levels += [point.level] * len(rows)
    found = computed(trains, strokes, wind_off_too, jobs).from_level(np.array(levels))
    starts = np.cumsum([0, *(len(by) + 1 for by in steps)])[:-1].tolist()
    rises = tuple(
        (found.values[i + 1 : i + 1 + len(by)] - found.values[i]) / by[:, None]
        for i, by in zip(starts, steps, strict=True)
    )
    at = Computed(
        found.values[starts], tuple(found.verdicts[i] for i in starts), tuple(found.failed[i] for i in starts)
    )
    return Slopes(at, rises)


def _step(knob: Knob, amount: float) -> float:
    """Upwards, or downwards where that leaves what is allowed."""
    by = STEP * knob.about.usual
    return by if amount + by <= knob.about.high else -by
