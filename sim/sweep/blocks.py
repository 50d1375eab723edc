"""Blocks of designs: how a plan is cut into them, and the computing of one."""

from __future__ import annotations

import pickle
import time
import zlib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import TYPE_CHECKING, overload

import numpy as np
from numpy.typing import NDArray

from keyaction.cases.action.strokes import Strokes
from keyaction.models.train.train import Train
from keyaction.sim.code.kernel import source_key
from keyaction.sim.code.no_gpu import NoGpu
from keyaction.sim.code.no_numba import NoNumba
from keyaction.sim.figures.verdict import UNASKED
from keyaction.sim.files.problem import FileProblem
from keyaction.sim.lanes.evaluate import Outcome, evaluate, evaluate_each
from keyaction.sim.lanes.judge import Check
from keyaction.sim.motion.integrate import Floats
from keyaction.sim.sweep.designs import Design, Doubt, Recipe, make_design

if TYPE_CHECKING:
    from keyaction.sim.sweep.plans import Plan

TRAINS = 64
"""Trains in a block, about."""
FAILED, LOST = "failed: ", "lost: "
"""How the status of a design begins that cannot be played, or whose process died."""


CODED = {
    "status": "ok, or why a design has no figures",
    "repetition_limit": "what limits the repetition rate",
    "verdict": "what becomes of the note",
    "sensitive": "figures that hang on how exactly the motion is integrated, with both values",
}
"""What is told of every train in words, with headings."""


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


def in_words(outcome: Outcome) -> dict[str, tuple[str, ...]]:
    """What an outcome tells of each of its trains, by the names of `CODED`."""
    return {
        "status": outcome.status,
        "repetition_limit": outcome.limits,
        "verdict": tuple(told.fate.value for told in outcome.verdicts),
        "sensitive": outcome.sensitive,
    }


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
    return compute_together(recipe, [task])[0]


def compute_together(recipe: Recipe, tasks: Sequence[Task]) -> list[BlockResult]:
    """Compute blocks, each as if it were computed alone."""
    began = time.perf_counter()
    with np.errstate(all="ignore"):
        blocks = [[make_design(recipe, row, n) for n, row in enumerate(task.rows, task.block.start)] for task in tasks]
        judged = [task.block.judged for task in tasks]
        played = play_together(blocks, recipe.quantities, judged, 1, recipe.device, recipe.doubt)
    seconds = (time.perf_counter() - began) / len(tasks)
    return [
        BlockResult(
            task.block,
            found.values,
            np.array([design.values for design in designs], dtype=float).reshape(len(designs), -1),
            task.rows,
            {name: Coded.of(texts) for name, texts in found.words.items()},
            found.checks,
            seconds,
        )
        for task, designs, found in zip(tasks, blocks, played, strict=True)
    ]


@dataclass(frozen=True)
class Played:
    """Figures of designs: values (designs, notes, quantities); what is told in words by design, then note; checks."""

    values: Floats
    words: Mapping[str, tuple[str, ...]]
    checks: tuple[Check, ...]


def play_designs(
    designs: Sequence[Design], quantities: Sequence[str], judged: int, jobs: int, device: str = "cpu"
) -> Played:
    """Compute designs in lanes, those that are played alike together.

    Parameters
    ----------
    designs : sequence of Design
    quantities : sequence of str
    judged : int
        Trains of each structure that SciPy judges.
    jobs : int
        Threads; 0 means one per core.
    device : str
        Where motions are computed.
    """
    return play_together([designs], quantities, [judged], jobs, device)[0]


def play_together(
    blocks: Sequence[Sequence[Design]],
    quantities: Sequence[str],
    judged: Sequence[int],
    jobs: int,
    device: str = "cpu",
    doubt: Doubt = "decide",
) -> list[Played]:
    """Compute blocks of designs, each as `play_designs` does, on a device."""
    found = [_Figures(designs, quantities) for designs in blocks]
    groups: dict[tuple[object, ...], list[_Alike]] = {}
    for number, designs in enumerate(blocks):
        for key, one in _by_strokes(designs, number).items():
            groups.setdefault(key, []).append(one)
    for group in groups.values():
        told = _each([one.trains for one in group], group[0].strokes, quantities, [judged[one.block] for one in group],
                     jobs, device, doubt)  # fmt: skip
        for one, outcomes in zip(group, told, strict=True):
            for part, outcome in outcomes:
                found[one.block].take([one.places[i] for i in part], outcome)
    return [one.played() for one in found]


