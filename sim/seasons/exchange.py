"""Rods and members of a division as groups whose materials can be exchanged, and the strains that go with them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from keyaction.cases.action.case import Case
from keyaction.models.climate.lag import moisture, time_constant
from keyaction.models.formulas import wood
from keyaction.models.frame.changes import RunRod
from keyaction.models.frame.frame import Frame
from keyaction.models.frame.member import KEY_FRONT, Member
from keyaction.models.frame.rods import run_change
from keyaction.models.frame.strain import lacking, strain, swells
from keyaction.models.materials.library import Library
from keyaction.models.units.quantity import parse_quantity
from keyaction.sim.compare.rod_choice import trackers
from keyaction.sim.compare.usual import STRIP
from keyaction.sim.motion.integrate import Floats
from keyaction.sim.seasons.cancelling import RODS, Group, Piece, Strain
from keyaction.sim.seasons.places import run_of
from keyaction.sim.seasons.season import DivisionSeason
from keyaction.sim.tightening.refer import strand, ways

_STRIP = parse_quantity(STRIP[1], "m")
"""m: thickness of a wooden strip in place of a rod that is of no wood."""
_OF_RODS = "wood", "composite", "metal"
"""Kinds of material that are tried for rods."""
FRAME_METAL = "steel"
"""What is tried for a member beside woods: posts, sills and rails are made of it, of no brass or bronze."""
THICK = 0.050
"""m: thickness of wood in place of a member without one, where no member of wood has any; assumed."""
_LAMINATES = ("carbon-ud-70", "carbon-tube-10", "carbon-tube-20", "carbon-tube-30", "carbon-tube-45")
NOT_TRIED = (*_LAMINATES, "spring-brass", "beryllium-copper", "music-wire", "hard-drawn-wire")
"""Springs, and carbon that is not sold as rod."""


@dataclass(frozen=True)
class _Run:
    """A note's rods and the ways of those of its strand."""

    note: int
    rods: tuple[RunRod, ...]
    ways: Mapping[str, float]


def groups_of(season: DivisionSeason) -> tuple[Group, ...]:
    """Trackers together, every other rod, and every member of a division, with what each does to every note.

    Parameters
    ----------
    season : DivisionSeason
        Its notes that have not failed are the rows.

    Returns
    -------
    tuple of Group
        Sticker and pull-down stay as they are, and so does a rod of which no material is given: it is left out, as its
        length is taken not to change. A rod's material is that of the lowest note. A member may become of any wood or
        of steel; one that carries a pallet or a key's front stays of wood.
    """
    runs = _runs(season)
    library, names = season.case.library, {part.name for part in trackers(season.case)}
    exchanged, still = [], []
    for name in dict.fromkeys(rod.name for run in runs for rod in run.rods if rod.name in run.ways):
        own = [rod for run in runs for rod in run.rods if rod.name == name and rod.material is not None]
        if not own or own[0].material is None:
            continue
        piece = Piece(name, _of_rod(name, runs, season.frame), _wet_rod(season, own[0]), own[0].material.name)
        if name in names:
            exchanged.append(piece)
        else:
            still.append(Group(name, (piece,)))
    found = [Group(RODS, tuple(exchanged), _tried(library, _OF_RODS))] if exchanged else []
    only_wood = {KEY_FRONT} | {part.name for part in season.case.parts if part.part.role == "pallet"}
    for member in season.frame.members:
        gains, grain = _of_member(member, runs, season.frame), member.grain or "along"
        piece = Piece(member.name, gains, _wet(season, member), member.material.name, grain)
        metals = () if only_wood.intersection(member.carries) else (FRAME_METAL,)
        found.append(Group(member.name, (piece,), (*_tried(library, ("wood",)), *metals)))
    return (*found, *still)


def _tried(library: Library, kinds: Sequence[str]) -> tuple[str, ...]:
    return tuple(name for kind in kinds for name in library.names(kind) if name not in NOT_TRIED)


