"""The slow press of many designs of one structure at once, straight from their parameters, by C texts on a machine."""

from __future__ import annotations

from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import suppress
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from keyaction.cases.action.strokes import Strokes
from keyaction.models.train.structure import Structure
from keyaction.sim.code.c_text import LANES, THREADS
from keyaction.sim.code.machines import Machine, here, sharing
from keyaction.sim.code.no_gpu import NoGpu
from keyaction.sim.statics import path, reading
from keyaction.sim.statics.events import EVENTS
from keyaction.sim.statics.press_text import (
    CODE,
    DOWN_COUNT,
    DOWN_TURNS,
    TOLD,
    UP,
    PressText,
    press_text,
    read_text,
)

Floats = NDArray[np.float64]
Numbers = NDArray[np.int64]

ROOM, MORE = 400, 4
"""Points of a way for which there is room at first, and times as many for designs whose ways have more."""
TOGETHER = 65_536
"""Designs that are pressed together at most: more keep a GPU no busier."""


@dataclass(frozen=True)
class Read:
    """What reads figures from both ways of a press.

    Attributes
    ----------
    columns : sequence of int
        What stands where, of the structure.
    given : (N, k) array
        What is known of each design; the first is filled in here: its key travel at rest.
    size : int
        How many figures it gives.
    rows : int
        Room for its work, in rows as long as a way.
    text : str
        Its functions in C, ``read_press`` among them: those of `keyaction.sim.statics.reading`.
    """

    columns: Sequence[int]
    given: Floats
    size: int
    rows: int = reading.ROWS
    text: str = field(default_factory=read_text, repr=False)


@dataclass(frozen=True)
class Found:
    """Presses of many designs.

    Attributes
    ----------
    code : (N,) array of int
        See `keyaction.sim.statics.press_text`.
    counts, turns : (N, 2) arrays of int
        Points of the way down and up; corrections of Newton's that they took.
    out : (N, m) array
        Figures read from them, NaN where a design was not pressed.
    """

    code: Numbers
    counts: Numbers
    turns: Numbers
    out: Floats


@dataclass(frozen=True)
class Resting:
    """Designs of one structure that rest.

    Attributes
    ----------
    parameters : (N, k) array
        In the order of the kernel's `parameters`.
    rests : (N, n) array
        States in which they rest.
    stiffness, dip_force : float
        Of the finger, N/m; key force on the bottom felt at which the way turns, N.
    """

    parameters: Floats
    rests: Floats
    stiffness: float
    dip_force: float

    def __len__(self) -> int:
        return len(self.parameters)

    def part(self, which: slice | Numbers) -> Resting:
        """Some of them."""
        return replace(self, parameters=self.parameters[which], rests=self.rests[which])


@dataclass(frozen=True)
class Ways:
    """Both ways of many designs, where they were followed: blocks of rows of designs.

    Attributes
    ----------
    told : array
        Whole numbers of each press.
    finger, states, seen, extreme : pairs of arrays
        The finger's way, states and observables at every point, down and up; whether it is there for an extreme force.
    rest : array
        Key travel at rest, m.
    """

    told: Any
    finger: tuple[Any, Any]
    states: tuple[Any, Any]
    seen: tuple[Any, Any]
    extreme: tuple[Any, Any]
    rest: Any


def pressed_rows(
    structure: Structure,
    parameters: Floats,
    rests: Floats,
    strokes: Strokes,
    machine: Machine,
    read: Read | None = None,
) -> Found:
    """Press every design.

    Parameters
    ----------
    structure : Structure
    parameters : (N, k) array
        Of each, in the order of the kernel's `parameters`.
    rests : (N, n) array
        State in which each rests.
    strokes : Strokes
        How they are pressed.
    machine : Machine
        What runs C texts.
    read : Read, optional
        What is read from the presses.

    Raises
    ------
    keyaction.sim.code.no_gpu.NoGpu
        When the machine has too little memory for a block of designs.
    """
    text, designs = press_text(structure), Resting(parameters, rests, strokes.press_stiffness, strokes.dip_force)
    found = _pressed(text, designs, machine, read, ROOM)
    full = np.flatnonzero(found.code % UP == path.FULL)
    if len(full):
        some = read and replace(read, given=read.given[full])
        with suppress(NoGpu):  # then they are left to the processor
            again = _pressed(text, designs.part(full), machine, some, MORE * ROOM)
            for ours, theirs in zip(vars(found).values(), vars(again).values(), strict=True):
                ours[full] = theirs
    return found


