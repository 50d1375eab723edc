"""What has been played on one note, and where in it the events are: the ground for every quantity."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from keyaction.cases.action.strokes import Strokes
from keyaction.sim.figures.kinematics import Kinematics, kinematics
from keyaction.sim.figures.measure import crossing
from keyaction.sim.figures.repetition import Repetition
from keyaction.sim.motion.integrate import Floats, Motion
from keyaction.sim.motion.note import Model

if TYPE_CHECKING:
    from keyaction.sim.figures.modes import Modes


@dataclass(frozen=True)
class Record:
    """The motions of one note.

    Attributes
    ----------
    slow : Motion
        The slow press and release.
    stroke : Motion
        The standard stroke.
    fast : mapping of speed (m/s) to Motion
        Presses at the stated speeds.
    repetition : Repetition
    """

    model: Model
    strokes: Strokes
    slow: Motion
    stroke: Motion
    fast: Mapping[float, Motion]
    repetition: Repetition

    def of(self, role: str, name: str) -> float:
        """A figure of the part with that role (``pallet``, ``box`` ...)."""
        return self.model.train.role(role).values.derived[name].value

    @cached_property
    def kinematics(self) -> Kinematics:
        """Geometry of the train."""
        return kinematics(self.model.train.structure)

    @cached_property
    def modes(self) -> Modes:
        """Natural frequencies of the taut train."""
        from keyaction.sim.figures.modes import modes  # here, because modes are read from a record themselves

        return modes(self)

    @cached_property
    def box_pressure(self) -> float:
        return self.model.train.box_pressure

    def travel(self, motion: Motion) -> Floats:
        """Key travel from rest, m."""
        return np.asarray(motion["key_travel"] - motion["key_travel"][0])

    @cached_property
    def pluck_time(self) -> float:
        """Time in the slow press at which the pallet leaves its seat; NaN if it never does."""
        return crossing(self.slow.t, self.slow["seat_gap"], 0.0)

    @cached_property
    def bottom_time(self) -> float:
        """Time in the slow press at which the key touches the bottom felt."""
        felt = self.kinematics.layout.element(self.model.train.key.name, "bottom")
        return crossing(self.slow.t, self.slow[felt.stretch], 0.0)

    def coordinates(self, motion: Motion, i: int) -> Floats:
        """All coordinates at one recorded instant."""
        return motion.y[i, : len(self.kinematics.coordinates)]
