"""Work that kills the process that does it; processes find it by its name."""

from __future__ import annotations

import os
import signal
import struct
import sys

from keyaction.sim.sweep.blocks import BlockResult, Task, compute_packed

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
