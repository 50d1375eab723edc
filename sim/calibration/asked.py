"""One note with its measurements and unknowns: what it shows at some figures, residuals and slopes for the fit."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np

from keyaction.cases.action.case import Case
from keyaction.models.train.train import Train, TrainProblem
from keyaction.sim.calibration.measured import Block, Measured
from keyaction.sim.calibration.odd_trace import INSTANT
from keyaction.sim.calibration.presses import FAR, Shown, residuals, show
from keyaction.sim.calibration.unknowns import Unknown, fields_at, train_at
from keyaction.sim.calibration.weighed import PLACES, weighed
from keyaction.sim.fitting.least import Floats, Space
from keyaction.sim.fitting.spread import Direction

STEP = 0.005
"""Of its span: the step of a slope, well above what presses resolve."""
PLAYED = 0.01
"""The same to both sides where strokes are played, which resolve less than presses and bend more: rebounds."""
TIED = 10.0
"""Spans of a pull towards the case's own figure: nothing beside what is measured, but it holds what nothing tells."""
HELD = 0.5
"""Spans of the pull along directions of which nothing is known: there the case's own figures stay."""
CHORD = 0.005
"""Spans of all unknowns within which slopes are taken as they were."""
SAME = 0.02
"""Share of an error of a trace within which it stays what it is."""
_KEPT = 64
"""Places of which is kept what the note shows there."""


@dataclass(frozen=True)
class Asked:
    """What is asked of a note and what was measured there, from figures of the fit to residuals.

    Attributes
    ----------
    case : Case
    measured : Measured
    of : tuple of Unknown
    jobs : int
        Threads; 0 means one per core.
    """

    case: Case
    measured: Measured
    of: tuple[Unknown, ...]
    jobs: int = 0
    _kept: dict[bytes, Shown | None] = field(default_factory=dict, init=False, repr=False, compare=False)

    @property
    def size(self) -> int:
        """Unknowns, and the beginning of every trace."""
        return len(self.of) + len(self.measured.traces)

    @cached_property
    def start(self) -> Floats:
        """The case's own figures."""
        return np.array([one.start for one in self.of] + [0.0] * len(self.measured.traces))

    @cached_property
    def space(self) -> Space:
        ends = [one.bounds for one in self.of] + [(-INSTANT, INSTANT)] * len(self.measured.traces)
        spans = [one.kind.span for one in self.of] + [INSTANT / 5] * len(self.measured.traces)
        low, high = np.array(ends, dtype=float).reshape(-1, 2).T
        return Space(low, high, np.array(spans))

    def train(self, figures: Floats) -> Train | None:
        """The note at some figures; None where it cannot be built so."""
        try:
            return train_at(self.case, self.measured.note, fields_at(self.of, figures[: len(self.of)].tolist()))
        except TrainProblem:
            return None

    def instants(self, figures: Floats) -> list[float]:
        """Beginnings of the traces, s."""
        return [float(one) for one in figures[len(self.of) :]]

    def shown(self, rows: Sequence[Floats]) -> list[Shown | None]:
        """What the note shows at several places, side by side; beginnings of strokes change nothing of it."""
        keys = [row[: len(self.of)].tobytes() for row in rows]
        new = {key: row for key, row in zip(keys, rows, strict=True) if key not in self._kept}
        trains = {key: self.train(row) for key, row in new.items()}
        there = [train for train in trains.values() if train is not None]
        found = iter(show(there, self.measured, self.case.strokes, self.jobs))
        fresh = {key: None if train is None else next(found) for key, train in trains.items()}
        known = {key: self._kept.pop(key) for key in keys if key in self._kept} | fresh
        self._kept.update(known)
        for key in list(self._kept)[:-_KEPT]:
            del self._kept[key]
        return [known[key] for key in keys]

    def weighed(self, figures: Floats, ways: Sequence[Floats]) -> Asked:
        """The same, traces weighed as the note moves at some figures; itself where that changes next to nothing.

        Parameters
        ----------
        figures : (p,) array
        ways : sequence of (p,) array
            To either side of them, along which it is seen whether the motion follows smoothly.
        """
        rows = [[figures + place * self._within(figures, way) for place in PLACES] for way in ways]
        own, *others = self.shown([figures, *(row for line in rows for row in line)])
        if own is None:
            return self
        every = iter(others)
        lines = [[(next(every), self.instants(row)) for row in line] for line in rows]
        measured = weighed(self.measured, own, self.instants(figures), lines)
        if all(map(_alike, self.measured.blocks, measured.blocks)) or measured.count <= self.size:
            return self
        made = replace(self, measured=measured)
        made._kept.update(self._kept)
        return made

    def _within(self, figures: Floats, way: Floats) -> Floats:
        """A way, shorter where it would leave the bounds."""
        room = np.where(way == 0.0, np.inf, np.minimum(self.space.high - figures, figures - self.space.low))
        return np.asarray(way * min(1.0, float(np.min(room / np.maximum(np.abs(way), np.finfo(float).tiny)))))

    def beside(self, figures: Floats) -> tuple[list[Floats], list[Floats]]:
        """Places a step of the slopes to either side of some figures, of each of them; presses step to one side."""
        played, space = bool(self.measured.traces), self.space
        steps = (PLAYED if played else STEP) * space.scale
        steps = np.where(figures + steps > space.high, -steps, steps)
        ahead = [figures + row for row in np.diag(steps)]
        return ahead, [space.inside(figures - row) if played else figures for row in np.diag(steps)]

    def missed(self, rows: Sequence[Floats], levels: Sequence[float]) -> list[Floats]:
        """Residuals at several places."""
        return [self.read(one, row, levels) for row, one in zip(rows, self.shown(rows), strict=True)]

    def read(self, shown: Shown | None, row: Floats, levels: Sequence[float]) -> Floats:
        """Residuals of what is shown, its strokes begun as the figures have it."""
        if shown is None:
            return np.full(self.measured.count, FAR)
        return residuals(shown, self.measured, self.instants(row), levels)


