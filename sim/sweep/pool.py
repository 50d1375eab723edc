"""Blocks computed by processes of this machine, or right here."""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Generator, Iterable, Iterator, Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from contextlib import closing
from functools import partial
from itertools import chain, islice
from typing import TypeVar

from keyaction.sim.lanes.engines import machine_of
from keyaction.sim.processes.tasks import TWICE, in_processes
from keyaction.sim.sweep.at_once import AtOnce, played_at_once
from keyaction.sim.sweep.blocks import LOST, Block, BlockResult, Task, compute, compute_packed, lost_block, packed
from keyaction.sim.sweep.designs import Recipe
from keyaction.sim.sweep.questions import Answer, Question, answered, answered_aside, nothing, rehearsal

Given = TypeVar("Given")
Made = TypeVar("Made")
PLAYERS = 4
"""Threads that play groups of blocks on a device: what few designs at small steps wait for, others compute."""
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


def on_a_device(recipe: Recipe, groups: Iterable[Sequence[Task]], jobs: int) -> Iterator[list[BlockResult]]:
    """Groups of blocks as they come, each played at once on a device; processes let SciPy answer what is asked of it.

    Parameters and errors are those of `on_this_machine`.
    """
    pipe, work = _Pipe(recipe, groups), answered_aside if jobs > 1 else answered
    with closing(pipe.questions(jobs > 1)) as questions:
        for found in in_processes(partial(work, packed(recipe)), questions, jobs, _unanswered):
            pipe.take(found)
            yield from pipe.ready()


def _ahead(work: Callable[[Given], Made], given: Iterable[Given], threads: int) -> Generator[Made]:
    """What is made of each, in their order; threads make the next ones meanwhile.

    Closed early, it waits for what is being made and begins nothing more.
    """
    waiting = deque[Future[Made]]()
    with ThreadPoolExecutor(threads) as pool:
        try:
            for one in given:
                waiting.append(pool.submit(work, one))
                if len(waiting) > threads:
                    yield waiting.popleft().result()
            while waiting:
                yield waiting.popleft().result()
        finally:
            for future in waiting:
                future.cancel()


def grouped(tasks: Iterable[Task], size: int) -> Iterator[list[Task]]:
    """Some tasks each."""
    source = iter(tasks)
    while group := list(islice(source, max(size, 1))):
        yield group


def _unanswered(question: Question) -> Answer:
    return Answer(question, status=f"{LOST}{DIED}")


class _Pipe:
    """Groups of blocks on their way: played, asked about, and done."""

    def __init__(self, recipe: Recipe, groups: Iterable[Sequence[Task]]) -> None:
        self._recipe, self._groups = recipe, groups
        self._open: dict[int, tuple[AtOnce | list[BlockResult], int]] = {}
        self._done: list[list[BlockResult]] = []

    def questions(self, others: bool) -> Generator[Question]:
        """What SciPy is asked, group by group; some of the next ones are played meanwhile.

        Where others answer, one of them rehearses while the first group is played.
        """
        source = iter(self._groups)
        first = list(islice(source, 1))
        if others and any(task.block.judged for group in first for task in group):
            yield rehearsal(first[0][0], self._recipe.strokes)
        with closing(_ahead(partial(played_at_once, self._recipe), chain(first, source), PLAYERS)) as groups:
            for number, played in enumerate(groups):
                asked = list(played.questions(number)) if isinstance(played, AtOnce) else []
                asked = asked or [nothing(number, self._recipe.strokes)]
                self._open[number] = played, len(asked)
                yield from asked

    def take(self, answer: Answer) -> None:
        """Take over an answer."""
        number = answer.question.group
        if number not in self._open:  # a rehearsal
            return
        played, left = self._open.pop(number)
        if isinstance(played, AtOnce) and answer.question.place >= 0:
            played.take(answer)
        if left > 1:
            self._open[number] = played, left - 1
        else:
            self._done.append(played.results() if isinstance(played, AtOnce) else played)

    def ready(self) -> Iterator[list[BlockResult]]:
        """Groups that are done."""
        while self._done:
            yield self._done.pop(0)


def _compile(recipe: Recipe, task: Task) -> None:
    """Compute one design here, so that its equations are compiled once and not by every process."""
    start = task.block.start
    compute(recipe, Task(Block(task.block.index, start, start + 1, 0), task.rows[:1]))
