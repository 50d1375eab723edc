"""What a Dask worker does: blocks in its own process, motions on its own machine's device."""

from __future__ import annotations

from collections.abc import Sequence
from importlib import import_module
from threading import Lock
from typing import Any

from keyaction.sim.code.machines import Machine
from keyaction.sim.code.no_gpu import NoGpu
from keyaction.sim.files.problem import FileProblem
from keyaction.sim.lanes.desk import Desk, hand_in_at
from keyaction.sim.lanes.engines import machine_of
from keyaction.sim.sweep.blocks import BlockResult, Task, compute_together, unpacked

_LOCK = Lock()
_DESKS: dict[str, Desk] = {}
"""The desk of this process, by its device."""


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
        if found.device != "cpu":
            _share(machine_of(found.device), found.device)
        return compute_together(found, tasks)
    except NoGpu as problem:
        raise NoDevice(
            f"the worker {_here().address} cannot compute on --device {found.device} ({problem}); what was finished is "
            "kept: mend the worker or stop it, then go on with --resume"
        ) from None


def _share(machine: Machine, device: str) -> None:
    """Let the threads of this worker hand their motions in at one desk, which plays together what waits."""
    if _here().state.nthreads < 2:
        return
    with _LOCK:
        if device not in _DESKS:
            _DESKS[device] = Desk(machine)
        hand_in_at(_DESKS[device].address)


def _here() -> Any:
    """The worker that this is."""
    distributed: Any = import_module("distributed")
    return distributed.get_worker()
