"""Blocks of lanes in threads of the processor, by Numba."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from keyaction.sim.code.lane_kernel import LaneKernel, LaneRows, trials_of
from keyaction.sim.code.repeated_strokes import TIME_ROWS
from keyaction.sim.code.watch import ALIKE_ROW, CLOSE_ROWS, FAR_OFF, REPEAT_ROWS, WILD
from keyaction.sim.lanes.blocks import aligned_zeros, each_block, packed, unpacked
from keyaction.sim.lanes.laid import Laid, Made, Places
from keyaction.sim.lanes.plays import CLOSENESS, VERDICT, Repeated, RepeatedClosely
from keyaction.sim.lanes.relaxing import RELAX_LIMIT, RELAX_TIME, looked_at, passing
from keyaction.sim.lanes.sent import HERE, Flags, Kept, Sent
from keyaction.sim.motion.integrate import Floats
from keyaction.sim.processes.count import workers

TOGETHER = 256
"""Designs whose constants a thread computes at a time."""
LOOK = 32
"""Steps after which it is looked whether trials are decided."""
ROUNDS, SHARES = 4, 4
"""How many trials a lane has one after the other before a thread gets a second share; shares of a thread, at most."""


def constants_here(rows: LaneRows, parameters: Floats, lengths: Floats, nought: Sequence[int], jobs: int) -> Floats:
    """Constants of designs by the compiled function in threads, some parameters taken as nought."""
    given = parameters
    if len(nought):
        given = given.copy()
        given[:, list(nought)] = 0.0
    given, found = np.ascontiguousarray(given), np.empty((len(given), rows.constant_count))
    cuts = np.unique([0, *range(0, len(given), TOGETHER), *(np.flatnonzero(np.diff(lengths)) + 1), len(given)]).tolist()

    def work(k: int) -> None:
        part = slice(cuts[k], cuts[k + 1])
        rows.constants(given[part], float(lengths[cuts[k]]), found[part])

    each_block(work, len(cuts) - 1, jobs)
    return found


class Threads:
    """Blocks in threads: the compiled step runs without the interpreter."""

    def __init__(self, kernel: LaneKernel, jobs: int) -> None:
        self.rows: LaneRows = kernel
        self.kernel, self.jobs, self.width = kernel, jobs, kernel.width
        self._real = np.dtype(kernel.real).type

    def constants(self, parameters: Sent, steps: Sent, nought: Sequence[int] = ()) -> tuple[Kept, dict[int, float]]:
        return Sent(constants_here(self.rows, parameters.values, steps.values[:, 0], nought, self.jobs)), {}

    def _arrays(self, laid: Laid) -> tuple[Floats, Made]:
        """The arrays of all blocks, (blocks, rows, width): what is fixed, states, turns, record."""
        every, places = slice(0, len(laid)), laid.places
        lanes = laid.made(HERE, every)
        blocks = packed(np.concatenate([lanes.head, laid.rows(HERE, "float64", lanes)], axis=1), self.width)
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
        watched, enough = looked_at(self.rows)
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
        table[passing(self.rows)] = 0.0
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
        repeated = laid.play if isinstance(laid.play, Repeated) else None
        if repeated:
            laid = replace(laid, places=replace(laid.places, record=CLOSE_ROWS + TIME_ROWS))
        (arrays, lanes), places = self._arrays(laid), laid.places
        h = self._real(lanes.levels["h"][0])
        if repeated:
            self._trials(repeated, arrays, places, lanes.steps.astype(np.int64), h)
        else:
            steps = int(np.max(lanes.steps))
            each_block(lambda block: self.kernel.stroke(steps, h, arrays[block].reshape(-1)), len(arrays), self.jobs)
        watched = places.watched(unpacked(arrays[:, places.wanted], len(laid)).astype(float))
        return np.asarray(lanes.told(np, laid.play.told(np, watched, lanes.levels)))

    def _trials(self, play: Repeated, arrays: Floats, places: Places, steps: NDArray[np.int64], h: Any) -> None:
        """Play trials in place, longest first, each thread its shares."""
        threads, rounds = workers(self.jobs), len(steps) // self.width
        shares = max(min(threads * min(max(rounds // (ROUNDS * threads), 1), SHARES), rounds // 2), 1)
        record = places.first + places.turning
        arrays[:, record + REPEAT_ROWS : record + CLOSE_ROWS] = FAR_OFF
        rows = places.first, record, record + VERDICT, record + ALIKE_ROW, record + CLOSENESS
        tame, played = self._real(WILD[0] if isinstance(play, RepeatedClosely) else 0.0), trials_of(self.rows.real)

        def work(first: int) -> None:
            block = aligned_zeros(arrays.shape[1:], self.rows.real)
            here, left = np.full((2, self.width), -1)
            played(self.kernel.repeat, arrays, steps, first, shares, h, LOOK, rows, tame, block, here, left)

        each_block(work, shares, self.jobs)
