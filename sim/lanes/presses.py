"""The slow press of many trains: equilibria of each, followed side by side in threads."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from keyaction.cases.action.strokes import Strokes
from keyaction.models.train.structure import Structure
from keyaction.models.train.train import Train
from keyaction.sim.code.kernel import Kernel, load_kernel
from keyaction.sim.figures.play import NotPlayed, press_note, reason_of
from keyaction.sim.figures.record import Pressed
from keyaction.sim.lanes.batch import Batch, Rest
from keyaction.sim.lanes.blocks import each_block
from keyaction.sim.motion.drives import Drive, Piece
from keyaction.sim.motion.integrate import Floats
from keyaction.sim.motion.note import NoteModel

CHUNK = 128
"""Designs whose presses are in memory at one time."""


@dataclass(frozen=True)
class DesignModel:
    """The part of a `NoteModel` that quantities need."""

    train: Train

    def parameters(self) -> Floats:
        """The parameter vector."""
        return np.array(self.train.vector(self.kernel().parameters))

    def kernel(self) -> Kernel:
        """The scalar equations."""
        return load_kernel(self.train.structure)

    def vector(self, drive: Drive, piece: Piece) -> Floats:
        """The drive vector of a piece, with the train's own values of what it takes from outside."""
        return NoteModel(self.train).vector(drive, piece)

    def rest(self) -> Floats:
        """Where the train rests."""
        return NoteModel(self.train).rest()


def in_chunks(trains: Sequence[Train]) -> Iterator[list[int]]:
    """Places of at most `CHUNK` trains each, of one structure."""
    groups: dict[Structure, list[int]] = {}
    for i, train in enumerate(trains):
        groups.setdefault(train.structure, []).append(i)
    for members in groups.values():
        yield from (members[k : k + CHUNK] for k in range(0, len(members), CHUNK))


def pressed_trains(trains: Sequence[Train], strokes: Strokes, jobs: int = 0) -> Iterator[tuple[int, Pressed]]:
    """Press every train, in any mixture of structures.

    Yields
    ------
    (int, Pressed)
        The train's place in the sequence; one whose equilibria cannot be followed is left out.
    """
    for part in in_chunks(trains):
        chosen = [trains[i] for i in part]
        for i, one in zip(part, presses(chosen, strokes, Batch.of(chosen, jobs=jobs).rest(), jobs), strict=True):
            if isinstance(one, Pressed):
                yield i, one


def presses(trains: Sequence[Train], strokes: Strokes, rest: Rest, jobs: int = 0) -> list[Pressed | NotPlayed]:
    """Press every train.

    Parameters
    ----------
    trains : sequence of Train
    strokes : Strokes
    rest : Rest
        Where each of them rests.
    jobs : int
        Threads; 0 means one per core.

    Returns
    -------
    list of Pressed or NotPlayed
        The latter where a train's equilibria cannot be followed.
    """
    found: list[Pressed | NotPlayed] = [NotPlayed("not pressed")] * len(trains)

    def work(i: int) -> None:
        try:
            found[i] = press_note(DesignModel(trains[i]), strokes, rest.states[i])
        except NotPlayed as problem:
            found[i] = problem
        except (ValueError, ArithmeticError) as problem:  # one absurd design does not take the others with it
            found[i] = NotPlayed(f"slow press: {reason_of(problem)}")

    each_block(work, len(trains), jobs)
    return found
