"""What plays blocks of lanes: Numba in threads, or the same statements as C on a GPU."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from functools import lru_cache
from threading import Lock
from typing import Any, Protocol

import numpy as np
from numpy.typing import NDArray

from keyaction.models.train.structure import Structure
from keyaction.sim.code.c_text import LANES, CText
from keyaction.sim.code.cache import say
from keyaction.sim.code.lane_kernel import LaneKernel, LaneRows, load_lanes, load_rows
from keyaction.sim.code.machines import Machine, gpu, own_compiler
from keyaction.sim.code.no_gpu import NoGpu
from keyaction.sim.code.watch import CLOSE_ROWS, FAR_OFF, REPEAT_ROWS, WIDTH
from keyaction.sim.lanes.beside import who_asks
from keyaction.sim.lanes.blocks import aligned_zeros, each_block, packed, unpacked
from keyaction.sim.lanes.laid import Laid, Made
from keyaction.sim.lanes.sent import HERE, Computed, Kept, Sent, stays
from keyaction.sim.motion.integrate import Floats

RELAX_TIME, RELAX_LIMIT, RELAXED, FILLED = 0.05, 40, 1e-7, 1e-2
"""s of relaxing between looks, how many looks, and the changes (rad, m; Pa) below which a train is at rest."""
DEVICES = ("cpu", "gpu", "cc")
"""Where lanes are computed; the last is this machine's C compiler, for trials of what a GPU is given."""
TOGETHER = 256
"""Designs whose constants a thread computes at a time."""
SPREAD = 8192
"""Lanes for each of several GPUs, at least."""

Flags = NDArray[np.bool_]
Numbers = NDArray[np.int64]


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


def constants_here(
    rows: LaneRows, parameters: Sent, steps: Sent, nought: Sequence[int], jobs: int
) -> tuple[Floats, Floats]:
    """Constants of designs by the compiled function in threads, and which of them are nought or one in all (2, k)."""
    given = parameters.here()
    if len(nought):
        given = given.copy()
        given[:, list(nought)] = 0.0
    given, found = np.ascontiguousarray(given), np.empty((len(given), rows.constant_count))
    lengths = steps.here()[:, 0]
    cuts = np.unique([0, *range(0, len(given), TOGETHER), *(np.flatnonzero(np.diff(lengths)) + 1), len(given)]).tolist()

    def work(k: int) -> None:
        part = slice(cuts[k], cuts[k + 1])
        rows.constants(given[part], float(lengths[cuts[k]]), found[part])

    each_block(work, len(cuts) - 1, jobs)
    return found, np.array([np.all(found == value, axis=0) for value in (0.0, 1.0)])


def known_rows(rows: LaneRows, simple: Any) -> dict[int, float]:
    """Rows of constants that are 0 or 1 in all designs, from which are (2, k): code for a device leaves them out."""
    first = min(rows.rows.values()) - rows.constant_count
    return {
        first + int(k): value for value, which in zip((0.0, 1.0), simple, strict=True) for k in np.flatnonzero(which)
    }


