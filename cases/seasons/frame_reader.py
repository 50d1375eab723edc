"""All that a case says of its seasons, checked against its train."""

from __future__ import annotations

from collections.abc import Iterator

from keyaction.cases.seasons.drafts import FrameDraft
from keyaction.cases.seasons.ground import Ground
from keyaction.cases.seasons.members import member_warnings, read_members
from keyaction.cases.seasons.rail import rail_warnings, read_rail
from keyaction.cases.seasons.season import read_season
from keyaction.cases.text.defects import Place
from keyaction.models.frame.changes import RunRod
from keyaction.models.frame.frame import Frame
from keyaction.models.frame.strain import ALONG, lacking, swells


def read_frame(ground: Ground, place: Place, draft: FrameDraft) -> Frame | None:
    """Members, rail and season of a case.

    Parameters
    ----------
    ground : Ground
        The train.
    place : Place
        The file; takes defects.
    draft : FrameDraft
        Its tables, after settings from outside.

    Returns
    -------
    Frame, optional
        None where a defect was recorded.
    """
    before = len(place.log)
    members = read_members(ground, place, draft.members)
    rail = read_rail(ground, place, draft.rail) if draft.rail is not None else None
    season = read_season(ground, place, draft.season)
    if len(place.log) > before or season is None or not ground.sound:
        return None
    told = [*member_warnings(place.file, members), *_rod_warnings(ground, place.file), *rail_warnings(place.file, rail)]
    air = season.temperature, season.humidity
    return Frame(members, rail, *air, season.year, season.rod_finish, tuple(told))


def _rod_warnings(ground: Ground, file: str) -> Iterator[str]:
    """Rods whose own growth, or its lag, is not known."""
    told = dict[str, list[int]]()
    for note in ground.notes:
        for rod in ground.rods(note):
            if why := _unknown(rod):
                told.setdefault(f"{file}: [[train]] {rod.name}: {why}", []).append(note)
    for line, notes in told.items():
        yield f"{line} (at {ground.context.compass.ranges(notes)})"


def _unknown(rod: RunRod) -> str:
    """What is taken of a rod's growth, where it is not known; empty if it is."""
    if rod.material is None:
        return "its stiffness is measured and it names no material: its own length is taken not to change"
    if not rod.length:
        return "it has no length: its own length is taken not to change"
    if swells(rod.material) and not rod.thickness:
        return "it has no section: taken to follow the air at once"
    if missing := lacking(rod.material, ALONG):
        names = ", ".join(f"'{name}'" for name in missing)
        return f"material '{rod.material.name}' has no {names}: taken to change nothing"
    return ""