def _pressed(text: PressText, designs: Resting, machine: Machine, read: Read | None, room: int) -> Found:
    """Press every design, with room for so many points of a way; several devices share them."""
    told, out = np.empty((len(designs), TOLD), dtype=np.int64), np.empty((len(designs), read.size if read else 0))
    devices = sharing(machine, len(designs))
    parts = _parts(text, len(designs), machine, devices, read, room)

    def work(device: int) -> None:
        with machine.on(device):
            for part in parts[device::devices]:
                ways = followed(text, designs.part(part), machine, room)
                told[part] = _unblocked(ways.told, part.stop - part.start)
                if read:
                    out[part] = _unblocked(_read(text, ways, read, part, machine), part.stop - part.start)

    with ThreadPoolExecutor(devices) as pool:
        list(pool.map(work, range(devices)))
    counts, turns = (told[:, first : first + 2] for first in (DOWN_COUNT, DOWN_TURNS))
    return Found(told[:, CODE], counts, turns, out)


def _parts(text: PressText, count: int, machine: Machine, devices: int, read: Read | None, room: int) -> list[slice]:
    """Designs that are pressed together: as many blocks as a device's memory holds."""
    sizes = text.sizes
    each = 2 * room * (text.width + sizes["STATES"] + sizes["SEEN"] + 2) + 3 * sizes["PARAMETERS"] + text.constants
    each += EVENTS * text.width + ((read.rows * room + 3 * read.size) if read else 0)
    held = min(TOGETHER, machine.room() // (8 * each)) // LANES
    if held < 1:
        raise NoGpu("the GPU has too little memory left for one block of presses; end what else uses it")
    step = min(held, -(-count // (LANES * devices)) or 1) * LANES
    return [slice(first, min(first + step, count)) for first in range(0, count, step)]


def followed(text: PressText, designs: Resting, machine: Machine, room: int = ROOM) -> Ways:
    """Both ways of some designs, followed together."""
    arrays, sizes, count = machine.arrays, text.sizes, len(designs)
    parameters, rests = (_blocked(one, machine) for one in (designs.parameters, designs.rests))
    blocks, stiffness = -(-count // LANES), np.float64(designs.stiffness)

    def table(*shape: int) -> Any:
        return arrays.empty((blocks, *shape, LANES))

    scale, found, kept = table(sizes["UNKNOWN"] + 1), table(EVENTS, text.width), table(text.constants)
    points = [table(room, text.width) for _ in range(2)]
    told, rest = arrays.zeros((blocks, TOLD, LANES), dtype=np.int32), table()
    more = np.float64(designs.dip_force), stiffness, parameters, rests, scale, kept, found, *points, told, rest
    machine.call(text.source, "walked", count, np.int32(room), *more, threads=text.threads or THREADS)
    finger, states, seen, extreme = (
        [table(room, *shape) for _ in range(2)] for shape in ((), (sizes["STATES"],), (sizes["SEEN"],), ())
    )
    for way in range(2):
        given = stiffness, parameters, scale, points[way], told, finger[way], states[way], seen[way], extreme[way]
        machine.call(text.source, "shown", blocks * room * LANES, np.int32(room), np.int32(way), *given)
    return Ways(
        told, (finger[0], finger[1]), (states[0], states[1]), (seen[0], seen[1]), (extreme[0], extreme[1]), rest
    )


def _read(text: PressText, ways: Ways, read: Read, part: slice, machine: Machine) -> Any:
    """Figures of presses, in blocks."""
    given, blocks, room = _blocked(read.given[part], machine), len(ways.told), ways.seen[0].shape[1]
    out = machine.arrays.empty((blocks, read.size, LANES))
    work = machine.arrays.empty((blocks, read.rows * room, LANES))
    columns = machine.arrays.asarray(np.array(read.columns, dtype=np.int32))
    both = [one[way] for way in range(2) for one in (ways.finger, ways.states, ways.seen, ways.extreme)]
    sizes = np.int32(len(read.columns)), np.int32(given.shape[1]), np.int32(read.size)
    more = np.int32(room), np.int32(read.rows * room), *sizes, *both, ways.told, ways.rest, columns, given, work, out
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
    return here(there.transpose(0, 2, 1).reshape(-1, there.shape[1])[:count])
