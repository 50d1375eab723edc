"""Quantities of many designs at once: equilibria and lanes; SciPy decides where the lanes are in doubt."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from keyaction.cases.action.strokes import Strokes
from keyaction.models.train.structure import Structure
from keyaction.models.train.train import Train
from keyaction.sim.figures.columns import QUANTITIES
from keyaction.sim.figures.registry import NOT_IN_LANES
from keyaction.sim.figures.verdict import UNASKED, Verdict
from keyaction.sim.lanes.chunk import Chunk, Flags
from keyaction.sim.lanes.designs import Designs, Numbers, Trains, joined
from keyaction.sim.lanes.judge import Check, compared, judges
from keyaction.sim.lanes.presses import CHUNK
from keyaction.sim.lanes.pressing import presser_of
from keyaction.sim.lanes.step import fastest, step_for, too_fast
from keyaction.sim.motion.integrate import Floats
from keyaction.sim.motion.note import with_couplers_set

Words = NDArray[np.object_]
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
        In any mixture of structures; each structure is one batch.
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
    return evaluate_each([trains], strokes, wanted, jobs, [sample], decide, device, doubt)[0]


def evaluate_each(
    batches: Sequence[Sequence[Train] | Designs],
    strokes: Strokes,
    wanted: Iterable[str] | None = None,
    jobs: int = 0,
    samples: Sequence[int] = (),
    decide: bool = True,
    device: str = "cpu",
    doubt: Doubt = "decide",
) -> list[Outcome]:
    """Quantities of several batches of designs, each as `evaluate` gives them of it alone.

    Not on the processor what is of one structure is played together, whichever batch it is of. The parameters are those
    of `evaluate`, with a sample for each batch.
    """
    names = list(wanted if wanted is not None else available())
    unknown = [name for name in names if name not in available()]
    if unknown:
        raise KeyError(f"no such quantity: {', '.join(unknown)}; there are {', '.join(available())}")
    gathered = [_Gathered(batch, names) for batch in batches]
    chosen = [QUANTITIES[name] for name in names]
    for pieces in _together(gathered, jobs, device):
        designs = joined([piece.designs for piece in pieces])
        steps = [(len(piece.places), piece.step) for piece in pieces]
        chunk = Chunk(designs, strokes, chosen, jobs, decide, device, steps, presser_of(device, designs.structure))
        chunk.play()
        doubted = chunk.decide(doubt == "mark") if decide else np.zeros(len(chunk), dtype=bool)
        settled, first = _Settled.of(chunk, names, doubted), 0
        for piece in pieces:
            last = first + len(piece.places)
            gathered[piece.batch].take(settled, piece, slice(first, last))
            first = last
    return [one.outcome(strokes, sample) for one, sample in zip(gathered, samples or [0] * len(gathered), strict=True)]


@dataclass(frozen=True)
class _Piece:
    """Designs of one structure that are played together: which batch they are of, their places in it, their step."""

    batch: int
    places: Numbers
    designs: Designs
    step: float


@dataclass(frozen=True)
class _Settled:
    """What came of a chunk: figures (names, N); limits, status, verdicts, sensitive figures (4, N); doubts."""

    figures: Floats
    words: Words
    doubted: Flags

    @classmethod
    def of(cls, chunk: Chunk, names: Sequence[str], doubted: Flags) -> _Settled:
        words = np.full((4, len(chunk)), "", dtype=object)
        words[1] = chunk.settle()
        words[0], words[2] = chunk.limits(), chunk.presses.verdicts
        words[3, list(chunk.sensitive)] = list(chunk.sensitive.values())
        return cls(np.array([chunk.figures[name] for name in names]).reshape(len(names), len(chunk)), words, doubted)


class _Gathered:
    """What is found of the designs of one batch."""

    def __init__(self, batch: Sequence[Train] | Designs, names: Sequence[str]) -> None:
        self.groups = list(_of_structures(batch))
        count = len(batch)
        self.names, self.speeds = names, np.full(count, np.nan)
        self.figures, self.words = np.full((len(names), count), np.nan), np.full((4, count), "", dtype=object)
        self.words[2] = UNASKED
        self.step, self.doubtful = 0.0, 0

    def pieces(self, number: int, most: int) -> Iterator[_Piece]:
        """Parts of at most so many designs of one structure, those that the lanes can follow.

        The others get their status, and do not shorten the step of all.
        """
        for places, designs in self.groups:
            for first in range(0, len(places), most):
                here = places[first : first + most]
                part = designs.some(np.arange(first, first + len(here))) if len(here) < len(places) else designs
                speeds = self.speeds[here]
                told = too_fast(speeds)
                if told:
                    self.words[1, here[list(told)]] = [f"failed: {why}" for why in told.values()]
                    kept = np.flatnonzero([i not in told for i in range(len(here))])
                    here, part, speeds = here[kept], part.some(kept), speeds[kept]
                if len(here):
                    yield _Piece(number, here, part, step_for(speeds))

    def take(self, settled: _Settled, piece: _Piece, rows: slice) -> None:
        """Take over some rows of a chunk."""
        self.figures[:, piece.places], self.words[:, piece.places] = settled.figures[:, rows], settled.words[:, rows]
        self.step = max(self.step, piece.step)
        self.doubtful += int(np.sum(settled.doubted[rows]))

    def train(self, i: int) -> Train:
        """The train of one design."""
        for places, designs in self.groups:
            k = int(np.searchsorted(places, i))
            if k < len(places) and places[k] == i:
                return designs.train(k)
        raise IndexError(i)

    def outcome(self, strokes: Strokes, sample: int) -> Outcome:
        """The outcome, a sample judged by SciPy."""
        found = dict(zip(self.names, self.figures, strict=True))
        told = judges(self.train, self.words.shape[1], strokes, self.names, sample)
        words = [tuple(row) for row in self.words.tolist()]
        counts = {"doubtful": self.doubtful, "sensitive": sum(text != "" for text in words[3])}
        check = replace(compared(told, found, self.step), **counts)
        return Outcome(found, words[0], words[1], words[2], words[3], (check,))


def _of_structures(batch: Sequence[Train] | Designs) -> Iterator[tuple[Numbers, Designs]]:
    """The designs of each structure with their places in the batch."""
    if not isinstance(batch, Sequence):
        yield np.arange(len(batch)), batch
        return
    groups: dict[Structure, list[int]] = {}
    trains = [with_couplers_set(train) for train in batch]
    for i, train in enumerate(trains):
        groups.setdefault(train.structure, []).append(i)
    for members in groups.values():
        yield np.array(members), Trains([trains[i] for i in members])


def _together(gathered: Sequence[_Gathered], jobs: int, device: str) -> Iterator[list[_Piece]]:
    """Pieces that are played together."""
    alike: dict[Structure, list[tuple[_Gathered, Numbers, Designs]]] = {}
    for one in gathered:
        for places, designs in one.groups:
            alike.setdefault(designs.structure, []).append((one, places, designs))
    for structure, groups in alike.items():
        found = fastest(structure, np.concatenate([designs.parameters for *_, designs in groups]), jobs)
        cuts = np.cumsum([len(places) for _, places, _ in groups])[:-1]
        for (one, places, _), speeds in zip(groups, np.split(found, cuts), strict=True):
            one.speeds[places] = speeds
    waiting: dict[Structure, list[_Piece]] = {}
    for number, one in enumerate(gathered):
        for piece in one.pieces(number, CHUNK):
            if device == "cpu":
                yield [piece]
            else:
                waiting.setdefault(piece.designs.structure, []).append(piece)
    yield from waiting.values()