class _Figures:
    """Figures of a block of designs, train by train."""

    def __init__(self, designs: Sequence[Design], quantities: Sequence[str]) -> None:
        self.shape, self.quantities = (len(designs), len(designs[0].trains)), quantities
        self.values = np.full((self.shape[0] * self.shape[1], len(quantities)), np.nan)
        self.words, self.checks = {name: [""] * len(self.values) for name in CODED}, list[Check]()
        for i, train in _flat(designs):
            if isinstance(train, str):
                self.words["status"][i] = train

    def take(self, places: Sequence[int], outcome: Outcome) -> None:
        """Take over the outcome of the trains at these places."""
        for k, name in enumerate(self.quantities):
            self.values[places, k] = outcome.quantities[name]
        told = in_words(outcome)
        for name, texts in self.words.items():
            for i, text in zip(places, told[name], strict=True):
                texts[i] = text
        self.checks += [_placed(check, places) for check in outcome.checks]

    def played(self) -> Played:
        """All of it."""
        words = {name: tuple(texts) for name, texts in self.words.items()}
        return Played(self.values.reshape(*self.shape, -1), words, tuple(self.checks))


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


def _flat(designs: Sequence[Design]) -> Iterator[tuple[int, Train | str]]:
    return enumerate(train for design in designs for train in design.trains)


@dataclass(frozen=True)
class _Alike:
    """Trains of a block on which the same is played, with their places in it."""

    block: int
    strokes: Strokes
    places: list[int]
    trains: list[Train]


def _by_strokes(designs: Sequence[Design], block: int) -> dict[tuple[object, ...], _Alike]:
    """Trains that can be built, grouped by what is played on them."""
    notes = len(designs[0].trains)
    groups: dict[tuple[object, ...], _Alike] = {}
    for i, train in _flat(designs):
        if isinstance(train, str):
            continue
        strokes = designs[i // notes].strokes
        key = tuple((path, one.value) for path, one in strokes.given.items())
        one = groups.setdefault(key, _Alike(block, strokes, [], []))
        one.places.append(i)
        one.trains.append(train)
    return groups


def _each(
    batches: Sequence[Sequence[Train]],
    strokes: Strokes,
    quantities: Sequence[str],
    judged: Sequence[int],
    jobs: int,
    device: str,
    doubt: Doubt,
) -> list[list[tuple[list[int], Outcome]]]:
    """Outcomes of parts of each of the batches, which are played together where that can be."""
    if len(batches) > 1 and device != "cpu":
        try:
            found = evaluate_each(batches, strokes, quantities, jobs, judged, device=device, doubt=doubt)
            return [[(list(range(len(trains))), one)] for trains, one in zip(batches, found, strict=True)]
        except (NoNumba, NoGpu):
            raise
        except Exception:  # whatever a design does to the engine: each alone, the others go on
            pass
    return [
        list(_evaluated(trains, strokes, quantities, count, jobs, device, doubt))
        for trains, count in zip(batches, judged, strict=True)
    ]


def _evaluated(
    trains: Sequence[Train],
    strokes: Strokes,
    quantities: Sequence[str],
    judged: int,
    jobs: int,
    device: str,
    doubt: Doubt,
) -> Iterator[tuple[list[int], Outcome]]:
    """Outcomes of parts of the trains; where one train stops the others, halves go on without each other."""
    waiting = [list(range(len(trains)))]
    while waiting:
        part = waiting.pop(0)
        try:
            outcome = evaluate([trains[i] for i in part], strokes, quantities, jobs, judged, device=device, doubt=doubt)
        except (NoNumba, NoGpu):
            raise
        except Exception as problem:  # whatever a design does to the engine, the others go on
            if len(part) > 1:
                half = len(part) // 2
                waiting += [part[:half], part[half:]]
                continue
            nothing = {name: np.full(1, np.nan) for name in quantities}
            status = f"{FAILED}{type(problem).__name__}: {problem}"
            outcome = Outcome(nothing, ("",), (status,), (UNASKED,), ("",))
        yield part, outcome


def _placed(check: Check, places: Sequence[int]) -> Check:
    """A check with the design's place in the whole block."""
    where = places[check.design] if 0 <= check.design < len(places) else -1
    return replace(check, design=where)
