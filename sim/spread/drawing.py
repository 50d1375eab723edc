"""Designs of a case drawn from its spreads, and the figures of all its notes in each of them."""

from __future__ import annotations

import os
from collections.abc import Callable, Sequence
from contextlib import closing
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from keyaction.cases.action.case import Case
from keyaction.cases.study.spreads import Uncertain, pieces_of, uncertain
from keyaction.sim.figures.columns import QUANTITIES
from keyaction.sim.figures.verdict import Fate
from keyaction.sim.lanes.evaluate import available
from keyaction.sim.motion.integrate import Floats
from keyaction.sim.sweep.blocks import cut
from keyaction.sim.sweep.designs import Design, Recipe, make_design, recipe
from keyaction.sim.sweep.plans import Plan
from keyaction.sim.sweep.pool import on_this_machine
from keyaction.sim.sweep.sweep import tasks_of

Progress = Callable[[int, int], None]
"""Told how many of how many draws are done."""


@dataclass(frozen=True)
class Draws:
    """What is drawn: the same designs as those of a study with plan = "tolerances", its number of designs and its seed.

    Attributes
    ----------
    doubts : tuple of Uncertain
        Everything that is uncertain.
    recipe : Recipe
    plan : Plan
    """

    doubts: tuple[Uncertain, ...]
    recipe: Recipe
    plan: Plan

    @classmethod
    def of(cls, case: Case, notes: Sequence[int], draws: int, seed: int) -> Draws:
        """The draws of a case at some notes."""
        doubts = uncertain(case, notes)
        inputs = tuple(one.input for one in doubts if one.common.size)
        made = recipe(case, tuple(notes), inputs, cheap(), pieces_of(doubts), seed)
        return cls(doubts, made, Plan("tolerances", len(inputs), draws, seed))

    def at(self, note: int) -> Draws:
        """The same draws at one of their notes."""
        row = self.recipe.notes.index(note)
        return replace(self, recipe=replace(self.recipe, notes=(note,), parts=(self.recipe.parts[row],)))

    def design(self, number: int) -> Design:
        """One of the designs."""
        return make_design(self.recipe, self.plan.rows(number, number + 1)[0], number)


def cheap() -> tuple[str, ...]:
    """Names of the quantities that are drawn: all but those of a search, which takes longer than all others."""
    return tuple(name for name in available() if QUANTITIES[name].source != "repetition")


@dataclass(frozen=True)
class Drawn:
    """What came of the draws.

    Attributes
    ----------
    values : mapping of name to (draws, notes) array
        SI; NaN where a note has none.
    sound : (draws, notes) array of bool
        Where a note speaks when it is played and falls silent when it is let go.
    played : (draws, notes) array of bool
        Where it could be built and played at all.
    """

    values: dict[str, Floats]
    sound: NDArray[np.bool_]
    played: NDArray[np.bool_]


def draw(draws: Draws, jobs: int = 1, progress: Progress | None = None) -> Drawn:
    """Compute all draws.

    Parameters
    ----------
    draws : Draws
    jobs : int
        Processes; 0 means one per core.
    progress : callable, optional
    """
    count, names = draws.plan.count, draws.recipe.quantities
    shape = (count, len(draws.recipe.notes))
    values = {name: np.full(shape, np.nan) for name in names}
    sound, played, done = np.zeros(shape, dtype=bool), np.zeros(shape, dtype=bool), 0
    blocks = cut(draws.plan, shape[1], 0)
    processes = min(jobs or os.cpu_count() or 1, len(blocks))
    with closing(on_this_machine(draws.recipe, tasks_of(draws.plan, blocks), processes)) as results:  # type: ignore[type-var]
        for result in results:
            rows = slice(result.block.start, result.block.stop)
            for k, name in enumerate(names):
                values[name][rows] = result.values[:, :, k]
            sound[rows] = result.words["verdict"].are(Fate.SPEAKS.value).reshape(-1, shape[1])
            played[rows] = result.status.are("ok").reshape(-1, shape[1])
            done += rows.stop - rows.start
            if progress:
                progress(done, count)
    return Drawn(values, sound & played, played)
