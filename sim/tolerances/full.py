"""Full draws beside the straight line: every note of every draw built anew and pressed."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from contextlib import closing
from dataclasses import dataclass
from functools import partial

import numpy as np

from keyaction.cases.action.case import Case
from keyaction.models.train.train import Train
from keyaction.sim.measuring.computed import pressed
from keyaction.sim.motion.integrate import Floats
from keyaction.sim.processes.count import workers
from keyaction.sim.processes.tasks import NoProcesses, in_processes
from keyaction.sim.spread.drawing import Draws
from keyaction.sim.tolerances.figures import NAMES, read
from keyaction.sim.tolerances.steps import Lineal, Scatter
from keyaction.sim.weighing.weighoff import wind_off

Progress = Callable[[int], None]
"""Told of every draw that is done."""


ENOUGH = 10
"""Full draws from which on their shares are shown, and compared with the straight lines."""


@dataclass(frozen=True)
class Full:
    """Figures of full draws, (draws, notes, figures), SI; NaN where a note of a draw does not have one."""

    notes: tuple[int, ...]
    values: Floats

    def of(self, figure: str) -> Floats:
        """One figure, (draws, notes)."""
        return np.asarray(self.values[:, :, NAMES.index(figure)])

    def scatter(self, line: Lineal) -> Scatter | None:
        """Steps between the neighbours of a line in these draws; None without neighbours."""
        if not len(line.pairs):
            return None
        steps = line.steps(self.of(line.figure.name))
        return Scatter.of(np.abs(steps) > line.limit, np.isfinite(steps))


def full_draws(
    case: Case,
    notes: Sequence[int],
    count: int,
    seed: int = 1,
    wind_off_too: bool = False,
    jobs: int = 0,
    progress: Progress | None = None,
) -> Full:
    """Press all notes of some draws: those of `keyaction.sim.spread.drawing` with the same seed.

    Parameters
    ----------
    case : Case
    notes : sequence of int
    count : int
    seed : int
    wind_off_too : bool
    jobs : int
        Processes; 0 means one per core.
    progress : callable, optional

    Raises
    ------
    keyaction.sim.processes.tasks.NoProcesses
        When the process of a draw died twice.
    """
    chosen = sorted(notes)
    work = partial(_draw, Draws.of(case, chosen, max(count, 2), seed), wind_off_too)
    found = np.full((count, len(chosen), len(NAMES)), np.nan)
    with closing(in_processes(work, range(count), min(workers(jobs), max(count, 1)), _given_up)) as results:  # type: ignore[type-var]
        for number, values in results:
            if values is None:
                raise NoProcesses
            found[number] = values
            if progress:
                progress(number)
    return Full(tuple(chosen), found)


def _given_up(number: int) -> tuple[int, Floats | None]:
    return number, None


def _draw(draws: Draws, off: bool, number: int) -> tuple[int, Floats | None]:
    """All notes of one draw, (notes, figures)."""
    design = draws.design(number)
    trains: list[Train] = [one for one in design.trains if isinstance(one, Train)]
    with np.errstate(all="ignore"):
        on = pressed(trains, design.strokes, jobs=1)
        still = pressed([wind_off(one) for one in trains], design.strokes, jobs=1) if off else [None] * len(on)
        rows = iter([read(*pair) for pair in zip(on, still, strict=True)])
    nothing = np.full(len(NAMES), np.nan)
    return number, np.array([next(rows) if isinstance(one, Train) else nothing for one in design.trains])
