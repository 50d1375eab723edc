"""What plays blocks of lanes: Numba in threads, or the same statements as C on a device."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Protocol

from keyaction.models.train.structure import Structure
from keyaction.sim.code.lane_kernel import LaneRows, load_lanes, load_rows
from keyaction.sim.code.machines import Machine, gpu, own_compiler
from keyaction.sim.lanes.laid import Laid
from keyaction.sim.lanes.on_device import Compiled
from keyaction.sim.lanes.sent import Flags, Kept, Sent
from keyaction.sim.lanes.threads import Threads
from keyaction.sim.motion.integrate import Floats

DEVICES = ("cpu", "gpu", "cc")
"""Where lanes are computed; the last is this machine's C compiler, for trials of what a GPU is given."""


class Engine(Protocol):
    """Plays lanes."""

    @property
    def rows(self) -> LaneRows:
        """What stands where in the arrays."""

    def constants(self, parameters: Sent, steps: Sent, nought: Sequence[int] = ()) -> tuple[Kept, dict[int, float]]:
        """Constants of designs from their parameters, some taken as nought, and their steps; which are all 0 or 1."""

    def rest(self, laid: Laid, sizes: Sequence[int]) -> tuple[Floats, Flags]:
        """Where trains without friction come to rest: states and observables (lanes, n), and which did.

        Of parts of such `sizes` (all in one, if none) each comes to rest as if alone.
        """

    def trace(self, laid: Laid, steps: int, every: int) -> Floats:
        """Whole motions: (lanes, records * figures)."""

    def play(self, laid: Laid) -> Floats:
        """Play a watched motion and give what is told of it, (lanes, k)."""


def machine_of(device: str) -> Machine:
    """What runs the C text of lanes.

    Raises
    ------
    keyaction.sim.code.no_gpu.NoGpu
        When there is no such device.
    """
    if device not in DEVICES[1:]:
        raise ValueError(f"device {device!r}: one of {', '.join(DEVICES)}")
    return gpu() if device == "gpu" else own_compiler()


def engine_of(structure: Structure, real: str, device: str, jobs: int) -> Engine:
    """What plays the lanes of a structure on a device.

    Raises
    ------
    keyaction.sim.code.no_gpu.NoGpu
        When there is no such device.
    keyaction.sim.code.no_numba.NoNumba
        If Numba cannot be used.
    """
    if device == "cpu":
        return Threads(load_lanes(structure, real), jobs)
    return Compiled(load_rows(structure, real), machine_of(device))
