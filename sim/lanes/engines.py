"""What plays blocks of lanes: Numba in threads, or the same statements as C on a GPU."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any, Protocol

import numpy as np
from numpy.typing import NDArray

from keyaction.sim.code.c_text import LANES, CText
from keyaction.sim.code.cache import say
from keyaction.sim.code.lane_kernel import LaneKernel, LaneRows
from keyaction.sim.code.machines import Machine, gpu, own_compiler
from keyaction.sim.code.no_gpu import NoGpu
from keyaction.sim.code.watch import WIDTH
from keyaction.sim.lanes.blocks import aligned_zeros, each_block, packed, unpacked
from keyaction.sim.motion.integrate import Floats

RELAX_TIME, RELAX_LIMIT, RELAXED, FILLED = 0.05, 40, 1e-7, 1e-2
"""s of relaxing between looks, how many looks, and the changes (rad, m; Pa) below which a train is at rest."""
DEVICES = ("cpu", "gpu", "cc")
"""Where lanes are computed; the last is this machine's C compiler, for trials of what a GPU is given."""
SPREAD = 8192
"""Lanes for each of several GPUs, at least."""

Flags = NDArray[np.bool_]
Numbers = NDArray[np.int64]


class Constants:
    """Constants of designs (n, k), sent to a device once and not with every motion."""

    def __init__(self, values: Floats) -> None:
        self.values = values
        self.there: dict[tuple[int, str], Any] = {}

    def __reduce__(self) -> tuple[type[Constants], tuple[Floats]]:
        return Constants, (self.values,)  # what is on a device stays there


@dataclass(frozen=True)
class Laid:
    """Lanes ready to be played.

    Attributes
    ----------
    head : (lanes, k) array
        Drive, limits and what changes from outside.
    constants : Constants
    which : (lanes,) array of int
        Whose constants each lane has.
    states : (lanes, m) array, optional
        Where motions begin, all else at nought; `rows` are theirs.
    height : int
        Rows of all, with turns and the record of what is watched.
    known : mapping of int to float
        Rows that are 0 or 1 in all lanes.
    lengths : (lanes,) array
        Time step of each, s.
    """

    head: Floats
    constants: Constants
    which: Numbers
    states: Floats | None
    rows: Sequence[int]
    height: int
    known: Mapping[int, float]
    lengths: Floats

    def __len__(self) -> int:
        return len(self.lengths)

    @property
    def fixed(self) -> int:
        """Rows that do not change."""
        return int(self.head.shape[1] + self.constants.values.shape[1])


class Engine(Protocol):
    """Plays lanes."""

    @property
    def rows(self) -> LaneRows:
        """What stands where in the arrays."""

    def rest(self, laid: Laid) -> tuple[Floats, Flags]:
        """Where trains without friction come to rest: states and observables (lanes, n), and which did."""

    def trace(self, laid: Laid, steps: int, every: int) -> Floats:
        """Whole motions: (lanes, records * figures)."""

    def play(self, motion: str, laid: Laid, steps: Numbers, wanted: Sequence[int]) -> Floats:
        """Play a watched motion, (lanes,) steps of it, and give the rows that are `wanted`, (lanes, rows)."""