class Threads:
    """Blocks in threads: the compiled step runs without the interpreter."""

    def __init__(self, kernel: LaneKernel, jobs: int) -> None:
        self.rows: LaneRows = kernel
        self.kernel, self.jobs, self.width = kernel, jobs, kernel.width
        self._real = np.dtype(kernel.real).type

    def constants(self, parameters: Sent, steps: Sent, nought: Sequence[int] = ()) -> tuple[Kept, dict[int, float]]:
        return Sent(constants_here(self.rows, parameters, steps, nought, self.jobs)[0]), {}

    def _arrays(self, laid: Laid) -> tuple[Floats, Made]:
        """The arrays of all blocks, (blocks, rows, width): what is fixed, states, turns, record."""
        every, places = slice(0, len(laid)), laid.places
        lanes = laid.made(HERE, every)
        blocks = packed(np.concatenate([lanes.head, laid.rows(HERE, "float64", every)], axis=1), self.width)
        made = aligned_zeros((len(blocks), places.height, self.width), self.rows.real)
        made[:, : places.fixed] = blocks
        if "begun" in lanes.levels:
            made[:, places.begun] = packed(lanes.levels["begun"], self.width)
        return made, lanes

    def rest(self, laid: Laid, sizes: Sequence[int]) -> tuple[Floats, Flags]:
        assert len(sizes) <= 1, "parts are of a device"
        (arrays, lanes), n = self._arrays(laid), len(laid)
        h = float(lanes.levels["h"][0])
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
        (arrays, lanes), kept = self._arrays(laid), -(-steps // every)
        h = float(lanes.levels["h"][0])
        figures = len(self.rows.states) + len(self.rows.layout.observables)
        table = np.empty((len(laid), kept * figures))

        def work(block: int) -> None:
            told = np.empty((kept * figures, self.width), dtype=self.rows.real)
            still, flat = self._real(0.0), arrays[block].reshape(-1)
            self.kernel.trace(steps, every, self._real(h), still, flat, told.reshape(-1))
            mine = table[block * self.width : (block + 1) * self.width]
            mine[:] = told.T[: len(mine)]  # here, while it is in the processor's cache

        each_block(work, len(arrays), self.jobs)
        return table

    def play(self, laid: Laid) -> Floats:
        (arrays, lanes), places = self._arrays(laid), laid.places
        function, h = getattr(self.kernel, laid.play.motion), self._real(lanes.levels["h"][0])
        longest = np.max(packed(lanes.steps[:, None].astype(float), self.width), axis=(1, 2))

        def work(block: int) -> None:
            function(int(longest[block]), h, arrays[block].reshape(-1))

        each_block(work, len(arrays), self.jobs)
        watched = places.watched(unpacked(arrays[:, places.wanted], len(laid)).astype(float))
        return np.asarray(laid.play.told(np, watched, lanes.levels))


class Runner:
    """Runs C texts over blocks; those that the memory does not hold go one part after the other."""

    width = LANES

    def __init__(self, machine: Machine, real: str) -> None:
        self.machine, self.real = machine, real

    def run(self, text: str, laid: Laid) -> Floats:
        """Play a motion of a text and give what is told of it, (lanes, k)."""
        found = list[tuple[int, Floats]]()

        def work(lanes: slice) -> None:
            made, there = self._sent(laid, lanes)
            self._call(text, laid.play.motion, there, made, made.steps)
            watched = laid.places.watched(self._columns(there[:, laid.places.wanted], lanes.stop - lanes.start))
            found.append((lanes.start, self._here(laid.play.told(self.machine.arrays, watched, made.levels))))

        self._shared(work, laid, len(laid.places.wanted))
        return np.concatenate([part for _, part in sorted(found, key=lambda one: one[0])])

    # -- there and back --------------------------------------------------------------------------------
    def _sent(self, laid: Laid, lanes: slice) -> tuple[Made, Any]:
        """Some lanes, and their arrays (blocks, rows, width), put together where they are played."""
        count, places = lanes.stop - lanes.start, laid.places
        made = laid.made(self.machine, lanes)
        there = self.machine.arrays.zeros((-(-count // self.width), places.height, self.width), self.real)
        head = made.head.shape[1]
        self._put(there, slice(0, head), made.head)
        self._put(there, slice(head, places.fixed), laid.rows(self.machine, self.real, lanes))
        if "begun" in made.levels:
            self._put(there, list(places.begun), made.levels["begun"])
        if laid.play.record == CLOSE_ROWS:
            there[:, places.height - CLOSE_ROWS + REPEAT_ROWS :] = FAR_OFF
        return made, there

    def _put(self, made: Any, rows: slice | list[int], columns: Any) -> None:
        """Columns (lanes, k) as rows of blocks."""
        whole, more = divmod(len(columns), self.width)
        if whole:
            full = columns[: whole * self.width].reshape(whole, self.width, -1).transpose(0, 2, 1)
            made[:whole, rows] = full
        if more:
            made[whole, rows, :more] = columns[whole * self.width :].T

    def _columns(self, there: Any, lanes: int) -> Any:
        """Rows of blocks as (lanes, rows) in double precision."""
        columns = self.machine.arrays.ascontiguousarray(there.transpose(0, 2, 1)).reshape(-1, there.shape[1])[:lanes]
        return columns.astype("float64", copy=False)

    def _here(self, there: Any) -> Floats:
        return np.asarray(there.get() if hasattr(there, "get") else there)

    def _call(self, text: str, function: str, there: Any, made: Made, steps: Any, *more: Any) -> None:
        given = steps, made.levels["h"].astype(self.real), there
        self.machine.call(text, function, len(steps), np.int32(there.shape[1]), *given, *more)

    def _shared(self, work: Callable[[slice], None], laid: Laid, figures: int) -> None:
        """Do the work part by part, as many blocks as there is room for; several GPUs share it."""
        size = np.dtype(self.real).itemsize
        each = (3 * laid.places.height + 2 * figures) * self.width * size
        held = (self.machine.room() - stays(laid.constants.shape, self.machine, self.real)) // each
        if held < 1:
            raise NoGpu("the GPU has too little memory left for one block of lanes; end what else uses it")
        blocks, devices = -(-len(laid) // self.width), max(1, min(self.machine.devices, len(laid) // SPREAD))
        if held < blocks // devices:
            _say_smaller(held * self.width)
        step = min(held, -(-blocks // devices)) * self.width
        parts = [slice(first, min(first + step, len(laid))) for first in range(0, len(laid), step)]

        asks, small = who_asks(), len(laid) < SPREAD

        def one(device: int) -> None:
            with self.machine.on(device, asks, small):
                for part in parts[device::devices]:
                    work(part)

        each_block(one, devices, devices)


class Compiled(Runner):
    """Blocks as one call of C."""

    def __init__(self, rows: LaneRows, machine: Machine) -> None:
        super().__init__(machine, rows.real)
        self.rows = rows

    def constants(self, parameters: Sent, steps: Sent, nought: Sequence[int] = ()) -> tuple[Kept, dict[int, float]]:
        text = constants_text(self.rows)
        found = Computed(text, self.rows.constant_count, parameters, steps, nought)
        with self.machine.on(self.machine.here(), who_asks()):
            return found, known_rows(self.rows, found.simple(self.machine))

    def rest(self, laid: Laid, sizes: Sequence[int]) -> tuple[Floats, Flags]:
        groups = _side_by_side(sizes or (len(laid),), WIDTH[self.rows.real])
        figures = len(self.rows.states) + len(self.rows.layout.observables)
        told, calm = np.empty((len(laid), figures)), np.zeros(len(laid), dtype=bool)
        text = c_text(self.rows, laid.known, "trace")

        def work(lanes: slice) -> None:
            made, there = self._sent(laid, lanes)
            calm[lanes] = self._relaxed(text, there, made, groups[lanes])
            out = self.machine.arrays.empty((there.shape[0], figures, self.width), self.rows.real)
            self._trace(text, there, made, self.machine.arrays.ones_like(made.steps), (1, 1, 1.0), out)
            told[lanes] = self._here(self._columns(out, lanes.stop - lanes.start))

        self._shared(work, laid, figures)
        return told, calm

    def _relaxed(self, text: str, there: Any, made: Made, groups: Numbers) -> Flags:
        """Relax lanes where they are; tells which came to rest. A block of a processor goes on till its last one does.

        So it is here, that both find the same rest: `groups` are the numbers of such blocks.
        """
        arrays, count = self.machine.arrays, len(made.steps)
        watched, enough = _looked_at(self.rows)
        steps = arrays.maximum(arrays.round(RELAX_TIME / made.levels["h"]), 1).astype("int32")
        nothing, group = arrays.empty(0, self.rows.real), groups - groups[0]
        running, calm, before = np.ones(count, dtype=bool), np.zeros(count, dtype=bool), None
        for _ in range(RELAX_LIMIT):
            self._trace(text, there, made, arrays.where(arrays.asarray(running), steps, 0), (1, 0, 1.0), nothing)
            now = self._columns(there[:, watched], count)
            if before is not None:
                near = self._here(arrays.all(arrays.abs(now - before) < arrays.asarray(enough[:, 0]), axis=1))
                calm = np.where(running, near, calm)
            running = (np.bincount(group, weights=~calm) > 0)[group]
            if not np.any(running):
                break
            before = now
        there[:, _passing(self.rows)] = 0.0
        return calm

    def trace(self, laid: Laid, steps: int, every: int) -> Floats:
        kept = -(-steps // every)
        figures = len(self.rows.states) + len(self.rows.layout.observables)
        table = np.empty((len(laid), kept * figures))
        text = c_text(self.rows, laid.known, "trace")

        def work(lanes: slice) -> None:
            made, there = self._sent(laid, lanes)
            out = self.machine.arrays.empty((there.shape[0], kept * figures, self.width), self.rows.real)
            self._trace(text, there, made, self.machine.arrays.full_like(made.steps, steps), (every, kept, 0.0), out)
            table[lanes] = self._here(self._columns(out, lanes.stop - lanes.start))

        self._shared(work, laid, kept * figures)
        return table

    def play(self, laid: Laid) -> Floats:
        return self.run(c_text(self.rows, laid.known, laid.play.motion), laid)

    def _trace(self, text: str, there: Any, made: Made, steps: Any, how: tuple[int, int, float], out: Any) -> None:
        every, kept, relax = how
        more = np.int32(every), np.int32(kept), np.dtype(self.real).type(relax), out
        self._call(text, "trace", there, made, steps, *more)


@lru_cache(maxsize=8)
def _say_smaller(lanes: int) -> None:
    say(f"the GPU's memory holds {lanes} motions at a time: they are played so many after so many")


def _side_by_side(sizes: Sequence[int], width: int) -> Numbers:
    """Numbers of the blocks of so many lanes in which a processor relaxes parts of such sizes."""
    counts = np.array(sizes)
    blocks = -(-counts // width)
    inside = np.arange(counts.sum()) - np.repeat(np.cumsum(counts) - counts, counts)
    return np.asarray(np.repeat(np.cumsum(blocks) - blocks, counts) + inside // width)


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
    with _ONE_AT_A_TIME:
        return _written(rows.source, rows.real, tuple(known.items()), motion)


def constants_text(rows: LaneRows) -> str:
    """The C text of the constants, in double precision."""
    with _ONE_AT_A_TIME:
        return _written(rows.source, "float64", (), "constants")


_ONE_AT_A_TIME = Lock()
"""Python's own parser may break off when two threads parse at a time (3.11: a recursion depth that does not match)."""


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
