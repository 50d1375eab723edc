"""Slow presses of many designs on a device; those that it cannot follow are pressed one by one on the processor."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import fields
from functools import lru_cache
from threading import Lock

import numpy as np

from keyaction.cases.action.strokes import Strokes
from keyaction.models.train.structure import Structure
from keyaction.sim.code.c_text import LANES
from keyaction.sim.code.machines import Machine
from keyaction.sim.code.no_gpu import NoGpu
from keyaction.sim.figures.registry import Quantity
from keyaction.sim.lanes.batch import Rest
from keyaction.sim.lanes.designs import Designs
from keyaction.sim.lanes.engines import machine_of
from keyaction.sim.lanes.memory import in_parts
from keyaction.sim.lanes.pressing import NoteByNote, Presser, Presses
from keyaction.sim.lanes.read_presses import PressReader, supported
from keyaction.sim.statics.press_text import DONE, WIDE
from keyaction.sim.statics.pressed_rows import Found, Read, pressed_rows

_ONE_AT_A_TIME = Lock()
"""Presses fill a GPU, and take as much of its memory as is free."""


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
    ) -> Presses:
        found = _Together(designs, strokes, rest, wanted)
        found.press_together(self._machine, jobs)
        return found


class _Together(Presses):
    """Designs that a device presses together."""

    def press_together(self, machine: Machine, jobs: int) -> None:
        """Press all; those that are not followed to the end one by one."""
        reader = _reader(self._designs.structure, self._strokes.press_stiffness)
        found = self._followed(reader, machine)
        lost = (found.code != DONE) & (found.code != WIDE)
        found.out[lost] = np.nan
        self._take(reader, found, jobs)
        self.press(np.flatnonzero(lost), jobs)

    def _followed(self, reader: PressReader, machine: Machine) -> Found:
        designs, strokes, states = self._designs, self._strokes, self._rest.states
        given = reader.given(np.full(len(designs), np.nan))  # the travel at rest is found on the way
        rows, columns, parts = designs.parameters, reader.columns.tolist(), list[Found]()

        def work(part: slice) -> None:
            read = Read(columns, given[part], reader.width)
            try:
                parts.append(pressed_rows(designs.structure, rows[part], states[part], strokes, machine, read))
            except NoGpu as problem:
                raise MemoryError(str(problem)) from None  # motions may have it at the moment

        with _ONE_AT_A_TIME:
            in_parts(work, slice(0, len(designs)), LANES)
        return Found(*(np.concatenate([getattr(part, one.name) for part in parts]) for one in fields(Found)))

    def _take(self, reader: PressReader, found: Found, jobs: int) -> None:
        """Figures and verdicts of all, NaN and not known where they were not followed."""
        designs, out = self._designs, found.out
        derived = {"closing_force": designs.derived("pallet", "closing_no_wind"), "wave_time": designs.wave_time}
        names = dict.fromkeys([*self.figures, "steady_lift"])
        with np.errstate(all="ignore"):
            figures = reader.figures(out, designs.parameters, derived, list(names), jobs)
            told = reader.verdicts(out, designs.parameters, designs.derived("groove", "feet"))
        self.lift = figures["steady_lift"]
        self.figures = {name: figures[name] for name in self.figures}
        self.fates, self.reasons = told.fates, dict(told.reasons)
        for i in np.flatnonzero(reader.turned(out)).tolist():
            self.beyond[i] = reader.turned_words(out, i)


def presser_of(device: str, structure: Structure) -> Presser:
    """What presses designs of a structure whose motions a device plays."""
    if device == "cpu" or not supported(structure):
        return NoteByNote()
    return OnDevice(machine_of(device))
