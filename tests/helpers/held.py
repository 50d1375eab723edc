"""The program with a brake: from some note or block on nothing gets done, so that it cannot be over too soon.

A process that is to be broken off in the middle must still be in the middle when the signal comes, however long the
machine takes to deliver it. Held work is done but never handed over.
"""

from __future__ import annotations

import os
import sys
import time

from patience import HANG

from keyaction.sim.cli import main
from keyaction.sim.run import run
from keyaction.sim.run.note import NoteResult
from keyaction.sim.sweep import blocks, dask_cluster, dask_worker, pool

NOTES, BLOCKS = "KEYACTION_TEST_NOTES", "KEYACTION_TEST_BLOCKS"
"""Environment variables: the notes (numbers) that are played to their end; the first block that is not."""

_work, _compute, _compute_packed, _play = run.work, blocks.compute, blocks.compute_packed, dask_worker.play


def hold(wanted: bool) -> None:
    """Stay here for ever, if so wanted."""
    while wanted:
        time.sleep(0.05)


def work(task: run.Task) -> NoteResult:
    """Play a note, and keep it if it is not one of those that may end."""
    found = _work(task)
    hold(str(task.note) not in os.environ[NOTES].split())
    return found


def compute(recipe: object, task: blocks.Task) -> blocks.BlockResult:
    """Compute a block, and keep it from some block on."""
    found = _compute(recipe, task)
    hold(task.block.index >= int(os.environ[BLOCKS]))
    return found


def compute_packed(recipe: bytes, task: blocks.Task) -> blocks.BlockResult:
    """The same in another process."""
    found = _compute_packed(recipe, task)
    hold(task.block.index >= int(os.environ[BLOCKS]))
    return found


def play(recipe: bytes, tasks: list[blocks.Task]) -> list[blocks.BlockResult]:
    """The same of blocks together, in a worker."""
    found = _play(recipe, tasks)
    hold(tasks[-1].block.index >= int(os.environ[BLOCKS]))
    return found


def brake() -> None:
    """Put the brake on, where the environment asks for it; a scheduler may answer as late as it likes."""
    dask_cluster.ANSWERS = HANG
    if NOTES in os.environ:
        run.work = work
    if BLOCKS in os.environ:
        pool.compute = compute
        pool.compute_packed, dask_cluster.play = compute_packed, play


if __name__ == "__main__":
    # Under its own name, by which other processes find it.
    import held

    held.brake()
    sys.exit(main())