def _alike(one: Block, other: Block) -> bool:
    return one.count == other.count and bool(np.allclose(one.errors, other.errors, rtol=SAME, atol=0.0))


class Problem:
    """Residuals and slopes as the fit wants them, with a weak pull towards the case's own figures."""

    def __init__(self, asked: Asked, levels: Sequence[float], held: Sequence[Direction] = ()) -> None:
        self.asked, self.levels = asked, list(levels)
        self.held = np.array([one.vector for one in held]).reshape(-1, asked.size)
        self._slopes: tuple[Floats, Floats] | None = None

    def residuals(self, figures: Floats) -> Floats:
        """All residuals, those of the pull last."""
        return np.concatenate([self.asked.missed([figures], self.levels)[0], self._pull(figures)])

    def slopes(self, figures: Floats) -> Floats:
        """Their slopes there, or where these were last asked for if that is near."""
        if self._slopes is None or np.any(np.abs(figures - self._slopes[0]) > CHORD * self.asked.space.scale):
            self._slopes = figures.copy(), self.jacobian(figures)
        return self._slopes[1]

    def jacobian(self, figures: Floats) -> Floats:
        """Their slopes, all unknowns side by side."""
        ahead, behind = self.asked.beside(figures)
        found = self.asked.missed([*ahead, *behind], self.levels)
        columns = [
            np.concatenate([there - here, self._pull(row) - self._pull(back)]) / np.sum(row - back)
            for there, here, row, back in zip(found[: len(ahead)], found[len(ahead) :], ahead, behind, strict=True)
        ]
        return np.column_stack(columns)

    def _pull(self, figures: Floats) -> Floats:
        away = (figures - self.asked.start) / self.asked.space.scale
        return np.concatenate([away / TIED, self.held @ away / HELD])
