"""The slow press of many designs of one structure at once, straight from their parameters, by C texts on a machine."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from keyaction.models.train.structure import Structure
from keyaction.sim.code.c_text import LANES, THREADS
from keyaction.sim.code.machines import Machine
from keyaction.sim.code.no_gpu import NoGpu
from keyaction.sim.statics import path
from keyaction.sim.statics.press_text import (
    CODE,
    DONE,
    DOWN_COUNT,
    DOWN_TURNS,
    OPEN,
    TOLD,
    UP,
    WIDE,
    PressText,
    press_text,
)  # fmt: skip

Floats = NDArray[np.float64]
Numbers = NDArray[np.int64]

ROOM = 400
"""Points of a way for which there is room on a device; a way of more goes to the processor."""
TOGETHER = 65_536
"""Designs that are pressed together at most: more keep a GPU no busier."""

_ENDED = {
    path.BROKEN: "no equilibrium beyond some place, or the train goes on by itself from there",
    path.ENDLESS: "the path does not end",
    path.NOWHERE: "no equilibrium is found where it begins",
    path.FALLEN: "the key falls away from the finger",
    path.FULL: "the path has more points than there is room for",
}
REASONS = {
    DONE: "",
    **{code: f"the way down: {told}" for code, told in _ENDED.items()},
    OPEN: "the pallet falls open at rest",
    WIDE: "a body turns further than the equations hold",
    **{UP + code: f"the way up: {told}" for code, told in _ENDED.items()},
}
"""Why a press is left to the processor, by its code: it presses such a design again, and tells in full."""


@dataclass(frozen=True)
class Read:
    """What reads figures from both ways of a press.

    Attributes
    ----------
    text : str
        Its functions in C, with ``read_press`` of `keyaction.sim.statics.reading` among them.
    columns : sequence of int
        What stands where, of the structure.
    given : (N, k) array
        What is known of each design; the first is filled in here: its key travel at rest.
    rows : int
        Room for its work, in rows as long as a way.
    size : int
        How many figures it gives.
    """

    text: str
    columns: Sequence[int]
    given: Floats
    rows: int
    size: int


@dataclass(frozen=True)
class Found:
    """Presses of many designs.

    Attributes
    ----------
    code : (N,) array of int
        0 where a design was pressed; else see `REASONS`.
    counts, turns : (N, 2) arrays of int
        Points of the way down and up; corrections of Newton's that they took.
    out : (N, m) array
        Figures read from them; of no meaning where a design was not pressed.
    """

    code: Numbers
    counts: Numbers
    turns: Numbers
    out: Floats


@dataclass(frozen=True)
class Rows:
    """Designs of one structure.

    Attributes
    ----------
    parameters : (N, k) array
        In the order of the kernel's `parameters`.
    rests : (N, n) array
        States in which they rest.
    held : (N, inputs) array
        What each takes from outside.
    stiffness, dip_force : float
        Of the finger, N/m; key force on the bottom felt at which the way turns, N.
    """

    parameters: Floats
    rests: Floats
    held: Floats
    stiffness: float
    dip_force: float

    def __len__(self) -> int:
        return len(self.parameters)

    def part(self, designs: slice) -> Rows:
        """Some of them."""
        parts = (one[designs] for one in (self.parameters, self.rests, self.held))
        return Rows(*parts, self.stiffness, self.dip_force)


@dataclass(frozen=True)
class Ways:
    """Both ways of many designs, where they were followed: blocks of rows of designs."""

    told: Any
    finger: tuple[Any, Any]
    states: tuple[Any, Any]
    seen: tuple[Any, Any]
    rest: Any

    def of(self, design: int, way: int) -> tuple[Floats, Floats, Floats]:
        """The finger's way, states and observables along one way of a design, here."""
        block, lane = divmod(design, LANES)
        count = int(self.told[block, DOWN_COUNT + way, lane])
        found = (np.asarray(_here(one[way][block, :count, ..., lane])) for one in (self.finger, self.states, self.seen))
        first, second, third = found
        return first, second, third


