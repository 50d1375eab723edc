"""Work that kills the process that does it; processes find it by its name."""

from __future__ import annotations

import os
import signal
import struct
import sys
from collections import deque
from collections.abc import Callable, Iterable, Iterator, Sequence
from functools import partial
from multiprocessing.connection import Connection

from keyaction.sim.code.no_gpu import GpuFailed
from keyaction.sim.sweep import devices
from keyaction.sim.sweep.blocks import BlockResult, Task, compute_packed, lost_block
from keyaction.sim.sweep.designs import Recipe

VICTIM = "KEYACTION_TEST_VICTIM"
"""Environment variable: the block at which a process kills itself."""


def deadly(recipe: bytes, task: Task) -> BlockResult:
    """Compute a block, or die at one of them as if the system had run out of memory."""
    if task.block.index == int(os.environ[VICTIM]):
        os.kill(os.getpid(), signal.SIGKILL)
    return compute_packed(recipe, task)


def dies(*_: object) -> BlockResult:
    """Die at once."""
    os._exit(1)


def halved(number: int) -> int:
    """Half of an even number; an odd one kills the process, a negative one is an error."""
    if number < 0:
        raise ValueError(f"{number} is negative")
    if number % 2:
        os._exit(1)
    return number // 2


def half_said(number: int) -> int:
    """Half of an even number; at an odd one the process dies amid the message that it sends."""
    if number % 2:
        frame = sys._getframe()
        while "result_queue" not in frame.f_locals:
            frame = frame.f_back
        os.write(frame.f_locals["result_queue"]._writer.fileno(), struct.pack("!i", 1000) + bytes(10))
        os._exit(1)
    return number // 2


def dying_player(there: Connection, recipe: bytes, device: int, jobs: int) -> None:
    """A player that computes nothing, takes groups ahead, and dies at one that holds the victim."""
    devices.on_a_device = hardly_played
    devices._play(there, recipe, device, jobs)


def failing_player(there: Connection, recipe: bytes, device: int, jobs: int) -> None:
    """A player that computes nothing, and whose GPU fails at a group that holds the victim."""
    devices.on_a_device = partial(hardly_played, end=_fail)
    devices._play(there, recipe, device, jobs)


def _fail() -> None:
    raise GpuFailed("the GPU failed amid its work (made up)")


def _die() -> None:
    os.kill(os.getpid(), signal.SIGKILL)


def hardly_played(
    recipe: Recipe, groups: Iterable[Sequence[Task]], jobs: int, end: Callable[[], None] = _die
) -> Iterator[list[BlockResult]]:
    """Every block lost, as it were."""
    ahead = deque[Sequence[Task]]()
    for group in groups:
        ahead.append(group)
        if len(ahead) > jobs:
            yield _hardly(recipe, ahead.popleft(), end)
    yield from (_hardly(recipe, group, end) for group in ahead)


def _hardly(recipe: Recipe, group: Sequence[Task], end: Callable[[], None]) -> list[BlockResult]:
    if int(os.environ[VICTIM]) in {task.block.index for task in group}:
        end()
    return [lost_block(recipe, task, "played") for task in group]
