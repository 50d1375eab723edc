"""Blocks computed by the workers of a Dask scheduler."""

from __future__ import annotations

import logging
import uuid
from collections.abc import Iterable, Iterator
from importlib import import_module
from importlib.util import find_spec
from typing import Any

from keyaction.sim.files.begun import Refused
from keyaction.sim.files.problem import FileProblem
from keyaction.sim.sweep.blocks import BlockResult, Task, compute_packed, lost_block, packed, program
from keyaction.sim.sweep.designs import Recipe

ANSWERS = 10.0
"""s: how long a scheduler may take to answer, and to have its first worker."""
AHEAD = 2
"""Blocks handed out per thread of the workers."""
DIED = "the workers that computed it died again and again; --resume tries again"


def connect(address: str) -> Any:
    """A client of the scheduler, whose workers run this very program.

    Raises
    ------
    Refused
        When Dask is not installed, there is no scheduler, it has no worker, or a worker has another program.
    """
    try:
        distributed: Any = import_module("distributed")
    except ImportError:
        raise Refused('--cluster needs Dask: pip install "keyaction[cluster]"') from None
    try:
        client = distributed.Client(address, timeout=ANSWERS, set_as_default=False)
    except (OSError, ValueError, TypeError) as problem:
        raise Refused(
            f"--cluster {address}: no scheduler answers there ({_first_line(problem)}); "
            "start one with: dask scheduler, then: dask worker ADDRESS"
        ) from None
    try:
        client.wait_for_workers(1, timeout=ANSWERS)
        programs = client.run(program)
    except TimeoutError:
        client.close()
        raise Refused(
            f"--cluster {address}: the scheduler has no workers; start one with: dask worker {address}"
        ) from None
    except Exception as problem:
        client.close()
        raise Refused(f"--cluster {address}: its workers cannot run keyaction ({_first_line(problem)})") from None
    others = [worker for worker, found in programs.items() if found != program()]
    if others:
        client.close()
        raise Refused(
            f"--cluster {address}: the worker {others[0]} has another version of the program, of Python or of a "
            "library; all must be alike, for figures of different programs are not mixed"
        )
    return client


def quiet() -> None:
    """Keep Dask's own remarks about workers that come and go out of the command's output."""
    if find_spec("distributed"):
        import_module("distributed")  # it sets its levels when it is imported
        for name in ("distributed", "distributed.client"):
            logging.getLogger(name).setLevel(logging.CRITICAL)


def _first_line(problem: BaseException) -> str:
    return str(problem).split("\n")[0] or type(problem).__name__


def on_cluster(client: Any, recipe: Recipe, tasks: Iterable[Task]) -> Iterator[BlockResult]:
    """Results as they come; Dask gives the blocks of a worker that dies to others.

    Raises
    ------
    FileProblem
        When the scheduler is gone, or workers of another program have joined (`OtherProgram`).
    """
    distributed: Any = import_module("distributed")
    sent, source, mark = packed(recipe), iter(tasks), uuid.uuid4().hex
    in_hand: dict[Any, Task] = {}
    queue = distributed.as_completed(loop=client.loop)
    try:
        while True:
            room = AHEAD * max(sum(client.nthreads().values()), 1)
            while len(in_hand) < room and (task := next(source, None)) is not None:
                key = f"keyaction-{mark}-{task.block.index}"
                future = client.submit(compute_packed, sent, task, key=key, pure=False)
                in_hand[future] = task
                queue.add(future)
            if not in_hand:
                return
            future = next(queue)
            task = in_hand.pop(future)
            try:
                result = future.result()
            except distributed.KilledWorker:
                result = lost_block(recipe, task, DIED)
            yield result
    except (distributed.CancelledError, OSError) as problem:
        raise FileProblem(
            f"the scheduler is gone ({_first_line(problem)}); what was finished is kept: go on with --resume"
        ) from None
    finally:
        client.cancel(list(in_hand))


def close(client: Any) -> None:
    """Let go of the scheduler, which goes on."""
    client.close(timeout=5)
