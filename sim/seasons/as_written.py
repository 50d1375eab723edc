"""In which state a case as it is written has its notes on a floating rail, told by levers alone; light to load."""

from __future__ import annotations

from collections.abc import Sequence

from keyaction.cases.action.case import Case
from keyaction.cases.action.trains import train_of
from keyaction.models.frame.rail import Rail
from keyaction.models.notes import note_name
from keyaction.models.train.train import Train, TrainProblem
from keyaction.models.units.quantity import System
from keyaction.sim.seasons.said import length
from keyaction.sim.seasons.season import NOTHING
from keyaction.sim.tightening.refer import strand, ways

CENTRED = "the floating rail is taken at its centre, its rods with the play that is written"
REMEDY = "`keyaction rail CASE --out FILE` writes the case as it then stands, for all other commands"


def rail_of(case: Case) -> Rail | None:
    """The rail of a case, where it floats."""
    rail = case.frame.rail if case.frame is not None else None
    return None if rail is None or rail.fixed else rail


def written_play(train: Train) -> float:
    """The play that is written into the rods between key and pallet, m at the key front; below 0 they are tight."""
    way = ways(train)
    return sum(train.value(rod, "slack") / way[rod] for rod in strand(train) if rod in way)


def as_written(case: Case, notes: Sequence[int], units: System) -> str:
    """Which state of notes on a floating rail the figures of a case as it is written are of.

    Empty without a floating rail, and where the rods are written tight: then the case says how its nuts are set.
    """
    if rail_of(case) is None:
        return ""
    note = min(notes)
    try:
        play = written_play(train_of(case, note))
    except TrainProblem:
        return f"{CENTRED}; as regulated its load is to take that up. {REMEDY}"
    if play < 0.0:
        return ""
    there = f"{length(play, units)} at the key of {note_name(note, case.naming)}" if play > NOTHING else "none"
    return f"{CENTRED} ({there}); as regulated its load is to take that up: the pluck then comes sooner. {REMEDY}"
