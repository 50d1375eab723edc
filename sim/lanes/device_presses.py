"""Slow presses of many designs on a device; those that it cannot follow are pressed one by one on the processor."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from threading import Lock

import numpy as np
from numpy.typing import NDArray

from keyaction.cases.action.strokes import Strokes
from keyaction.models.train.structure import Structure
from keyaction.sim.code.machines import Machine
from keyaction.sim.figures.columns import QUANTITIES
from keyaction.sim.figures.play import NotPlayed
from keyaction.sim.figures.record import Pressed
from keyaction.sim.figures.registry import Quantity
from keyaction.sim.figures.verdict import FATES, Verdict, verdict
from keyaction.sim.lanes.batch import Rest
from keyaction.sim.lanes.designs import Designs
from keyaction.sim.lanes.presses import presses
from keyaction.sim.lanes.read_presses import PressReader
from keyaction.sim.motion.integrate import Floats
from keyaction.sim.statics.press_text import DONE, WIDE
from keyaction.sim.statics.pressed_rows import Found, Read, pressed_rows

_ONE_AT_A_TIME = Lock()
"""Presses fill a GPU, and take as much of its memory as is free."""
STANDING = ("slow press", "train")
"""Sources of quantities that presses tell."""


@lru_cache(maxsize=64)
def _reader(structure: Structure, stiffness: float) -> PressReader:
    return PressReader(structure, stiffness)


class OnDevice:
    """Makes presses on a device.

    Parameters
    ----------
    machine : Machine
        What runs C texts.
    """

    exact = False

    def __init__(self, machine: Machine) -> None:
        self._machine = machine

    def __call__(
        self, designs: Designs, strokes: Strokes, rest: Rest, wanted: Sequence[Quantity], jobs: int
    ) -> PressedTogether:
        return PressedTogether(designs, strokes, rest, wanted, jobs, self._machine)


class PressedTogether:
    """Designs pressed on a device; attributes as `keyaction.sim.lanes.pressing.Presses` has them."""

    def __init__(
        self,
        designs: Designs,
        strokes: Strokes,
        rest: Rest,
        wanted: Sequence[Quantity],
        jobs: int,
        machine: Machine,
    ) -> None:
        self._designs, self._strokes, self._rest = designs, strokes, rest
        self._notes = dict[int, Pressed | NotPlayed]()
        self._standing = [one for one in wanted if one.source in STANDING]
        self._reader = _reader(designs.structure, strokes.press_stiffness)
        self.beyond = dict[int, str]()
        found = self._followed(machine)
        self._take(found, jobs)
        self._press_the_rest(np.flatnonzero((found.code != DONE) & (found.code != WIDE)), jobs)

    def _followed(self, machine: Machine) -> Found:
        reader, designs, strokes = self._reader, self._designs, self._strokes
        given = reader.given(np.full(len(designs), np.nan))  # the travel at rest is found on the way
        read = Read(reader.columns.tolist(), given, reader.width)
        states = self._rest.states
        with _ONE_AT_A_TIME:
            return pressed_rows(designs.structure, designs.parameters, states, strokes, machine, read)

    def _take(self, found: Found, jobs: int) -> None:
        """Figures and verdicts of all, those that were not followed among them for now."""
        reader, designs, out = self._reader, self._designs, found.out
        derived = {"closing_force": designs.derived("pallet", "closing_no_wind"), "wave_time": designs.wave_time}
        names = dict.fromkeys([one.name for one in self._standing] + ["steady_lift"])
        lost = (found.code != DONE) & (found.code != WIDE)
        out[lost] = np.nan
        with np.errstate(all="ignore"):
            figures = reader.figures(out, designs.parameters, derived, list(names), jobs)
            told = reader.verdicts(out, designs.parameters, designs.derived("groove", "feet"))
        self.figures: dict[str, Floats] = {one.name: figures[one.name] for one in self._standing}
        self.lift = figures["steady_lift"]
        self.fates: NDArray[np.int64] = told.fates
        self.reasons = dict(told.reasons)
        for i in np.flatnonzero(~lost & reader.turned(out)).tolist():
            self.beyond[i] = reader.turned_words(out, i)

    def _press_the_rest(self, which: NDArray[np.int64], jobs: int) -> None:
        trains = [self._designs.train(i) for i in which.tolist()]
        for i, note in zip(which.tolist(), presses(trains, self._strokes, self._rest.some(which), jobs), strict=True):
            self._notes[i] = note
            told = note.verdict if isinstance(note, NotPlayed) else verdict(note)
            self.fates[i] = FATES.index(told.fate)
            self.reasons.pop(i, None)
            if told.reason:
                self.reasons[i] = told.reason
            if isinstance(note, NotPlayed):
                self.beyond[i] = str(note)
                continue
            self.lift[i] = QUANTITIES["steady_lift"].compute(note)
            for one in self._standing:
                self.figures[one.name][i] = one.compute(note)

    @property
    def verdicts(self) -> NDArray[np.object_]:
        """The verdict of every design."""
        found = np.array([Verdict(fate) for fate in FATES], dtype=object)[self.fates]
        for i, reason in self.reasons.items():
            found[i] = Verdict(FATES[self.fates[i]], reason)
        return found

    def note(self, i: int) -> Pressed | NotPlayed:
        """One design pressed, or why it is not."""
        if i not in self._notes:
            at = np.array([i])
            self._notes[i] = presses([self._designs.train(i)], self._strokes, self._rest.some(at), 1)[0]
        return self._notes[i]
