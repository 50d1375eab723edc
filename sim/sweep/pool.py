"""Blocks computed by processes of this machine, or right here."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from functools import partial
from itertools import chain, islice

from keyaction.sim.lanes.desk import Desk
from keyaction.sim.lanes.engines import machine_of
from keyaction.sim.processes.tasks import TWICE, in_processes
from keyaction.sim.sweep.blocks import (
    TOGETHER,
    Block,
    BlockResult,
    Task,
    compute,
    compute_packed,
    compute_together,
    lost_block,
    packed,
    together_packed,
)
from keyaction.sim.sweep.designs import Recipe

DIED = f"the process that computed it {TWICE}; --resume tries again"


def need_device(device: str) -> None:
    """Make sure that this machine can compute motions on a device.

    Raises
    ------
    keyaction.sim.code.no_gpu.NoGpu
        When the device cannot be used.
    """
    if device != "cpu":
        machine_of(device)


def on_this_machine(recipe: Recipe, tasks: Iterable[Task], jobs: int) -> Iterator[BlockResult]:
    """Results as they come; a block whose process dies twice is lost.

    Parameters
    ----------
    recipe : Recipe
    tasks : iterable of Task
        Taken as they are needed.
    jobs : int
        Processes; with one, the blocks are computed in this process.

    Raises
    ------
    keyaction.sim.processes.tasks.NoProcesses
        If not one process computed anything.
    """
    source = iter(tasks)
    first = next(source, None)
    if first is None:
        return
    if jobs > 1:
        _compile(recipe, first)
    work = partial(compute_packed, packed(recipe)) if jobs > 1 else partial(compute, recipe)
    yield from in_processes(work, chain([first], source), jobs, lambda task: lost_block(recipe, task, DIED))


def on_a_device(recipe: Recipe, tasks: Iterable[Task], jobs: int, count: int) -> Iterator[list[BlockResult]]:
    """Blocks as they come, played together; processes press and judge, this one plays for all of them.

    Parameters and errors are those of `on_this_machine`; `count` is how many tasks there are.
    """
    groups = grouped(tasks, min(TOGETHER, -(-count // jobs)))

    def lost(group: list[Task]) -> list[BlockResult]:
        return [lost_block(recipe, one, DIED) for one in group]

    if jobs == 1:
        yield from in_processes(partial(compute_together, recipe), groups, 1, lost)
        return
    desk = Desk(machine_of(recipe.device))
    try:
        yield from in_processes(partial(together_packed, packed(recipe), desk.address), groups, jobs, lost)
    finally:
        desk.close()


def grouped(tasks: Iterable[Task], size: int) -> Iterator[list[Task]]:
    """Some tasks each: presses take most of the time, so no process waits for another's group."""
    source = iter(tasks)
    while group := list(islice(source, max(size, 1))):
        yield group


def _compile(recipe: Recipe, task: Task) -> None:
    """Compute one design here, so that its equations are compiled once and not by every process."""
    start = task.block.start
    compute(recipe, Task(Block(task.block.index, start, start + 1, 0), task.rows[:1]))