def strain_of(season: DivisionSeason) -> Strain:
    """Strains over the season's year; NaN of a material that lacks a property that is needed."""
    frame, year, library = season.frame, season.year, season.case.library
    at = frame.temperature, _regulated(frame)

    def of(name: str, grain: str, wet: Floats) -> Floats:
        material = library.get(name)
        lies = grain if swells(material) else ""
        if lacking(material, lies):
            return np.full(len(year), np.nan)
        return strain(material, lies, year.temperature, wet, at)

    return of


def with_members(case: Case, frame: Frame, changes: Mapping[str, str]) -> Frame:
    """The frame with other materials of its members, by member.

    What has no grain gets it along, and wood in place of what has no thickness gets that of `thick`.
    """
    members = tuple(
        replace(
            one, material=case.library.get(changes[one.name]), grain=one.grain or "along", thickness=thick(one, frame)
        )
        if one.name in changes
        else one
        for one in frame.members
    )
    return replace(frame, members=members)


def thick(member: Member, frame: Frame) -> float:
    """Thickness of a member, m; without one that of the thickest member of wood, else `THICK`."""
    wooden = (one.thickness for one in frame.members if one.material.kind == "wood")
    return member.thickness or max(wooden, default=0.0) or THICK


def thickness_assumed(case: Case, frame: Frame, changes: Mapping[str, str]) -> tuple[Member, ...]:
    """Members that become of wood and say neither thickness nor lag: theirs is that of `thick`."""
    silent = (one for one in frame.members if one.name in changes and not one.thickness and one.lag is None)
    return tuple(one for one in silent if case.library.get(changes[one.name]).kind == "wood")


def _runs(season: DivisionSeason) -> list[_Run]:
    found = []
    for note, one in season.notes.items():
        if one.failed or one.tightness is None:
            continue
        train = one.tightness.train
        own = ways(train)
        found.append(_Run(note, run_of(season, note, train), {rod: own[rod] for rod in strand(train) if rod in own}))
    return found


def _of_rod(name: str, runs: list[_Run], frame: Frame) -> Floats:
    """By note: how much tighter the run is drawn at the key as the rod grows by its own length."""
    return _gains(runs, frame, {}, {name: np.ones(1)})


def _of_member(member: Member, runs: list[_Run], frame: Frame) -> Floats:
    return _gains(runs, frame, {member.name: np.ones(1)}, {})


def _gains(runs: list[_Run], frame: Frame, members: Mapping[str, Floats], rods: Mapping[str, Floats]) -> Floats:
    growth = {one.name: members.get(one.name, np.zeros(1)) for one in frame.members}
    gains = []
    for run in runs:
        change = run_change(frame.members, run.rods, run.note, growth, rods)
        pairs = zip(change.rods, change.tighter[:, 0], strict=True)
        gains.append(sum(by / run.ways[rod] for rod, by in pairs if rod in run.ways))
    return np.array(gains)


def _wet_rod(season: DivisionSeason, rod: RunRod) -> Floats:
    """Moisture of a rod, or of a wooden strip in its place."""
    return (
        season.moisture[rod.name] if rod.name in season.moisture else _follows(season, _STRIP, season.frame.rod_finish)
    )


def _wet(season: DivisionSeason, member: Member) -> Floats:
    """Moisture of a member, or of wood in its place."""
    if member.name in season.moisture:
        return season.moisture[member.name]
    if member.lag is not None:
        return moisture(season.year, member.lag, _regulated(season.frame))
    return _follows(season, thick(member, season.frame), member.finish, member.faces, member.breadth)


def _follows(season: DivisionSeason, thickness: float, finish: str, faces: int = 2, breadth: float = 0.0) -> Floats:
    tau = time_constant(thickness, finish, faces, breadth) if thickness > 0.0 else 0.0
    return moisture(season.year, tau, _regulated(season.frame))


def _regulated(frame: Frame) -> float:
    """Moisture content of wood at rest on the day of regulation."""
    return wood.moisture_content(frame.temperature, frame.humidity)
