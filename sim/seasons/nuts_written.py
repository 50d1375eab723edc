"""A division as its floating rail leaves it on the day of regulation, as a case: each note's nut as it is set."""

from __future__ import annotations

from keyaction.cases.text.edit import EditProblem
from keyaction.models.train.train import Train
from keyaction.sim.seasons.held import regulated
from keyaction.sim.seasons.season import DivisionSeason, NoteSeason
from keyaction.sim.tightening.refer import standing_rod, ways
from keyaction.sim.tune.new_case import read_again, with_own_values

EXACT = 1e-7
"""m to which the new case has the play that it was to have."""
REMARK = "Nuts as the load of the floating rail leaves them on the day of regulation; below 0 a rod is tight"


def nuts_of(season: DivisionSeason) -> dict[int, tuple[str, float]]:
    """Of every note the rod at whose nut it is set, and the play that this rod then has, m; below 0 it is tight."""
    return {note: _nut(one) for note, one in season.notes.items() if one.tightness is not None}


def _nut(one: NoteSeason) -> tuple[str, float]:
    """The rod whose play is written, as a builder would look for it there; by its levers what the rail's rod gives."""
    known = one.tightness
    assert known is not None
    train: Train = known.train
    rod = standing_rod(train)
    return rod, train.value(rod, "slack") - regulated(one) * ways(train)[rod] / known.way


def nuts_text(season: DivisionSeason) -> str:
    """The case's text with the nuts of all notes as they are set on the day of regulation.

    Raises
    ------
    ValueError
        If the text cannot be given them, or no case with them.
    """
    case, nuts = season.case, nuts_of(season)
    values = {note: (rod, "lost_motion", f"{1e3 * play:.5f} mm") for note, (rod, play) in nuts.items()}
    try:
        text = with_own_values(case, values, REMARK)
    except EditProblem as problem:
        told = f'{case.path.name}: {problem}; write it as lost_motion = "0.3 mm", to have the nuts set'
        raise ValueError(told) from None
    fields = {part.name: part.fields["lost_motion"] for part in read_again(case, text).parts if part.part.role == "rod"}
    if any(abs(float(fields[rod][note].value) - play) > EXACT for note, (rod, play) in nuts.items()):
        raise ValueError(f"{case.path.name}: its text could not be given other nuts")
    return text
