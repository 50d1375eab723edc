"""What a year does to the runs of a division: every rod of every note drawn tighter or slacker by wood and heat."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from keyaction.cases.action.case import Case
from keyaction.models.climate.lag import moisture, time_constant
from keyaction.models.climate.year import Year
from keyaction.models.formulas import wood
from keyaction.models.frame.changes import RunChange, RunRod
from keyaction.models.frame.frame import Frame
from keyaction.models.frame.member import Member
from keyaction.models.frame.rods import run_change, run_rods
from keyaction.models.frame.strain import strain
from keyaction.models.materials.types import Material
from keyaction.models.train.train import Train
from keyaction.sim.motion.integrate import Floats


@dataclass(frozen=True)
class Runs:
    """The runs of some notes over a year.

    Attributes
    ----------
    rods : mapping of int to tuple of RunRod
        By note.
    changes : mapping of int to RunChange
    moisture : mapping of str to (D,) array
        Moisture content of every wooden member and rod, by name; of a rod whose thickness differs from note to note
        that of the thickest.
    """

    rods: Mapping[int, tuple[RunRod, ...]]
    changes: Mapping[int, RunChange]
    moisture: Mapping[str, Floats]


def runs_of(case: Case, frame: Frame, year: Year, trains: Mapping[int, Train]) -> Runs:
    """The runs of a division's notes over a year.

    Parameters
    ----------
    case : Case
    frame : Frame
    year : Year
    trains : mapping of int to Train

    Returns
    -------
    Runs
    """
    air = _Air(frame, year)
    strains = {member.name: air.of_member(member) for member in frame.members}
    wet = {member.name: air.wet(_lag(member)) for member in frame.members if member.material.kind == "wood"}
    rods, changes = dict[int, tuple[RunRod, ...]](), dict[int, RunChange]()
    thickest = dict[str, float]()
    for note, train in trains.items():
        path = case.layout.paths.get(note) if case.layout else None
        after = {member.name: member.after[0] for member in train.structure if member.after}
        run = run_rods(train.parts, path, after)
        own = {rod.name: air.of_rod(rod) for rod in run}
        rods[note], changes[note] = run, run_change(frame.members, run, note, strains, own)
        for rod in run:
            if rod.material is not None and rod.material.kind == "wood":
                thickest[rod.name] = max(thickest.get(rod.name, 0.0), rod.thickness)
    wet.update({name: air.wet(_rod_lag(size, frame.rod_finish)) for name, size in thickest.items()})
    return Runs(rods, changes, wet)


def _lag(member: Member) -> float:
    """Time with which a member follows the air, s."""
    if member.lag is not None:
        return member.lag
    if not member.thickness > 0.0:
        return 0.0
    return time_constant(member.thickness, member.finish, member.faces, member.breadth)


def _rod_lag(thickness: float, finish: str) -> float:
    """Time with which a wooden rod follows the air, s; none where its section is not told."""
    return time_constant(thickness, finish) if thickness > 0.0 else 0.0


class _Air:
    """What the air of a year does to materials; each kind of thing is worked out once."""

    def __init__(self, frame: Frame, year: Year) -> None:
        self.frame, self.year = frame, year
        self._wet, self._strains = dict[float, Floats](), dict[tuple[str, str, float], Floats]()
        self.at = frame.temperature, wood.moisture_content(frame.temperature, frame.humidity)

    def wet(self, lag: float) -> Floats:
        """Moisture content of what follows with this lag (s), (D,)."""
        if lag not in self._wet:
            self._wet[lag] = np.asarray(moisture(self.year, lag, self.at[1]))
        return self._wet[lag]

    def of_member(self, member: Member) -> Floats:
        """Strain of a member along its length, (D,)."""
        lag = _lag(member) if member.material.kind == "wood" else 0.0
        return self._strain(member.material, member.grain, lag)

    def of_rod(self, rod: RunRod) -> Floats:
        """Strain of a rod along itself, (D,); 0 where its material is not known."""
        if rod.material is None:
            return np.zeros(len(self.year))
        wooden = rod.material.kind == "wood"
        lag = _rod_lag(rod.thickness, self.frame.rod_finish) if wooden else 0.0
        return self._strain(rod.material, "along" if wooden else "", lag)

    def _strain(self, material: Material, grain: str, lag: float) -> Floats:
        key = material.name, grain, lag
        if key not in self._strains:
            wet = self.wet(lag) if material.kind == "wood" else np.full(len(self.year), self.at[1])
            self._strains[key] = np.asarray(strain(material, grain, self.year.temperature, wet, self.at))
        return self._strains[key]
