"""Blocks computed by the workers of a Dask scheduler."""

from __future__ import annotations

import logging
import time
import uuid
from collections.abc import Iterable, Iterator
from importlib import import_module
from importlib.util import find_spec
from typing import Any

from keyaction.sim.files.begun import Refused
from keyaction.sim.files.problem import FileProblem
from keyaction.sim.sweep.blocks import BlockResult, Task, lost_block, packed, program
from keyaction.sim.sweep.dask_worker import play, unable
from keyaction.sim.sweep.designs import Recipe
from keyaction.sim.sweep.devices import MOST
from keyaction.sim.sweep.pool import grouped

ANSWERS = 10.0
"""s: how long a scheduler may take to answer, and to have its first worker."""
AHEAD = 2
"""Tasks handed out per thread of the workers."""
LOOK = 1.0
"""s after which it is asked again how many threads the workers have."""
DIED = "the workers that computed it died again and again; --resume tries again"


def connect(address: str, device: str = "cpu") -> Any:
    """A client of the scheduler, whose workers run this very program and can compute on the device.

    Raises
    ------
    Refused
        When Dask is not installed, there is no scheduler, it has no worker, or a worker has another program or lacks
        the device.
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
    _ask(client, address, device)
    return client


def _ask(client: Any, address: str, device: str) -> None:
    """Ask every worker whether it can compute on the device, before anything is written."""
    told = client.run(unable, device) if device != "cpu" else {}
    for worker, why in told.items():
        if why:
            client.close()
            raise Refused(f"--cluster {address}: the worker {worker} cannot compute on --device {device} ({why})")


def quiet() -> None:
    """Keep Dask's own remarks about workers that come and go out of the command's output."""
    if find_spec("distributed"):
        import_module("distributed")  # it sets its levels when it is imported
        for name in ("distributed", "distributed.client"):
            logging.getLogger(name).setLevel(logging.CRITICAL)


def _first_line(problem: BaseException) -> str:
    return str(problem).split("\n")[0] or type(problem).__name__


def on_cluster(client: Any, recipe: Recipe, tasks: Iterable[Task], count: int) -> Iterator[list[BlockResult]]:
    """Blocks as they come, those of a device played together; Dask gives those of a worker that dies to others.

    Parameters
    ----------
    client
        As `connect` gives it.
    recipe : Recipe
    tasks : iterable of Task
        Taken as they are needed.
    count : int
        How many there are.

    Raises
    ------
    FileProblem
        When the scheduler is gone, or workers have joined that run another program (`OtherProgram`) or lack the device
        (`NoDevice`).
    """
    distributed: Any = import_module("distributed")
    size = 1 if recipe.device == "cpu" else min(MOST, -(-count // _threads(client)))
    sent, source, mark = packed(recipe), grouped(tasks, size), uuid.uuid4().hex
    in_hand: dict[Any, list[Task]] = {}
    # With results: they are fetched side by side, not one after the other when they are asked for.
    queue = distributed.as_completed(loop=client.loop, with_results=True, raise_errors=False)
    room, looked = 0, -LOOK
    try:
        while True:
            if time.monotonic() - looked >= LOOK:
                room, looked = AHEAD * _threads(client), time.monotonic()
            while len(in_hand) < room and (group := next(source, None)) is not None:
                key = f"keyaction-{mark}-{group[0].block.index}"
                future = client.submit(play, sent, group, key=key, pure=False)
                in_hand[future] = group
                queue.add(future)
            if not in_hand:
                return
            future, found = next(queue)
            group = in_hand.pop(future)
            try:
                blocks = _blocks(found)
            except distributed.KilledWorker:
                blocks = [lost_block(recipe, task, DIED) for task in group]
            yield blocks
    except (distributed.CancelledError, OSError) as problem:
        raise FileProblem(
            f"the scheduler is gone ({_first_line(problem)}); what was finished is kept: go on with --resume"
        ) from None
    finally:
        client.cancel(list(in_hand))


def _blocks(found: Any) -> list[BlockResult]:
    """What a worker gave; or what it raised, which comes with its type and traceback, or alone if it was cancelled."""
    if isinstance(found, tuple):
        raise found[1].with_traceback(found[2])
    if isinstance(found, BaseException):
        raise found
    return list(found)


def _threads(client: Any) -> int:
    """Threads of all workers."""
    found: dict[str, int] = client.nthreads()
    return max(sum(found.values()), 1)


def close(client: Any) -> None:
    """Let go of the scheduler, which goes on."""
    client.close(timeout=5)
