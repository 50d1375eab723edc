"""Quantities of many designs at once: equilibria and lanes; SciPy decides where the lanes are in doubt."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Literal

import numpy as np

from keyaction.cases.action.strokes import Strokes
from keyaction.models.train.structure import Structure
from keyaction.models.train.train import Train
from keyaction.sim.figures.columns import QUANTITIES
from keyaction.sim.figures.registry import NOT_IN_LANES
from keyaction.sim.figures.verdict import UNASKED, Verdict
from keyaction.sim.lanes.chunk import Chunk
from keyaction.sim.lanes.designs import Designs, Numbers, Trains
from keyaction.sim.lanes.device_presses import presser_of
from keyaction.sim.lanes.judge import Check, compared, judges
from keyaction.sim.lanes.presses import CHUNK
from keyaction.sim.lanes.step import fastest, steps_of_parts, too_fast
from keyaction.sim.motion.integrate import Floats
from keyaction.sim.motion.note import with_couplers_set

Doubt = Literal["decide", "mark"]
"""Whether SciPy decides designs in doubt, or they are only marked."""


@dataclass(frozen=True)
class Outcome:
    """What came of designs.

    Attributes
    ----------
    quantities : mapping of name to (N,) array
        SI; NaN where a design has none.
    limits : tuple of str
        What limits the repetition of each.
    status : tuple of str
        ``ok``, or why a design has no figures.
    verdicts : tuple of Verdict
    sensitive : tuple of str
        Figures that hang on how exactly the motion is integrated, with both values; empty for most designs.
    checks : tuple of Check
        How many were in doubt, and the judged sample.
    """

    quantities: Mapping[str, Floats]
    limits: tuple[str, ...]
    status: tuple[str, ...]
    verdicts: tuple[Verdict, ...] = ()
    sensitive: tuple[str, ...] = ()
    checks: tuple[Check, ...] = field(default=())


def available() -> tuple[str, ...]:
    """Names of the quantities that `evaluate` gives: all but those of presses at speed, which are not played
    here, and of side motion, which is played and not watched."""
    return tuple(name for name, one in QUANTITIES.items() if one.source not in NOT_IN_LANES)


def evaluate(
    trains: Sequence[Train] | Designs,
    strokes: Strokes,
    wanted: Iterable[str] | None = None,
    jobs: int = 0,
    sample: int = 3,
    decide: bool = True,
    device: str = "cpu",
    doubt: Doubt = "decide",
) -> Outcome:
    """Quantities of many trains at once.

    Parameters
    ----------
    trains : sequence of Train, or Designs
        In any mixture of structures.
    strokes : Strokes
    wanted : iterable of str, optional
        Names of quantities; all that there are by default.
    jobs : int
        Threads; 0 means one per core.
    sample : int
        How many designs are played by SciPy whether in doubt or not, to say how far the figures can be trusted.
    decide : bool
        Whether designs are played at shorter steps too, and SciPy decides those whose figures change by more than
        their resolution there, or whose repetition does. It never depends on `sample`.
    device : {"cpu", "gpu", "cc"}
        Where motions are computed; see `Batch`.
    doubt : {"decide", "mark"}
        Whether SciPy decides designs that are still in doubt at the finest steps, or they are left with the figures of
        these and told as sensitive.

    Returns
    -------
    Outcome

    Raises
    ------
    KeyError
        When a quantity is not known.
    """
    names = list(wanted if wanted is not None else available())
    unknown = [name for name in names if name not in available()]
    if unknown:
        raise KeyError(f"no such quantity: {', '.join(unknown)}; there are {', '.join(available())}")
    chosen = [QUANTITIES[name] for name in names]
    groups, train = _of_structures(trains)
    found = _Found(len(trains), names)
    for places, designs in groups:
        presser, speeds = presser_of(device, designs.structure), fastest(designs.structure, designs.parameters, jobs)
        told = too_fast(speeds)
        found.fail(places[list(told)], list(told.values()))
        followed = np.delete(np.arange(len(places)), list(told))
        for which, steps in _together(followed, speeds, device):
            chunk = Chunk(designs.some(which), strokes, chosen, jobs, decide, device, steps, presser)
            chunk.play()
            if decide:
                found.doubtful += int(np.sum(chunk.decide(doubt == "mark")))
            found.take(places[which], chunk, steps)
    return found.outcome(judges(train, len(trains), strokes, names, sample))


class _Found:
    """What is found of so many designs: figures (names, N); limits, status, verdicts and sensitive figures (4, N)."""

    def __init__(self, count: int, names: Sequence[str]) -> None:
        self.names = names
        self.figures, self.words = np.full((len(names), count), np.nan), np.full((4, count), "", dtype=object)
        self.words[2] = UNASKED
        self.step, self.doubtful = 0.0, 0

    def fail(self, places: Numbers, reasons: Sequence[str]) -> None:
        """Designs that are not played."""
        self.words[1, places] = [f"failed: {why}" for why in reasons]

    def take(self, places: Numbers, chunk: Chunk, steps: Sequence[tuple[int, float]]) -> None:
        """Settle what was found of designs of these places, and take it over."""
        self.words[1, places] = chunk.settle()
        self.words[0, places], self.words[2, places] = chunk.limits(), chunk.presses.verdicts
        self.words[3, places[list(chunk.sensitive)]] = list(chunk.sensitive.values())
        for row, name in zip(self.figures, self.names, strict=True):
            row[places] = chunk.figures[name]
        self.step = max(self.step, *(step for _, step in steps))

    def outcome(self, told: Mapping[int, Mapping[str, float]]) -> Outcome:
        """The outcome, judged by what SciPy told of a sample."""
        found = dict(zip(self.names, self.figures, strict=True))
        words = [tuple(row) for row in self.words.tolist()]
        counts = {"doubtful": self.doubtful, "sensitive": sum(text != "" for text in words[3])}
        check = replace(compared(told, found, self.step), **counts)
        return Outcome(found, words[0], words[1], words[2], words[3], (check,))


def _of_structures(
    batch: Sequence[Train] | Designs,
) -> tuple[list[tuple[Numbers, Designs]], Callable[[int], Train]]:
    """The designs of each structure with their places in the batch, and what gives the train of a place."""
    if not isinstance(batch, Sequence):
        return [(np.arange(len(batch)), batch)], batch.train
    groups: dict[Structure, list[int]] = {}
    trains = [with_couplers_set(train) for train in batch]
    for i, train in enumerate(trains):
        groups.setdefault(train.structure, []).append(i)
    return [(np.array(some), Trains([trains[i] for i in some])) for some in groups.values()], trains.__getitem__


def _together(which: Numbers, speeds: Floats, device: str) -> Iterator[tuple[Numbers, list[tuple[int, float]]]]:
    """Designs of one structure that are played together, and how many of them, in order, have which step (s).

    Each part of `CHUNK` has its own step; on the processor it is played by itself.
    """
    if not len(which):
        return
    first, sizes, lengths = steps_of_parts(speeds[which], which // CHUNK)
    steps = list(zip(sizes.tolist(), lengths.tolist(), strict=True))
    if device == "cpu":
        yield from ((part, [step]) for part, step in zip(np.split(which, first[1:]), steps, strict=True))
    else:
        yield which, steps