def pressed_rows(structure: Structure, rows: Rows, machine: Machine, read: Read | None = None) -> Found:
    """Press every design.

    Parameters
    ----------
    structure : Structure
    rows : Rows
    machine : Machine
        What runs C texts.
    read : Read, optional
        What is read from the presses.

    Raises
    ------
    keyaction.sim.code.no_gpu.NoGpu
        When the machine has too little memory for a block of designs.
    """
    text = press_text(structure)
    size = read.size if read else 0
    told, out = np.empty((len(rows), TOLD), dtype=np.int64), np.empty((len(rows), size))
    for part in parts_of(text, len(rows), machine, read):
        ways = followed(text, rows.part(part), machine)
        count = part.stop - part.start
        told[part] = _unblocked(ways.told, count)
        if read:
            out[part] = _unblocked(_read(text, ways, read, part, machine), count)
    ends = slice(DOWN_COUNT, DOWN_COUNT + 2), slice(DOWN_TURNS, DOWN_TURNS + 2)
    return Found(told[:, CODE], *(told[:, end] for end in ends), out)


def parts_of(text: PressText, count: int, machine: Machine, read: Read | None) -> Iterator[slice]:
    """Designs that are pressed together: as many blocks as the memory holds, of several devices one after the other."""
    sizes = text.sizes
    each = 2 * ROOM * (text.width + sizes["STATES"] + sizes["SEEN"] + 1) + 3 * sizes["PARAMETERS"]
    each += path.EVENTS * text.width + ((read.rows * ROOM + 3 * read.size) if read else 0)
    held = min(TOGETHER, machine.room() // (8 * each)) // LANES * LANES
    if held < LANES:
        raise NoGpu("the GPU has too little memory left for one block of presses; end what else uses it")
    for first in range(0, count, held):
        yield slice(first, min(first + held, count))


def followed(text: PressText, rows: Rows, machine: Machine) -> Ways:
    """Both ways of some designs, followed together."""
    arrays, sizes, count = machine.arrays, text.sizes, len(rows)
    drives = np.concatenate([np.full((count, 1), rows.stiffness), rows.held], axis=1)
    given = [_blocked(one, machine) for one in (rows.parameters, drives, rows.rests)]
    blocks = -(-count // LANES)

    def table(*shape: int) -> Any:
        return arrays.empty((blocks, *shape, LANES))

    scale, found = table(sizes["UNKNOWN"] + 1), table(path.EVENTS, text.width)
    points = [table(ROOM, text.width) for _ in range(2)]
    told, rest = arrays.zeros((blocks, TOLD, LANES), dtype=np.int32), table()
    source, room = text.source, np.int32(ROOM)
    more = np.float64(rows.dip_force), *given, scale, table(text.constants), found, *points, told, rest
    machine.call(source, "walked", count, room, *more, threads=text.threads or THREADS)
    finger, states, seen = (
        [table(ROOM, *shape) for _ in range(2)] for shape in ((), (sizes["STATES"],), (sizes["SEEN"],))
    )
    for way in range(2):
        results = finger[way], states[way], seen[way]
        lanes = blocks * ROOM * LANES
        machine.call(
            source, "shown", lanes, room, np.int32(way), given[0], given[1], scale, points[way], told, *results
        )
    return Ways(told, *((one[0], one[1]) for one in (finger, states, seen)), rest)


def _read(text: PressText, ways: Ways, read: Read, part: slice, machine: Machine) -> Any:
    """Figures of presses, in blocks."""
    given, blocks = _blocked(read.given[part], machine), len(ways.told)
    out = machine.arrays.empty((blocks, read.size, LANES))
    work = machine.arrays.empty((blocks, read.rows * ROOM, LANES))
    columns = machine.arrays.asarray(np.array(read.columns, dtype=np.int32))
    both = [one for way in range(2) for one in (ways.finger[way], ways.states[way], ways.seen[way])]
    sizes = np.int32(len(read.columns)), np.int32(given.shape[1]), np.int32(read.size)
    more = np.int32(ROOM), np.int32(read.rows * ROOM), *sizes, *both, ways.told, ways.rest, columns, given, work, out
    machine.call(text.reading(read.text), "read", part.stop - part.start, *more)
    return out


def _blocked(columns: Floats, machine: Machine) -> Any:
    """Columns (N, k) as blocks of rows of designs, there."""
    count = len(columns)
    sent = machine.arrays.asarray(np.ascontiguousarray(columns, dtype=float))
    blocks = -(-count // LANES)
    made = machine.arrays.zeros((blocks * LANES, columns.shape[1]))
    made[:count] = sent
    return machine.arrays.ascontiguousarray(made.reshape(blocks, LANES, -1).transpose(0, 2, 1))


def _unblocked(there: Any, count: int) -> Any:
    """Blocks as columns (N, k), here."""
    return _here(there.transpose(0, 2, 1).reshape(-1, there.shape[1])[:count])


def _here(there: Any) -> Any:
    return there.get() if hasattr(there, "get") else there
