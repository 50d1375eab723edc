"""Blocks computed by processes of this machine, or right here."""

from __future__ import annotations

from collections.abc import Generator, Iterable, Iterator
from concurrent.futures import FIRST_COMPLETED, Future, wait
from concurrent.futures.process import BrokenProcessPool
from itertools import chain

from keyaction.sim.files.problem import FileProblem
from keyaction.sim.processes.pool import close_pool, new_pool, no_interrupt
from keyaction.sim.sweep.blocks import Block, BlockResult, Task, compute, compute_packed, lost_block, packed
from keyaction.sim.sweep.designs import Recipe

AHEAD = 2
"""Blocks handed out per process, so that none waits for the next."""
UNABLE = (
    "processes cannot compute here: they die at once (out of memory, or a script whose calls are not "
    'under if __name__ == "__main__":); one process may serve: jobs = 1'
)
DIED = "the process that computed it died twice (out of memory, or killed); --resume tries again"


def in_processes(recipe: Recipe, tasks: Iterable[Task], jobs: int) -> Iterator[BlockResult]:
    """Results as they come. Where a process dies, its blocks are tried once more, each by itself.

    Parameters
    ----------
    recipe : Recipe
    tasks : iterable of Task
        Taken as they are needed.
    jobs : int
        Processes; with one, the blocks are computed in this process.
    """
    if jobs <= 1:
        for task in tasks:
            yield compute(recipe, task)
        return
    source = iter(tasks)
    first = next(source, None)
    if first is None:
        return
    _compile(recipe, first)
    crew, source = _Crew(packed(recipe)), chain([first], source)
    while lost := (yield from crew.until_broken(source, jobs, jobs * AHEAD)):
        again, died = iter(lost), list[Task]()
        while last := (yield from crew.until_broken(again, 1, 1)):
            died += last
        if not crew.served:
            raise FileProblem(UNABLE)
        yield from (lost_block(recipe, task, DIED) for task in died)


def _compile(recipe: Recipe, task: Task) -> None:
    """Compute one design here, so that its equations are compiled once and not by every process."""
    start = task.block.start
    compute(recipe, Task(Block(task.block.index, start, start + 1, 0), task.rows[:1]))


class _Crew:
    """Pools of processes, one after the other."""

    def __init__(self, recipe: bytes) -> None:
        self._recipe = recipe
        self.served = False

    def until_broken(self, tasks: Iterator[Task], jobs: int, ahead: int) -> Generator[BlockResult, None, list[Task]]:
        """Results of the tasks; returns those that were in hand when a process died."""
        pool = new_pool(jobs)
        waiting: dict[Future[BlockResult], Task] = {}
        broken: list[Task] = []
        whole = False
        try:
            while True:
                with no_interrupt():
                    while not broken and len(waiting) < ahead and (task := next(tasks, None)) is not None:
                        try:
                            waiting[pool.submit(compute_packed, self._recipe, task)] = task
                        except BrokenProcessPool:
                            broken.append(task)
                if not waiting:
                    break
                done, _ = wait(waiting, return_when=FIRST_COMPLETED)
                for future in done:
                    task = waiting.pop(future)
                    try:
                        yield future.result()
                        self.served = True
                    except BrokenProcessPool:
                        broken.append(task)
            whole = True
        finally:
            close_pool(pool, now=not whole)
        return broken
