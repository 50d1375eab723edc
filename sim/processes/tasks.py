"""Tasks shared out to processes: results as they come, and a process that dies takes no other task with it."""

from __future__ import annotations

import pickle
from collections.abc import Callable, Generator, Iterable, Iterator
from concurrent.futures import FIRST_COMPLETED, Future, wait
from concurrent.futures.process import BrokenProcessPool
from dataclasses import dataclass, field
from itertools import chain
from typing import Any, Generic, TypeVar

from keyaction.sim.processes.pool import broken, close_pool, new_pool, no_interrupt

Task = TypeVar("Task")
Result = TypeVar("Result")

AHEAD = 2
"""Tasks handed out per process, so that none waits for the next."""
LOOK = 1.0
"""s after which a pool is looked at that has given nothing."""
TWICE = "died twice (out of memory, or killed)"
"""What befell the process of a task that is given up."""


class NoProcesses(RuntimeError):
    """Every process that was started died before it had done anything."""

    def __init__(self) -> None:
        super().__init__(
            "processes cannot compute here: they die at once (out of memory, or a script whose calls are not "
            'under if __name__ == "__main__":); one process may serve: jobs = 1'
        )


class NotCarried(NoProcesses):
    """Work that cannot be handed to a process of its own."""

    def __init__(self, reason: str) -> None:
        RuntimeError.__init__(
            self,
            f"other processes cannot take over the work: {reason}. Classes of your own (parts, laws) must stand at the "
            "top of a module that can be imported, not in a function, a notebook or under "
            'if __name__ == "__main__":; or let this process do it: jobs = 1',
        )
        self.reason = reason

    def __reduce__(self) -> tuple[type[NotCarried], tuple[str]]:
        return NotCarried, (self.reason,)


def _carried(packed: bytes) -> Any:
    """Do work that was handed over; a process that cannot read it says so instead of dying."""
    try:
        work, task = pickle.loads(packed)  # our own bytes, from the process that started this one
    except Exception as problem:
        raise NotCarried(str(problem)) from None
    return work(task)


def in_processes(
    work: Callable[[Task], Result], tasks: Iterable[Task], jobs: int, given_up: Callable[[Task], Result]
) -> Iterator[Result]:
    """Results of the tasks as they come. Where a process dies, what was in hand is tried once more, one by one.

    Parameters
    ----------
    work : callable
        Does one task; a function of a module, or a `functools.partial` of one, that other processes can import.
    tasks : iterable
        Taken as they are needed.
    jobs : int
        Processes; with one, the work is done in this process.
    given_up : callable
        The result of a task whose process died twice.

    Raises
    ------
    NoProcesses
        If not one process did anything.
    NotCarried
        If the work, or a class in it, cannot be handed to another process.
    """
    if jobs <= 1:
        yield from map(work, tasks)
        return
    crew, source = _Crew(work), iter(tasks)
    while lost := (yield from crew.until_broken(source, jobs, jobs * AHEAD)):
        again, died = iter(lost), list[Task]()
        while last := (yield from crew.until_broken(again, 1, 1)):
            died += last
        if not crew.served:
            raise NoProcesses
        yield from map(given_up, died)


@dataclass
class _Crew(Generic[Task, Result]):
    """Pools of processes, one after the other, and whether any has served."""

    work: Callable[[Task], Result]
    served: bool = False

    def until_broken(self, tasks: Iterator[Task], jobs: int, ahead: int) -> Generator[Result, None, list[Task]]:
        """Results of the tasks; returns those that were in hand when a process died."""
        first = next(tasks, None)
        if first is None:
            return []
        hand, whole = _Hand(self.work, chain([first], tasks), jobs, ahead), False
        try:
            while hand.fill():
                for result in hand.done():
                    self.served = True
                    yield result
            whole = not hand.lost  # a pool of which a process died may wait for the rest of its last word for ever
        finally:
            hand.close(now=not whole)
        return hand.lost


@dataclass
class _Hand(Generic[Task, Result]):
    """One pool and what it has in hand."""

    work: Callable[[Task], Result]
    tasks: Iterator[Task]
    jobs: int
    ahead: int
    waiting: dict[Future[Result], Task] = field(default_factory=dict)
    lost: list[Task] = field(default_factory=list)

    def __post_init__(self) -> None:
        self._pool = new_pool(self.jobs)

    def fill(self) -> bool:
        """Hand out tasks up to what is wanted ahead; whether there is anything to wait for.

        The next task may be long in coming: results that are there are not kept waiting for it, nor is Ctrl-C.
        """
        while not self.lost and len(self.waiting) < self.ahead and (task := next(self.tasks, None)) is not None:
            self._submit(task)
            if any(future.done() for future in self.waiting):
                break
        return bool(self.waiting)

    def _submit(self, task: Task) -> None:
        try:
            packed = pickle.dumps((self.work, task))
        except Exception as problem:
            raise NotCarried(str(problem)) from None
        try:
            with no_interrupt():
                self.waiting[self._pool.submit(_carried, packed)] = task
        except BrokenProcessPool:
            self.lost.append(task)

    def done(self) -> Iterator[Result]:
        """Wait for the next results; tasks of a process that died are lost."""
        ready = wait(self.waiting, LOOK, return_when=FIRST_COMPLETED).done
        if not ready and broken(self._pool):
            self.lost += [task for future, task in self.waiting.items() if not future.done()]
            self.waiting = {future: task for future, task in self.waiting.items() if future.done()}
        for future in ready:
            task = self.waiting.pop(future)
            try:
                result = future.result()
            except BrokenProcessPool:
                self.lost.append(task)
            else:
                yield result

    def close(self, now: bool) -> None:
        """Let the pool end."""
        close_pool(self._pool, now)
