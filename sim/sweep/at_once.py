"""Many blocks at once on a device: rows of parameters straight from the plan, figures as arrays, no train for each."""

from __future__ import annotations

import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from threading import Lock

import numpy as np
from numpy.typing import NDArray

from keyaction.sim.figures.columns import QUANTITIES
from keyaction.sim.figures.verdict import FATES, UNASKED
from keyaction.sim.lanes.chunk import Asked, Chunk
from keyaction.sim.lanes.device_presses import presser_of
from keyaction.sim.lanes.judge import Check, compared
from keyaction.sim.lanes.presses import CHUNK
from keyaction.sim.lanes.step import fastest, steps_of_parts, too_fast
from keyaction.sim.motion.integrate import Floats
from keyaction.sim.sweep.blocks import BlockResult, Coded, Task, compute
from keyaction.sim.sweep.designs import Recipe
from keyaction.sim.sweep.grouped import Group
from keyaction.sim.sweep.playing import CODED, FAILED, spread_over
from keyaction.sim.sweep.questions import Answer, Figures, Question, answer
from keyaction.sim.sweep.rows import design_rows

Numbers = NDArray[np.int64]
Words = NDArray[np.object_]
STOPS = (ArithmeticError, ValueError, MemoryError)
"""Errors that designs, or too many of them, can be to blame for."""


_ONE_BUILDS = Lock()
"""Designs are built by one thread at a time: the interpreter lets no two do so, and the first can begin to play."""


@dataclass
class _Played:
    """Designs of one structure on which the same is played: their places, the block and step of each of their parts."""

    group: Group
    places: Numbers
    chunk: Chunk
    blocks: Numbers
    sizes: Numbers
    steps: Floats
    judged: dict[int, Figures] = field(default_factory=dict)


