"""Rows of figures of designs, on this machine and on devices: sent once, or computed there, not with every motion."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from threading import RLock
from typing import Any, Protocol

import numpy as np
from numpy.typing import NDArray

from keyaction.sim.code.machines import here
from keyaction.sim.motion.integrate import Floats

Numbers = NDArray[np.int64]
Flags = NDArray[np.bool_]


class Here:
    """This machine's own arrays, where those of a device could be."""

    arrays: Any = np

    def here(self) -> int:
        return -1

    def room(self) -> int:
        return 1 << 62

    def finish(self) -> None:
        return


HERE = Here()


class Kept(Protocol):
    """Rows of figures (N, k) of designs."""

    @property
    def shape(self) -> tuple[int, int]: ...

    def at(self, machine: Any, real: str, which: Numbers | None = None) -> Any:
        """The rows on a device, or those of some designs; they stay there as long as this lives, if it has room."""


class Sent:
    """Rows that are known here."""

    def __init__(self, values: Floats) -> None:
        self.values = values
        self._there = There()

    @property
    def shape(self) -> tuple[int, int]:
        return self.values.shape[0], self.values.shape[1]

    def at(self, machine: Any, real: str, which: Numbers | None = None) -> Any:
        def made(some: Numbers | None) -> Any:
            values = self.values if some is None else self.values[here(some)]
            return machine.arrays.asarray(np.ascontiguousarray(values, dtype=real))

        return self._there.at(self.shape, machine, real, which, made)


class Computed:
    """Constants of designs, computed on a device from their parameters.

    Parameters
    ----------
    text : str
        The C text of the constants.
    count : int
        How many there are.
    parameters, steps : Sent
        (N, np), and (N, 1) in s.
    nought : sequence of int
        Parameters that are taken as nought.
    """

    def __init__(self, text: str, count: int, parameters: Sent, steps: Sent, nought: Sequence[int] = ()) -> None:
        self.text, self.count, self.parameters, self.steps, self.nought = text, count, parameters, steps, list(nought)
        self._there = There()

    @property
    def shape(self) -> tuple[int, int]:
        return self.parameters.shape[0], self.count

    def at(self, machine: Any, real: str, which: Numbers | None = None) -> Any:
        def made(some: Numbers | None) -> Any:
            rows, steps = (one.at(machine, "float64", some) for one in (self.parameters, self.steps))
            if self.nought:
                rows = rows.copy()
                rows[:, self.nought] = 0.0
            found = machine.arrays.empty((len(rows), self.count))
            shape = np.int32(rows.shape[1]), np.int32(self.count)
            machine.call(self.text, "constants", len(rows), *shape, rows, steps, found)
            return found.astype(real, copy=False)

        return self._there.at(self.shape, machine, real, which, made)

    def simple(self, machine: Any) -> Flags:
        """Which are nought, and which one, in all designs, (2, count)."""
        found = self.at(machine, "float64")
        told = machine.arrays.stack([machine.arrays.all(found == value, axis=0) for value in (0.0, 1.0)])
        return np.asarray(here(told))


class There:
    """Rows that stay on devices; what several ask for at a time is made once, and is there before the others use it."""

    def __init__(self) -> None:
        self._lock, self._rows = RLock(), dict[tuple[int, str], Any]()

    def at(
        self,
        shape: tuple[int, int],
        machine: Any,
        real: str,
        which: Numbers | None,
        made: Callable[[Numbers | None], Any],
    ) -> Any:
        """All rows or some of them, made whole where they have room to stay."""
        key = machine.here(), real
        with self._lock:
            if key not in self._rows:
                if which is not None and not stays(shape, machine, real):
                    return made(which)
                self._rows[key] = made(None)
                machine.finish()
        return self._rows[key] if which is None else self._rows[key][machine.arrays.asarray(which)]


def stays(shape: tuple[int, int], machine: Any, real: str) -> int:
    """Bytes that rows take on a device; none where they would take more than a quarter of it."""
    size = shape[0] * shape[1] * np.dtype(real).itemsize
    return size if 4 * size < machine.room() else 0