class Threads:
    """Blocks in threads: the compiled step runs without the interpreter."""

    def __init__(self, kernel: LaneKernel, jobs: int) -> None:
        self.rows: LaneRows = kernel
        self.kernel, self.jobs, self.width = kernel, jobs, kernel.width
        self._real = np.dtype(kernel.real).type

    def _arrays(self, laid: Laid) -> Floats:
        """The arrays of all blocks, (blocks, rows, width): what is fixed, states, turns, record."""
        blocks = packed(np.concatenate([laid.head, laid.constants.values[laid.which]], axis=1), self.width)
        made = aligned_zeros((len(blocks), laid.height, self.width), self.rows.real)
        made[:, : laid.fixed] = blocks
        if laid.states is not None:
            made[:, laid.rows] = packed(laid.states, self.width)
        return made

    def rest(self, laid: Laid) -> tuple[Floats, Flags]:
        arrays, h, n = self._arrays(laid), float(laid.lengths[0]), len(laid)
        figures = len(self.rows.states) + len(self.rows.layout.observables)
        told, calm = (
            np.empty((len(arrays), figures, self.width), self.rows.real),
            np.zeros((len(arrays), 1, self.width)),
        )

        def work(block: int) -> None:
            calm[block, 0] = self._relaxed(arrays[block], h)
            flat = told[block].reshape(-1)
            self.kernel.trace(1, 1, self._real(h), self._real(1.0), arrays[block].ravel(), flat)

        each_block(work, len(arrays), self.jobs)
        return unpacked(told, n).astype(float), unpacked(calm, n)[:, 0] > 0

    def _relaxed(self, table: Floats, h: float) -> Flags:
        """Relax one block in place; tells which lanes came to rest."""
        watched, enough = _looked_at(self.rows)
        figures = len(self.rows.states) + len(self.rows.layout.observables)
        scratch = np.empty(figures * self.width, dtype=self.rows.real)
        steps = max(round(RELAX_TIME / h), 1)
        before, flat = np.full((len(watched), self.width), np.inf), table.reshape(-1)
        for _ in range(RELAX_LIMIT):
            self.kernel.trace(steps, steps, self._real(h), self._real(1.0), flat, scratch)
            calm = np.all(np.abs(table[watched] - before) < enough, axis=0)
            if np.all(calm):
                break
            before = table[watched].copy()
        table[_passing(self.rows)] = 0.0
        return np.asarray(calm)

    def trace(self, laid: Laid, steps: int, every: int) -> Floats:
        arrays, lengths, h, kept = self._arrays(laid), laid.lengths, float(laid.lengths[0]), -(-steps // every)
        figures = len(self.rows.states) + len(self.rows.layout.observables)
        table = np.empty((len(lengths), kept * figures))

        def work(block: int) -> None:
            told = np.empty((kept * figures, self.width), dtype=self.rows.real)
            still, flat = self._real(0.0), arrays[block].reshape(-1)
            self.kernel.trace(steps, every, self._real(h), still, flat, told.reshape(-1))
            mine = table[block * self.width : (block + 1) * self.width]
            mine[:] = told.T[: len(mine)]  # here, while it is in the processor's cache

        each_block(work, len(arrays), self.jobs)
        return table

    def play(self, motion: str, laid: Laid, steps: Numbers, wanted: Sequence[int]) -> Floats:
        arrays, lengths = self._arrays(laid), laid.lengths
        function, h = getattr(self.kernel, motion), self._real(lengths[0])
        longest = np.max(packed(steps[:, None].astype(float), self.width), axis=(1, 2))

        def work(block: int) -> None:
            function(int(longest[block]), h, arrays[block].reshape(-1))

        each_block(work, len(arrays), self.jobs)
        return unpacked(arrays[:, wanted], len(lengths)).astype(float)


class Runner:
    """Runs C texts over blocks; those that the memory does not hold go one part after the other."""

    width = LANES

    def __init__(self, machine: Machine, real: str) -> None:
        self.machine, self.real = machine, real

    def run(self, text: str, motion: str, laid: Laid, steps: Numbers, wanted: Sequence[int]) -> Floats:
        """Play a motion of a text and give the rows that are wanted, (lanes, rows)."""
        lengths, found = laid.lengths, np.empty((len(laid), len(wanted)))

        def work(lanes: slice) -> None:
            there = self._sent(laid, lanes)
            self._call(text, motion, there, lengths[lanes], steps[lanes])
            found[lanes] = self._brought(there[:, wanted], len(lengths[lanes]))

        self._shared(work, laid, len(wanted))
        return found

    # -- there and back --------------------------------------------------------------------------------
    def _sent(self, laid: Laid, lanes: slice) -> Any:
        """The arrays of some lanes, (blocks, rows, width), put together where they are played."""
        send, count = self.machine.arrays.asarray, lanes.stop - lanes.start
        made = self.machine.arrays.zeros((-(-count // self.width), laid.height, self.width), self.real)
        head, fixed = laid.head.shape[1], laid.fixed
        self._put(made, slice(0, head), send(laid.head[lanes].astype(self.real)))
        self._put(made, slice(head, fixed), self._constants(laid, lanes))
        if laid.states is not None:
            self._put(made, list(laid.rows), send(laid.states[lanes].astype(self.real)))
        return made

    def _put(self, made: Any, rows: slice | list[int], columns: Any) -> None:
        """Columns (lanes, k) as rows of blocks."""
        whole, more = divmod(len(columns), self.width)
        if whole:
            full = columns[: whole * self.width].reshape(whole, self.width, -1).transpose(0, 2, 1)
            made[:whole, rows] = full
        if more:
            made[whole, rows, :more] = columns[whole * self.width :].T

    def _constants(self, laid: Laid, lanes: slice) -> Any:
        """Constants of some lanes: of those that stay on the device as long as their batch lives, if it has room."""
        send, constants, which = self.machine.arrays.asarray, laid.constants, laid.which[lanes]
        key = self.machine.here(), self.real
        if key not in constants.there:
            if not self._kept_size(constants):
                return send(constants.values[which].astype(self.real))
            constants.there[key] = send(constants.values.astype(self.real))
        return constants.there[key][send(which)]

    def _kept_size(self, constants: Constants) -> int:
        """Bytes that constants take on a device; none where they would take more than a quarter of it."""
        size = int(constants.values.size) * np.dtype(self.real).itemsize
        return size if 4 * size < self.machine.room() else 0

    def _brought(self, there: Any, lanes: int) -> Floats:
        """Rows of blocks as (lanes, rows), here."""
        columns = self.machine.arrays.ascontiguousarray(there.transpose(0, 2, 1)).reshape(-1, there.shape[1])[:lanes]
        return np.asarray(columns.get() if hasattr(columns, "get") else columns)

    def _call(self, text: str, function: str, there: Any, lengths: Floats, steps: Numbers, *more: Any) -> None:
        send = self.machine.arrays.asarray
        given = send(steps.astype(np.int32)), send(lengths.astype(self.real)), there
        self.machine.call(text, function, len(lengths), np.int32(there.shape[1]), *given, *more)

    def _shared(self, work: Callable[[slice], None], laid: Laid, figures: int) -> None:
        """Do the work part by part, as many blocks as there is room for; several GPUs share it."""
        size = np.dtype(self.real).itemsize
        each = (3 * laid.height + 2 * figures) * self.width * size
        held = (self.machine.room() - self._kept_size(laid.constants)) // each
        if held < 1:
            raise NoGpu("the GPU has too little memory left for one block of lanes; end what else uses it")
        blocks, devices = -(-len(laid) // self.width), max(1, min(self.machine.devices, len(laid) // SPREAD))
        if held < blocks // devices:
            _say_smaller(held * self.width)
        step = min(held, -(-blocks // devices)) * self.width
        parts = [slice(first, min(first + step, len(laid))) for first in range(0, len(laid), step)]

        def one(device: int) -> None:
            with self.machine.on(device):
                for part in parts[device::devices]:
                    work(part)

        each_block(one, devices, devices)


class Compiled(Runner):
    """Blocks as one call of C."""

    def __init__(self, rows: LaneRows, machine: Machine) -> None:
        super().__init__(machine, rows.real)
        self.rows = rows

    def rest(self, laid: Laid) -> tuple[Floats, Flags]:
        lengths = laid.lengths
        figures = len(self.rows.states) + len(self.rows.layout.observables)
        told, calm = np.empty((len(lengths), figures)), np.zeros(len(lengths), dtype=bool)
        text = c_text(self.rows, laid.known, "trace")

        def work(lanes: slice) -> None:
            there = self._sent(laid, lanes)
            calm[lanes] = self._relaxed(text, there, lengths[lanes])
            out = self.machine.arrays.empty((there.shape[0], figures, self.width), self.rows.real)
            self._trace(text, there, lengths[lanes], np.ones_like(lengths[lanes], dtype=int), (1, 1, 1.0), out)
            told[lanes] = self._brought(out, len(lengths[lanes]))

        self._shared(work, laid, figures)
        return told, calm

    def _relaxed(self, text: str, there: Any, lengths: Floats) -> Flags:
        """Relax lanes where they are; tells which came to rest. A block of a processor goes on till its last one does.

        So it is here, that both find the same rest.
        """
        watched, enough = _looked_at(self.rows)
        counts = np.maximum(np.round(RELAX_TIME / lengths), 1).astype(int)
        nothing, group = self.machine.arrays.empty(0, self.rows.real), np.arange(len(lengths)) // WIDTH[self.rows.real]
        running, before = np.ones(len(lengths), dtype=bool), np.full((len(watched), len(lengths)), np.inf)
        calm = np.zeros(len(lengths), dtype=bool)
        for _ in range(RELAX_LIMIT):
            self._trace(text, there, lengths, np.where(running, counts, 0), (1, 0, 1.0), nothing)
            now = self._brought(there[:, watched], len(lengths)).T
            calm = np.where(running, np.all(np.abs(now - before) < enough, axis=0), calm)
            restless = np.bincount(group, weights=~calm) > 0
            running = restless[group]
            if not np.any(running):
                break
            before = np.where(running, now, before)
        there[:, _passing(self.rows)] = 0.0
        return calm

    def trace(self, laid: Laid, steps: int, every: int) -> Floats:
        lengths = laid.lengths
        kept = -(-steps // every)
        figures = len(self.rows.states) + len(self.rows.layout.observables)
        table = np.empty((len(lengths), kept * figures))
        text = c_text(self.rows, laid.known, "trace")

        def work(lanes: slice) -> None:
            there = self._sent(laid, lanes)
            out = self.machine.arrays.empty((there.shape[0], kept * figures, self.width), self.rows.real)
            self._trace(text, there, lengths[lanes], np.full(len(lengths[lanes]), steps), (every, kept, 0.0), out)
            table[lanes] = self._brought(out, len(lengths[lanes]))

        self._shared(work, laid, kept * figures)
        return table

    def play(self, motion: str, laid: Laid, steps: Numbers, wanted: Sequence[int]) -> Floats:
        return self.run(c_text(self.rows, laid.known, motion), motion, laid, steps, wanted)

    def _trace(
        self,
        text: str,
        there: Any,
        lengths: Floats,
        steps: Numbers,
        how: tuple[int, int, float],
        out: Any,
    ) -> None:
        every, kept, relax = how
        more = np.int32(every), np.int32(kept), np.dtype(self.real).type(relax), out
        self._call(text, "trace", there, lengths, steps, *more)


@lru_cache(maxsize=8)
def _say_smaller(lanes: int) -> None:
    say(f"the GPU's memory holds {lanes} motions at a time: they are played so many after so many")


def _looked_at(rows: LaneRows) -> tuple[list[int], Floats]:
    """Rows by which a train is seen to rest, and the changes below which it does."""
    pressures = [rows.rows[rows.states[i]] for i in rows.layout.of_kind("pressure")]
    ways = [rows.rows[name] for name in rows.ways]
    return [*ways, *pressures], np.array([RELAXED] * len(ways) + [FILLED] * len(pressures))[:, None]


def _passing(rows: LaneRows) -> list[int]:
    """Rows of what moves that rest does not keep."""
    lasting = {rows.states[i] for i in rows.layout.of_kind("coordinate", "pressure")}
    return [row for name, row in rows.rows.items() if name not in lasting]


def c_text(rows: LaneRows, known: Mapping[int, float], motion: str) -> str:
    """The C text of a motion."""
    return _written(rows.source, rows.real, tuple(known.items()), motion)


@lru_cache(maxsize=256)
def _written(source: str, real: str, known: tuple[tuple[int, float], ...], motion: str) -> str:
    return CText(source, real, dict(known)).text(motion)


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
