"""What slow presses tell of many designs, whoever follows them: figures as arrays, a note for who asks for one."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Protocol

import numpy as np

from keyaction.cases.action.strokes import Strokes
from keyaction.sim.figures.columns import QUANTITIES
from keyaction.sim.figures.play import NotPlayed
from keyaction.sim.figures.record import Pressed
from keyaction.sim.figures.registry import Quantity
from keyaction.sim.figures.verdict import FATES, UNASKED, Verdict, verdict
from keyaction.sim.lanes.batch import Rest
from keyaction.sim.lanes.designs import Designs, Numbers
from keyaction.sim.lanes.presses import presses
from keyaction.sim.lanes.read_presses import Verdicts
from keyaction.sim.motion.integrate import Floats


class Presses:
    """Designs pressed slowly: nothing is known of them before they are.

    Parameters
    ----------
    designs : Designs
    strokes : Strokes
    rest : Rest
    wanted : sequence of Quantity
        Of those that presses tell.

    Attributes
    ----------
    figures : dict of name to (N,) array
        Those that are wanted; NaN where a design has none.
    lift : (N,) array
        `steady_lift`, whether it is wanted or not.
    beyond : dict of int to str
        Why designs have no press, by their place.
    fates : (N,) array of int
        Kinds of the verdicts, by their place in `FATES`.
    reasons : dict of int to str
        Of verdicts that have one.
    """

    def __init__(self, designs: Designs, strokes: Strokes, rest: Rest, wanted: Sequence[Quantity]) -> None:
        count = len(designs)
        self._designs, self._strokes, self._rest, self._wanted = designs, strokes, rest, wanted
        self._notes = dict[int, Pressed | NotPlayed]()
        self.figures: dict[str, Floats] = {one.name: np.full(count, np.nan) for one in wanted}
        self.lift, self.fates = np.full(count, np.nan), np.full(count, FATES.index(UNASKED.fate))
        self.beyond, self.reasons = dict[int, str](), dict[int, str]()

    def press(self, which: Numbers, jobs: int) -> None:
        """Press some designs one by one on this machine, in so many threads, and take over what they tell."""
        for i, note in zip(which.tolist(), self._pressed(which, jobs), strict=True):
            self._notes[i] = note
            self._judge(i, note.verdict if isinstance(note, NotPlayed) else verdict(note))
            if isinstance(note, NotPlayed):
                self.beyond[i] = str(note)
                continue
            self.lift[i] = QUANTITIES["steady_lift"].compute(note)
            for one in self._wanted:
                self.figures[one.name][i] = one.compute(note)

    def _pressed(self, which: Numbers, jobs: int) -> list[Pressed | NotPlayed]:
        trains = [self._designs.train(i) for i in which.tolist()]
        return presses(trains, self._strokes, self._rest.some(which), jobs)

    def _judge(self, i: int, told: Verdict) -> None:
        self.fates[i] = FATES.index(told.fate)
        self.reasons.pop(i, None)
        if told.reason:
            self.reasons[i] = told.reason

    @property
    def verdicts(self) -> list[Verdict]:
        """The verdict of every design."""
        return Verdicts(self.fates, self.reasons).all()

    def note(self, i: int) -> Pressed | NotPlayed:
        """One design pressed, or why it is not."""
        if i not in self._notes:
            (self._notes[i],) = self._pressed(np.array([i]), 1)
        return self._notes[i]


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


class NoteByNote:
    """Makes presses one by one on this machine."""

    exact = True

    def __call__(
        self, designs: Designs, strokes: Strokes, rest: Rest, wanted: Sequence[Quantity], jobs: int
    ) -> Presses:
        found = Presses(designs, strokes, rest, wanted)
        found.press(np.arange(len(designs)), jobs)
        return found
