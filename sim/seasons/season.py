"""What a year does to a division: per note and instant."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np

from keyaction.cases.action.case import Case
from keyaction.models.climate.year import Year
from keyaction.models.frame.frame import Frame
from keyaction.sim.floating.course import RailCourse
from keyaction.sim.motion.integrate import Floats
from keyaction.sim.tightening.tightness import Tightness

NOTHING = 5e-6
"""m: below it nobody measures."""
LABELS: Mapping[str, tuple[str, str, str]] = {
    "tightening": (
        "m",
        "path",
        "How much shorter the run has become for what it has to join, counted at the key front; below 0 it is slacker.",
    ),
    "level": (
        "m",
        "level",
        "How much higher the key's front stands at rest than on the day of regulation, measured from the key frame.",
    ),
    "lost_motion": ("m", "lost motion", "Key travel of the slow press before every rod carries, as `run` has it."),
    "key_dip": ("m", "dip", "Key travel at the dip force, as `run` has it."),
    "steady_lift": ("m", "lift", "Lift of the pallet with the key held down, as `run` has it."),
    "pluck_point": ("m", "pluck point", "Key travel at which the pallet leaves its seat; none where it rests open."),
    "pluck_force": ("N", "pluck", "Highest key force of the slow press, as `run` has it."),
    "seat_load": ("N", "seat load", "Force with which the pallet at rest presses on its seat, at the eye."),
    "margin": (
        "m",
        "margin",
        "How much tighter the run may yet be drawn before the note sounds unplayed, its groove at rest above 10 % of "
        "the wind, counted at the key front; the pallet leaves its seat a little before. Below 0 it sounds.",
    ),
}  # fmt: skip
"""Name of every figure over the year: SI unit, label, definition."""


@dataclass(frozen=True)
class NoteSeason:
    """One note over a year.

    Attributes
    ----------
    note : int
    name : str
        As people write it.
    tightness : Tightness
        Where it rests at every stretch of the rod that stands for all.
    stretch : (D,) array
        Of that rod, m, rail and all; 0 as regulated.
    figures : mapping of str to (D,) array
        By the names of `LABELS`; NaN where there is none.
    balanced : bool
        Whether its key comes up by itself, by leads or a spring of its own, so that its play changes; else it hangs on
        its rods, and its level does.
    cipher : int
        The instant at which it first begins to sound unplayed; -1 if it never does. A spell that goes over the end of a
        climate that repeats itself counts from where it begins.
    mute : (D,) array of bool
        When the pressed key does not open its pallet.
    failed : str
        Why there are no figures.
    """

    note: int
    name: str
    tightness: Tightness | None
    stretch: Floats
    figures: Mapping[str, Floats]
    balanced: bool
    cipher: int
    failed: str = ""
    mute: np.ndarray = field(default_factory=lambda: np.zeros(0, dtype=bool))


@dataclass(frozen=True)
class DivisionSeason:
    """A division over a year.

    Attributes
    ----------
    division : str
        Empty of an action case alone.
    case : Case
    frame : Frame
    year : Year
    rods : mapping of int to tuple of str
        Of every note the rods of its path.
    changes : mapping of int to (R, D) array
        By note: how much each of `rods` is drawn tighter by wood and heat, m, before the rail moves.
    notes : mapping of int to NoteSeason
    rail : RailCourse, optional
    moisture : mapping of str to (D,) array
        Moisture content of every wooden member and rod by name.
    """

    division: str
    case: Case
    frame: Frame
    year: Year
    rods: Mapping[int, tuple[str, ...]]
    changes: Mapping[int, Floats]
    notes: Mapping[int, NoteSeason]
    rail: RailCourse | None
    moisture: Mapping[str, Floats]

    def over(self, figure: str) -> Floats:
        """A figure of every note, (notes, D), NaN of notes that failed."""
        empty = np.full(len(self.year), np.nan)
        return np.array([one.figures.get(figure, empty) for one in self.notes.values()])
