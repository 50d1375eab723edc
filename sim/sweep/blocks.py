"""Blocks of designs: how a plan is cut into them, and the computing of one."""

from __future__ import annotations

import pickle
import time
import zlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import TYPE_CHECKING, overload

import numpy as np
from numpy.typing import NDArray

from keyaction.sim.code.kernel import source_key
from keyaction.sim.files.problem import FileProblem
from keyaction.sim.lanes.judge import Check
from keyaction.sim.motion.integrate import Floats
from keyaction.sim.sweep.designs import Recipe, make_design
from keyaction.sim.sweep.playing import CODED, play_designs

if TYPE_CHECKING:
    from keyaction.sim.sweep.plans import Plan

TRAINS = 64
"""Trains in a block, about."""
LOST = "lost: "
"""How the status of a design begins whose process died."""


@dataclass(frozen=True)
class Coded:
    """A text for each of many trains.

    Attributes
    ----------
    names : sequence of str
        The different texts.
    codes : (trains,) array of int
        Which of them each train has.
    """

    names: Sequence[str]
    codes: NDArray[np.int32]

    @classmethod
    def of(cls, texts: Sequence[str]) -> Coded:
        """Texts, one for each train."""
        places = {name: code for code, name in enumerate(dict.fromkeys(texts))}
        if len(places) == 1:
            return cls(tuple(places), np.zeros(len(texts), dtype=np.int32))
        return cls(tuple(places), np.array([places[text] for text in texts], dtype=np.int32))

    def __len__(self) -> int:
        return len(self.codes)

    def texts(self) -> tuple[str, ...]:
        """The text of each train."""
        return tuple([self.names[code] for code in self.codes.tolist()])

    def are(self, text: str) -> NDArray[np.bool_]:
        """Which trains have a text."""
        return np.array([name == text for name in self.names], dtype=bool)[self.codes]


class OtherProgram(FileProblem):
    """A worker runs another version of the program than the one that asks."""


@dataclass(frozen=True)
class Block:
    """Rows of the plan that are computed together, and how many of their trains SciPy judges."""

    index: int
    start: int
    stop: int
    judged: int


@dataclass(frozen=True)
class Task:
    """A block with its rows of the plan."""

    block: Block
    rows: Floats


@dataclass(frozen=True)
class BlockResult:
    """What came of a block.

    Attributes
    ----------
    values : (designs, notes, quantities) array
        SI; NaN where a design has none.
    inputs, places : (designs, inputs) arrays
        Values of the inputs (numbers of words where they are words) and positions in the plan.
    words : mapping of name to Coded
        What is told of each train in words, by the names of `CODED`: by design, then note.
    checks : tuple of Check
        `design` counts trains in the block, by design, then note.
    seconds : float
        How long it took.
    """

    block: Block
    values: Floats
    inputs: Floats
    places: Floats
    words: Mapping[str, Coded]
    checks: tuple[Check, ...]
    seconds: float

    @property
    def status(self) -> Coded:
        """``ok``, or why a train has no figures."""
        return self.words["status"]


def designs_per_block(notes: int) -> int:
    """Rows of the plan in a block: as many as make about 64 trains, whatever the length of the plan."""
    return max(1, TRAINS // notes)


@dataclass(frozen=True)
class Cut(Sequence[Block]):
    """The blocks of a plan, each made when it is asked for: there may be millions.

    Attributes
    ----------
    rows, size : int
        Rows of the plan, and of a block.
    judged : mapping of int to int
        How many trains of which block SciPy judges.
    """

    rows: int
    size: int
    judged: Mapping[int, int]

    def __len__(self) -> int:
        return -(-self.rows // self.size)

    @overload
    def __getitem__(self, index: int) -> Block: ...

    @overload
    def __getitem__(self, index: slice) -> list[Block]: ...

    def __getitem__(self, index: int | slice) -> Block | list[Block]:
        if isinstance(index, slice):
            return [self[i] for i in range(*index.indices(len(self)))]
        if not -len(self) <= index < len(self):
            raise IndexError(index)
        number = int(index) % len(self)
        start = number * self.size
        return Block(number, start, min(start + self.size, self.rows), self.judged.get(number, 0))


def cut(plan: Plan, notes: int, judge: int) -> Cut:
    """The blocks of a plan; `judge` trains are spread over them evenly for SciPy."""
    found = Cut(plan.count, designs_per_block(notes), {})
    places, counts = np.unique(np.linspace(0, len(found) - 1, judge).round().astype(int), return_counts=True)
    return replace(found, judged=dict(zip(places.tolist(), counts.tolist(), strict=True)))


def packed(recipe: Recipe) -> bytes:
    """A recipe as it is sent to workers."""
    return zlib.compress(pickle.dumps(recipe), 1)


@lru_cache(maxsize=2)
def unpacked(recipe: bytes) -> Recipe:
    """The recipe again; a worker does this once.

    Raises
    ------
    OtherProgram
        If it was packed by another version of the program.
    """
    found = pickle.loads(zlib.decompress(recipe))
    if not isinstance(found, Recipe) or found.program != program():
        raise OtherProgram(
            "a worker runs another version of the program, or of a library that it computes with; "
            "what was finished is kept, but figures of different programs are not mixed"
        )
    return found


def program() -> str:
    """Which program and libraries compute here: the same text only if their figures are the same."""
    return source_key()


def compute_packed(recipe: bytes, task: Task) -> BlockResult:
    """Compute a block in a worker."""
    return compute(unpacked(recipe), task)


def compute(recipe: Recipe, task: Task) -> BlockResult:
    """Compute a block; designs that cannot be built or played are values with a reason, the rest go on."""
    began = time.perf_counter()
    with np.errstate(all="ignore"):
        designs = [make_design(recipe, row, n) for n, row in enumerate(task.rows, task.block.start)]
        played = play_designs(designs, recipe.quantities, task.block.judged, 1, recipe.device, recipe.doubt)
    return BlockResult(
        task.block,
        played.values,
        np.array([design.values for design in designs], dtype=float).reshape(len(designs), -1),
        task.rows,
        {name: Coded.of(texts) for name, texts in played.words.items()},
        played.checks,
        time.perf_counter() - began,
    )


def lost_block(recipe: Recipe, task: Task, reason: str) -> BlockResult:
    """What is kept of a block whose processes died."""
    shape = (len(task.rows), len(recipe.notes))
    count = shape[0] * shape[1]
    return BlockResult(
        task.block,
        np.full((*shape, len(recipe.quantities)), np.nan),
        np.array([make_design(recipe, row).values for row in task.rows], dtype=float).reshape(shape[0], -1),
        task.rows,
        {name: Coded.of((f"{LOST}{reason}" if name == "status" else "",) * count) for name in CODED},
        (),
        0.0,
    )
