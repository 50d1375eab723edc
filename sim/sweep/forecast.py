"""What a sweep will take: designs, time and size, measured before it starts."""

from __future__ import annotations

from dataclasses import dataclass, replace

from keyaction.cases.study.reader import Study
from keyaction.sim.code.need_numba import need_numba
from keyaction.sim.processes.count import workers
from keyaction.sim.sweep.at_once import BLOCKS, compute_at_once
from keyaction.sim.sweep.blocks import Block, Task, compute, compute_together
from keyaction.sim.sweep.designs import Doubt, recipe_of
from keyaction.sim.sweep.manifest import manifest, plan_of
from keyaction.sim.sweep.results import blocks_of
from keyaction.sim.sweep.usual import judged_of

STARTING = 2.5
"""Seconds, about, until fresh processes compute."""


@dataclass(frozen=True)
class Forecast:
    """What a sweep will take.

    Attributes
    ----------
    designs, notes, blocks : int
    each, judging : float
        Seconds for one design at one note on one core, and for all judging by SciPy; measured.
    seconds : float
        Whole duration on `jobs` processes, about.
    size : int
        Bytes on disk, about.
    """

    designs: int
    notes: int
    blocks: int
    jobs: int
    each: float
    judging: float
    seconds: float
    size: int


def forecast(
    study: Study, jobs: int = 0, judge: int | None = None, device: str = "cpu", doubt: Doubt = "decide"
) -> Forecast:
    """How many designs, how long and how large; the first block is computed to measure it, and nothing is written."""
    need_numba()
    recipe, plan = replace(recipe_of(study), device=device, doubt=doubt), plan_of(study)
    judge = judged_of(plan.count) if judge is None else judge
    blocks = blocks_of(manifest(study, recipe, judge))
    jobs = min(workers(jobs), len(blocks))
    at_once, together = (1, compute_together) if device == "cpu" else (BLOCKS, compute_at_once)
    tasks = [Task(replace(one, judged=0), plan.rows(one.start, one.stop)) for one in blocks[:at_once]]
    together(recipe, tasks)  # compiles
    plain = together(recipe, tasks)
    judged = compute(recipe, Task(Block(0, 0, 1, 1), tasks[0].rows[:1])).seconds if judge else 0.0
    trains = plan.count * len(study.notes)
    each = sum(one.seconds for one in plain) / sum(len(one.status) for one in plain)
    seconds = (each * trains + judged * judge) / jobs + (STARTING if jobs > 1 else 0.0)
    figures = 8 * (trains * (len(study.quantities) + 1) + plan.count * (2 * plan.inputs + 1))
    return Forecast(plan.count, len(study.notes), len(blocks), jobs, each, judged * judge, seconds, 2 * figures)
