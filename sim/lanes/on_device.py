"""Blocks of lanes on a device: the statements that Numba compiles for the processor, as C."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from functools import lru_cache
from threading import Lock
from typing import Any

import numpy as np

from keyaction.sim.code.c_text import LANES, CText
from keyaction.sim.code.cache import say
from keyaction.sim.code.lane_kernel import LaneRows
from keyaction.sim.code.machines import Machine, here, sharing
from keyaction.sim.code.watch import CLOSE_ROWS, FAR_OFF, REPEAT_ROWS, WIDTH
from keyaction.sim.lanes.beside import who_asks
from keyaction.sim.lanes.blocks import each_block
from keyaction.sim.lanes.laid import Laid, Made
from keyaction.sim.lanes.memory import in_parts, with_memory
from keyaction.sim.lanes.relaxing import RELAX_LIMIT, RELAX_TIME, looked_at, passing
from keyaction.sim.lanes.sent import Computed, Flags, Kept, Numbers, Sent, stays
from keyaction.sim.motion.integrate import Floats


class Compiled:
    """Blocks as one call of C; those that the memory does not hold go one part after the other."""

    width = LANES

    def __init__(self, rows: LaneRows, machine: Machine) -> None:
        self.rows, self.machine, self.real = rows, machine, rows.real

    def constants(self, parameters: Sent, steps: Sent, nought: Sequence[int] = ()) -> tuple[Kept, dict[int, float]]:
        text = constants_text(self.rows)
        found = Computed(text, self.rows.constant_count, parameters, steps, nought)
        with self.machine.on(self.machine.here(), who_asks()):
            return found, known_rows(self.rows, with_memory(lambda: found.simple(self.machine)))

    def rest(self, laid: Laid, sizes: Sequence[int]) -> tuple[Floats, Flags]:
        groups = _side_by_side(sizes or (len(laid),), WIDTH[self.real])
        figures = len(self.rows.states) + len(self.rows.layout.observables)
        told, calm = np.empty((len(laid), figures)), np.zeros(len(laid), dtype=bool)
        text = c_text(self.rows, laid.known, "trace")

        def work(lanes: slice) -> None:
            made, there = self._sent(laid, lanes)
            calm[lanes] = self._relaxed(text, there, made, groups[lanes])
            out = self.machine.arrays.empty((there.shape[0], figures, self.width), self.real)
            self._trace(text, there, made, self.machine.arrays.ones_like(made.steps), (1, 1, 1.0), out)
            told[lanes] = here(self._columns(out, lanes.stop - lanes.start))

        self._shared(work, laid, figures)
        return told, calm

    def _relaxed(self, text: str, there: Any, made: Made, groups: Numbers) -> Flags:
        """Relax lanes where they are; tells which came to rest. A block of a processor goes on till its last one does.

        So it is here, that both find the same rest: `groups` are the numbers of such blocks.
        """
        arrays, count = self.machine.arrays, len(made.steps)
        watched, enough = looked_at(self.rows)
        steps = arrays.maximum(arrays.round(RELAX_TIME / made.levels["h"]), 1).astype("int32")
        nothing, group = arrays.empty(0, self.real), groups - groups[0]
        running, calm, before = np.ones(count, dtype=bool), np.zeros(count, dtype=bool), None
        for _ in range(RELAX_LIMIT):
            self._trace(text, there, made, arrays.where(arrays.asarray(running), steps, 0), (1, 0, 1.0), nothing)
            now = self._columns(there[:, watched], count)
            if before is not None:
                near = here(arrays.all(arrays.abs(now - before) < arrays.asarray(enough[:, 0]), axis=1))
                calm = np.where(running, near, calm)
            running = (np.bincount(group, weights=~calm) > 0)[group]
            if not np.any(running):
                break
            before = now
        there[:, passing(self.rows)] = 0.0
        return calm

    def trace(self, laid: Laid, steps: int, every: int) -> Floats:
        kept = -(-steps // every)
        figures = len(self.rows.states) + len(self.rows.layout.observables)
        table = np.empty((len(laid), kept * figures))
        text = c_text(self.rows, laid.known, "trace")

        def work(lanes: slice) -> None:
            made, there = self._sent(laid, lanes)
            out = self.machine.arrays.empty((there.shape[0], kept * figures, self.width), self.real)
            self._trace(text, there, made, self.machine.arrays.full_like(made.steps, steps), (every, kept, 0.0), out)
            table[lanes] = here(self._columns(out, lanes.stop - lanes.start))

        self._shared(work, laid, kept * figures)
        return table

    def play(self, laid: Laid) -> Floats:
        text, found = c_text(self.rows, laid.known, laid.play.motion), list[tuple[int, Floats]]()

        def work(lanes: slice) -> None:
            made, there = self._sent(laid, lanes)
            self._call(text, laid.play.motion, there, made, made.steps)
            watched = laid.places.watched(self._columns(there[:, laid.places.wanted], lanes.stop - lanes.start))
            told = made.told(self.machine.arrays, laid.play.told(self.machine.arrays, watched, made.levels))
            found.append((lanes.start, here(told)))

        self._shared(work, laid, len(laid.places.wanted))
        return np.concatenate([part for _, part in sorted(found, key=lambda one: one[0])])

    def _trace(self, text: str, there: Any, made: Made, steps: Any, how: tuple[int, int, float], out: Any) -> None:
        every, kept, relax = how
        more = np.int32(every), np.int32(kept), np.dtype(self.real).type(relax), out
        self._call(text, "trace", there, made, steps, *more)

    # -- there and back --------------------------------------------------------------------------------
    def _sent(self, laid: Laid, lanes: slice) -> tuple[Made, Any]:
        """Some lanes, and their arrays (blocks, rows, width), put together where they are played."""
        count, places = lanes.stop - lanes.start, laid.places
        made = laid.made(self.machine, lanes)
        there = self.machine.arrays.zeros((-(-count // self.width), places.height, self.width), self.real)
        head = made.head.shape[1]
        self._put(there, slice(0, head), made.head)
        self._put(there, slice(head, places.fixed), laid.rows(self.machine, self.real, made))
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

    def _call(self, text: str, function: str, there: Any, made: Made, steps: Any, *more: Any) -> None:
        given = steps, made.levels["h"].astype(self.real), there
        self.machine.call(text, function, len(steps), np.int32(there.shape[1]), *given, *more)

    def _shared(self, work: Callable[[slice], None], laid: Laid, figures: int) -> None:
        """Do the work part by part, as many blocks as there is room for; several GPUs share it."""
        held = with_memory(lambda: self._held(laid, figures))
        blocks, devices = -(-len(laid) // self.width), sharing(self.machine, len(laid))
        if held < blocks // devices:
            _say_smaller(held * self.width)
        step = min(held, -(-blocks // devices)) * self.width
        parts = [slice(first, min(first + step, len(laid))) for first in range(0, len(laid), step)]
        asks = who_asks()

        def one(device: int) -> None:
            with self.machine.on(device, asks):
                for part in parts[device::devices]:
                    in_parts(work, part, self.width)

        each_block(one, devices, devices)

    def _held(self, laid: Laid, figures: int) -> int:
        """How many blocks there is room for now; others may ask the same before any is taken."""
        each = (3 * laid.places.height + 2 * figures) * self.width * np.dtype(self.real).itemsize
        held = (self.machine.room() - stays(laid.constants.shape, self.machine, self.real)) // each
        if held < 1:
            raise MemoryError
        return held


def known_rows(rows: LaneRows, simple: Any) -> dict[int, float]:
    """Rows of constants that are 0 or 1 in all designs, from which are (2, k): code for a device leaves them out."""
    first = min(rows.rows.values()) - rows.constant_count
    return {
        first + int(k): value for value, which in zip((0.0, 1.0), simple, strict=True) for k in np.flatnonzero(which)
    }


@lru_cache(maxsize=8)
def _say_smaller(lanes: int) -> None:
    say(f"the GPU's memory holds {lanes} motions at a time: they are played so many after so many")


def _side_by_side(sizes: Sequence[int], width: int) -> Numbers:
    """Numbers of the blocks of so many lanes in which a processor relaxes parts of such sizes."""
    counts = np.array(sizes)
    blocks = -(-counts // width)
    inside = np.arange(counts.sum()) - np.repeat(np.cumsum(counts) - counts, counts)
    return np.asarray(np.repeat(np.cumsum(blocks) - blocks, counts) + inside // width)


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
