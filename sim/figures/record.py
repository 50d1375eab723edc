"""What has been played on one note, and where in it the events are: the ground for every quantity."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from keyaction.cases.action.strokes import Strokes
from keyaction.sim.figures.measure import above_seat
from keyaction.sim.figures.repetition import Repetition
from keyaction.sim.motion.integrate import Floats, Motion
from keyaction.sim.motion.note import Model
from keyaction.sim.statics.kinematics import Kinematics, kinematics
from keyaction.sim.statics.press import StaticPress

if TYPE_CHECKING:
    from keyaction.sim.figures.modes import Modes


@dataclass(frozen=True)
class Pressed:
    """A note pressed as slowly as can be, its keys' forces those of equilibria.

    Attributes
    ----------
    press : StaticPress
        The slow press and release.
    """

    model: Model
    strokes: Strokes
    press: StaticPress

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

    def at_pluck(self, name: str) -> float:
        """An observable or state where the pallet leaves its seat in the slow press; NaN if it never does."""
        down = self.press.down
        return down.at(self.press.pluck_place, down[name])

    @property
    def rest(self) -> Floats:
        """All coordinates at rest."""
        return self.press.down.states[0, : len(self.kinematics.coordinates)]


@dataclass(frozen=True)
class Record(Pressed):
    """All that was played on one note.

    Attributes
    ----------
    stroke : Motion
        The standard stroke.
    fast : mapping of speed (m/s) to Motion
        Presses at the stated speeds.
    repetition : Repetition
    """

    stroke: Motion
    fast: Mapping[float, Motion]
    repetition: Repetition

    def travel(self, motion: Motion) -> Floats:
        """Key travel from rest, m."""
        return np.asarray(motion["key_travel"] - motion["key_travel"][0])

    @cached_property
    def lift(self) -> Floats:
        """Lift of the pallet above its seat, at the eye, in the standard stroke: m, negative while it is squeezed."""
        return above_seat(self.stroke["pallet_lift"], self.stroke["seat_gap"])
