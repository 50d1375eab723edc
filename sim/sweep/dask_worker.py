"""What a Dask worker does: blocks in its own process, motions on its own machine's device."""

from __future__ import annotations

from collections.abc import Sequence
from importlib import import_module
from threading import Lock
from typing import Any

from keyaction.sim.code.no_gpu import NoGpu
from keyaction.sim.files.problem import FileProblem
from keyaction.sim.lanes.engines import machine_of
from keyaction.sim.sweep.at_once import answered_here, played_at_once
from keyaction.sim.sweep.blocks import BlockResult, Task, compute, unpacked

_LOCK = Lock()
"""Of the device of this process."""


class NoDevice(FileProblem):
    """A worker that cannot compute on the device that is asked for."""


def unable(device: str) -> str:
    """Why this machine cannot compute on a device; nothing where it can."""
    try:
        _ = device == "cpu" or machine_of(device)
    except NoGpu as problem:
        return str(problem)
    return ""


def play(recipe: bytes, tasks: Sequence[Task]) -> list[BlockResult]:
    """Compute blocks together in a worker.

    Raises
    ------
    OtherProgram
        If the worker runs another version of the program.
    NoDevice
        If it cannot use the device.
    """
    found = unpacked(recipe)
    try:
        if found.device == "cpu":
            return [compute(found, task) for task in tasks]
        with _LOCK:  # the threads of a worker take turns at its device, and let SciPy answer side by side
            played = played_at_once(found, tasks)
        return answered_here(found, played)
    except NoGpu as problem:
        raise NoDevice(
            f"the worker {_here().address} cannot compute on --device {found.device} ({problem}); what was finished is "
            "kept: mend the worker or stop it, then go on with --resume"
        ) from None


def _here() -> Any:
    """The worker that this is."""
    distributed: Any = import_module("distributed")
    return distributed.get_worker()
