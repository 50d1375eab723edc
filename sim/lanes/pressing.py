"""What slow presses tell of many designs, whoever follows them: figures as arrays, a note for who asks for one."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from keyaction.cases.action.strokes import Strokes
from keyaction.models.train.structure import Structure
from keyaction.sim.figures.columns import QUANTITIES
from keyaction.sim.figures.play import NotPlayed
from keyaction.sim.figures.record import Pressed
from keyaction.sim.figures.registry import Quantity
from keyaction.sim.figures.verdict import FATES, Verdict, verdict
from keyaction.sim.lanes.batch import Rest
from keyaction.sim.lanes.designs import Designs
from keyaction.sim.lanes.device_presses import STANDING, OnDevice
from keyaction.sim.lanes.engines import machine_of
from keyaction.sim.lanes.presses import presses
from keyaction.sim.lanes.read_presses import supported
from keyaction.sim.motion.integrate import Floats


class Presses(Protocol):
    """Designs pressed slowly.

    Attributes
    ----------
    figures : dict of name to (N,) array
        Those that are wanted and whose source is one of `STANDING`; NaN where a design has none.
    lift : (N,) array
        `steady_lift`, whether it is wanted or not.
    beyond : dict of int to str
        Why designs have no press, by their place.
    fates : (N,) array of int
        Kinds of the verdicts, by their place in `FATES`.
    verdicts : sequence of Verdict, or (N,) array of them
    """

    figures: dict[str, Floats]
    lift: Floats
    beyond: dict[int, str]
    fates: NDArray[np.int64]

    @property
    def verdicts(self) -> Sequence[Verdict] | NDArray[np.object_]:
        """The verdict of every design."""

    def note(self, i: int) -> Pressed | NotPlayed:
        """One design pressed, or why it is not."""


class Presser(Protocol):
    """Presses many designs.

    Attributes
    ----------
    exact : bool
        Whether its figures hang on the last digits of the rest, which the processor then finds for every device.
    """

    exact: bool

    def __call__(
        self, designs: Designs, strokes: Strokes, rest: Rest, wanted: Sequence[Quantity], jobs: int
    ) -> Presses:
        """Press designs that rest as `rest` says, in so many threads."""


class _NoteByNote:
    """Presses that this machine follows one by one, in threads."""

    def __init__(self, designs: Designs, strokes: Strokes, rest: Rest, wanted: Sequence[Quantity], jobs: int) -> None:
        count = len(designs)
        self._notes = presses([designs.train(i) for i in range(count)], strokes, rest, jobs)
        standing = [one for one in wanted if one.source in STANDING]
        self.figures: dict[str, Floats] = {one.name: np.full(count, np.nan) for one in standing}
        self.lift, self.fates = np.full(count, np.nan), np.zeros(count, dtype=np.int64)
        self.beyond, self.verdicts = dict[int, str](), list[Verdict]()
        for i, note in enumerate(self._notes):
            if isinstance(note, NotPlayed):
                self.beyond[i] = str(note)
                self.verdicts.append(note.verdict)
                continue
            self.verdicts.append(verdict(note))
            self.lift[i] = QUANTITIES["steady_lift"].compute(note)
            for one in standing:
                self.figures[one.name][i] = one.compute(note)
        self.fates[:] = [FATES.index(told.fate) for told in self.verdicts]

    def note(self, i: int) -> Pressed | NotPlayed:
        return self._notes[i]


class NoteByNote:
    """Makes presses one by one."""

    exact = True

    def __call__(
        self, designs: Designs, strokes: Strokes, rest: Rest, wanted: Sequence[Quantity], jobs: int
    ) -> Presses:
        return _NoteByNote(designs, strokes, rest, wanted, jobs)


def presser_of(device: str, structure: Structure) -> Presser:
    """What presses designs of a structure whose motions a device plays."""
    if device == "cpu" or not supported(structure):
        return NoteByNote()
    return OnDevice(machine_of(device))
