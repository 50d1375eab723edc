"""What a sweep will take: designs, time and size, measured before it starts."""

from __future__ import annotations

import time
from collections.abc import Sequence
from dataclasses import dataclass, replace

from keyaction.cases.study.reader import Study
from keyaction.sim.code.need_numba import need_numba
from keyaction.sim.lanes.evaluate import Doubt
from keyaction.sim.processes.count import workers
from keyaction.sim.sweep.at_once import AtOnce, played_at_once
from keyaction.sim.sweep.blocks import Block, Task, compute
from keyaction.sim.sweep.designs import Recipe, recipe_of
from keyaction.sim.sweep.manifest import manifest, plan_of
from keyaction.sim.sweep.plans import Plan
from keyaction.sim.sweep.questions import answer as answered
from keyaction.sim.sweep.results import blocks_of
from keyaction.sim.sweep.usual import judged_of

STARTING = 2.5
"""Seconds, about, until fresh processes compute."""
MEASURED = 512
"""Blocks that are played to measure a device, at most."""


@dataclass(frozen=True)
class Forecast:
    """What a sweep will take.

    Attributes
    ----------
    designs, notes, blocks : int
    each, judging : float
        Seconds for one design at one note, on one core or on a device, and of SciPy: for judging, and on a device for
        what it decides; measured.
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
    trains = plan.count * len(study.notes)
    measured = _alone(recipe, plan, blocks[:1]) if device == "cpu" else _at_once(recipe, plan, blocks[:MEASURED])
    each, asked, answer = measured
    judging = answer * (judge + asked * trains)
    seconds = (each * trains + judging) / jobs if device == "cpu" else max(each * trains, judging / jobs)
    seconds += STARTING if jobs > 1 else 0.0
    figures = 8 * (trains * (len(study.quantities) + 1) + plan.count * (2 * plan.inputs + 1))
    return Forecast(plan.count, len(study.notes), len(blocks), jobs, each, judging, seconds, 2 * figures)


Measured = tuple[float, float, float]
"""Seconds for a train, the share of trains about which SciPy is asked besides the sample, seconds for its answer."""


def _alone(recipe: Recipe, plan: Plan, blocks: Sequence[Block]) -> Measured:
    """A block on one core; what SciPy decides is in its time."""
    task = _tasks(plan, blocks)[0]
    compute(recipe, task)  # compiles
    found = compute(recipe, task)
    judged = compute(recipe, Task(Block(0, 0, 1, 1), task.rows[:1])).seconds
    return found.seconds / len(found.status), 0.0, judged


def _at_once(recipe: Recipe, plan: Plan, blocks: Sequence[Block]) -> Measured:
    """Some blocks on a device, and the last question about them: SciPy's judgement of one of their trains."""
    first, *others = _tasks(plan, blocks)
    tasks = [replace(first, block=replace(first.block, judged=1)), *others]
    played_at_once(recipe, tasks)  # compiles
    began = time.perf_counter()
    played = played_at_once(recipe, tasks)
    questions = list(played.questions()) if isinstance(played, AtOnce) else []
    seconds = time.perf_counter() - began
    began = time.perf_counter()
    for question in questions[-1:]:
        answered(recipe, question)
    trains = sum(len(task.rows) for task in tasks) * len(recipe.notes)
    decided = sum(one.asked is not None for one in questions)
    return seconds / trains, decided / trains, time.perf_counter() - began


def _tasks(plan: Plan, blocks: Sequence[Block]) -> list[Task]:
    return [Task(replace(one, judged=0), plan.rows(one.start, one.stop)) for one in blocks]