class AtOnce:
    """Blocks that are played together on a device, each as if it were computed alone.

    Parameters
    ----------
    recipe : Recipe
    tasks : sequence of Task
    """

    def __init__(self, recipe: Recipe, tasks: Sequence[Task]) -> None:
        began = time.perf_counter()
        self.recipe, self.tasks = recipe, tasks
        self._plan = np.concatenate([task.rows for task in tasks])
        self._numbers = np.concatenate([np.arange(one.block.start, one.block.stop) for one in tasks])
        sizes = [len(task.rows) for task in tasks]
        notes = len(recipe.notes)
        self._block = np.repeat(np.arange(len(tasks)), np.array(sizes) * notes)
        with np.errstate(all="ignore"):
            with _ONE_BUILDS:
                self._rows = design_rows(recipe, self._plan, self._numbers)
            self._values = np.full((len(self._block), len(recipe.quantities)), np.nan)
            self._words = {name: np.full(len(self._block), "", dtype=object) for name in CODED}
            self._words["status"][:] = self._rows.status
            self._played = [played for group in self._rows.groups if (played := self._play(group))]
        self._ends = np.cumsum(sizes) * notes
        self._seconds = time.perf_counter() - began

    # -- playing ---------------------------------------------------------------------------------------
    def _play(self, group: Group) -> _Played | None:
        """Play the designs that the lanes can follow, each part of them at a step of its own."""
        with _ONE_BUILDS:
            speeds = fastest(group.structure, group.parameters)
        told, places = too_fast(speeds), group.places
        parts = self._parts(places)
        if told:
            self._fail(places[list(told)], [f"{FAILED}{why}" for why in told.values()])
            kept = np.delete(np.arange(len(places)), list(told))
            group, places, speeds, parts = group.some(kept), places[kept], speeds[kept], parts[kept]
        if not len(places):
            return None
        first, sizes, steps = steps_of_parts(speeds, parts)
        wanted = [QUANTITIES[name] for name in self.recipe.quantities]
        device, each = self.recipe.device, list(zip(sizes.tolist(), steps.tolist(), strict=True))
        chunk = Chunk(group, group.strokes, wanted, 0, True, device, each, presser_of(device, group.structure))
        chunk.play()
        if self.recipe.doubt == "mark":
            chunk.mark()
        return _Played(group, places, chunk, self._block[places[first]], sizes, steps)

    def _fail(self, places: Numbers, status: Sequence[str]) -> None:
        """Trains that have no figures."""
        self._words["status"][places], self._words["verdict"][places] = status, UNASKED.fate.value

    def _parts(self, places: Numbers) -> Numbers:
        """The part of each train: those of a block, so many at most, have one step."""
        blocks = self._block[places]
        rank = np.arange(len(blocks)) - np.searchsorted(blocks, blocks)
        return np.asarray(blocks * (len(self._block) + 1) + rank // CHUNK)

    # -- SciPy -----------------------------------------------------------------------------------------
    def questions(self, number: int = 0) -> Iterator[Question]:
        """What SciPy is asked, told by a number: decisions first, then its judgement of a sample."""
        for played in self._played:
            for one in played.chunk.asked(self.recipe.doubt == "mark"):
                yield self._question(number, played, one.design, one)
        for block, task in enumerate(self.tasks):
            if task.block.judged:
                for played, i in self._sample(block, task.block.judged):
                    yield self._question(number, played, i, None)

    def _question(self, group: int, played: _Played, i: int, asked: Asked | None) -> Question:
        place = int(played.places[i])
        design, note = divmod(place, len(self.recipe.notes))
        strokes, rest = played.group.strokes, played.chunk.rest.states[i]
        number = int(self._numbers[design])
        return Question(group, place, self._plan[design], number, note, strokes, asked, rest)

    def _sample(self, block: int, count: int) -> Iterator[tuple[_Played, int]]:
        """Trains of a block that SciPy judges, spread evenly over all and over those on which the same is played."""
        alike: dict[int, list[tuple[int, _Played, int]]] = {}
        for played in self._played:
            for i in np.flatnonzero(self._block[played.places] == block).tolist():
                alike.setdefault(id(played.group.strokes), []).append((int(played.places[i]), played, i))
        shares = spread_over([[place for place, *_ in here] for here in alike.values()], count)
        for here, some in zip(alike.values(), shares, strict=True):
            here.sort(key=lambda one: one[0])
            for k in np.linspace(0, len(here) - 1, some).astype(int).tolist():
                yield here[k][1:]

    def take(self, answer: Answer) -> None:
        """Take over what SciPy says of a train."""
        place = answer.question.place
        played = next(one for one in self._played if _at(one.places, place) is not None)
        i = _at(played.places, place)
        assert i is not None
        if answer.status:
            self._fail(played.places[[i]], [answer.status])
        elif answer.question.asked is None:
            if answer.figures:
                played.judged[i] = answer.figures
        elif answer.decision is not None:
            played.chunk.take(answer.question.asked, answer.decision)

    # -- results ---------------------------------------------------------------------------------------
    def results(self) -> list[BlockResult]:
        """The blocks, all questions being answered."""
        checks: dict[int, list[Check]] = {}
        with np.errstate(all="ignore"):
            for played in self._played:
                doubted = played.chunk.doubted
                self._settle(played)
                for block, check in self._checks(played, doubted):
                    checks.setdefault(block, []).append(check)
        found, first, notes = [], 0, len(self.recipe.notes)
        words = {name: texts.tolist() for name, texts in self._words.items()}
        for block, (task, end) in enumerate(zip(self.tasks, self._ends.tolist(), strict=True)):
            designs = slice(first // notes, end // notes)
            found.append(
                BlockResult(
                    task.block,
                    self._values[first:end].reshape(len(task.rows), notes, -1),
                    self._rows.values[designs],
                    task.rows,
                    {name: Coded.of(texts[first:end]) for name, texts in words.items()},
                    tuple(checks.get(block, ())),
                    self._seconds / len(self.tasks),
                )
            )
            first = end
        return found

    def _settle(self, played: _Played) -> None:
        """Figures and words of designs as they stand in the end; those that SciPy's work was lost for have none."""
        chunk, places = played.chunk, played.places
        status = chunk.settle()
        limits, fates = chunk.limits(), np.array([fate.value for fate in FATES], dtype=object)
        sensitive = np.full(len(places), "", dtype=object)
        for i, text in chunk.sensitive.items():
            sensitive[i] = text
        told = {"repetition_limit": limits, "verdict": fates[chunk.presses.fates], "sensitive": sensitive}
        kept = self._words["status"][places] == ""
        for k, name in enumerate(self.recipe.quantities):
            self._values[places[kept], k] = chunk.figures[name][kept]
        for name, texts in (told | {"status": status}).items():
            self._words[name][places[kept]] = texts[kept]

    def _checks(self, played: _Played, doubted: NDArray[np.bool_]) -> Iterator[tuple[int, Check]]:
        """For each block how many of these designs were in doubt, and what SciPy says of its sample."""
        ends = np.cumsum(played.sizes)
        firsts = ends - played.sizes
        sensitive = np.zeros(len(played.places), dtype=bool)
        sensitive[list(played.chunk.sensitive)] = True
        doubts, told = (np.add.reduceat(flags.astype(np.int64), firsts) for flags in (doubted, sensitive))
        of_block: dict[int, list[int]] = {}
        for k, block in enumerate(played.blocks.tolist()):
            of_block.setdefault(block, []).append(k)
        for block, parts in of_block.items():
            first, end = int(firsts[parts[0]]), int(ends[parts[-1]])
            judged = {i - first: one for i, one in played.judged.items() if first <= i < end}
            figures = {name: values[first:end] for name, values in played.chunk.figures.items()} if judged else {}
            check = compared(judged, figures, float(np.max(played.steps[parts])))
            start = int(self._ends[block - 1]) if block else 0
            where = int(played.places[first + check.design]) - start if check.design >= 0 else -1
            counts = int(np.sum(doubts[parts])), int(np.sum(told[parts]))
            yield block, Check(check.compared, check.worst, check.quantity, where, check.step, *counts)


def played_at_once(recipe: Recipe, tasks: Sequence[Task]) -> AtOnce | list[BlockResult]:
    """Blocks played on the device; where a design stops all of them, what halves of them give without each other.

    Raises
    ------
    keyaction.sim.code.no_gpu.NoGpu
        When the device cannot be used.
    keyaction.sim.code.no_numba.NoNumba
        When Numba cannot be used.
    """
    try:
        return AtOnce(recipe, tasks)
    except STOPS:
        if len(tasks) < 2:
            return [compute(recipe, task) for task in tasks]
    half = len(tasks) // 2
    return [one for part in (tasks[:half], tasks[half:]) for one in compute_at_once(recipe, part)]


def compute_at_once(recipe: Recipe, tasks: Sequence[Task]) -> list[BlockResult]:
    """Compute blocks at once on the device, SciPy's answers in this thread."""
    return answered_here(recipe, played_at_once(recipe, tasks))


def answered_here(recipe: Recipe, played: AtOnce | list[BlockResult]) -> list[BlockResult]:
    """Results of blocks that were played, every question being answered in this thread."""
    if not isinstance(played, AtOnce):
        return played
    for question in played.questions():
        played.take(answer(recipe, question))
    return played.results()


def _at(places: Numbers, place: int) -> int | None:
    """Where a place stands among rising ones."""
    i = int(np.searchsorted(places, place))
    return i if i < len(places) and places[i] == place else None
