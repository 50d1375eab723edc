"""The day of regulation: how notes on a floating rail stand then, beside the case as it is written.

What plays a case as it is written takes a floating rail at its centre, its rods with the play that is written. But its
load takes up play before anybody plays: the built and regulated action is that of this day.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from keyaction.cases.action.case import Case
from keyaction.cases.action.trains import sound_trains
from keyaction.models.climate.year import Year
from keyaction.models.frame.frame import Frame
from keyaction.models.frame.rail import Rail
from keyaction.models.notes import note_name
from keyaction.models.train.train import Train, TrainProblem
from keyaction.models.units.quantity import System
from keyaction.sim.code.need_numba import need_numba
from keyaction.sim.code.no_numba import NoNumba
from keyaction.sim.figures.play import NotPlayed, press_note
from keyaction.sim.floating.equilibrium import pulls_on_rail, shifts_on_rail
from keyaction.sim.motion.note import NoteModel
from keyaction.sim.seasons.as_written import CENTRED, REMEDY, as_written, rail_of, written_play
from keyaction.sim.seasons.engine import frame_of, seasons
from keyaction.sim.seasons.held import held_of, regulated
from keyaction.sim.seasons.places import run_in
from keyaction.sim.seasons.said import force, length
from keyaction.sim.seasons.season import NOTHING, DivisionSeason
from keyaction.sim.tightening.refer import standing_rod, ways
from keyaction.sim.tightening.tightness import tightness
from keyaction.sim.tightening.touch import READ

AT_CENTRE = 0.01
"""Share of its load within which rods count as holding a rail where it is (assumed): it moves by some um at most."""
ALIKE = 0.01
"""Share by which forces differ that count as the same."""


@dataclass(frozen=True)
class BothWays:
    """One note on a floating rail, slowly pressed.

    Attributes
    ----------
    note : int
    name : str
    written : mapping of str to float
        By the names of `keyaction.sim.tightening.touch.READ`: with the rail at its centre and the play as written.
    regulated : mapping of str to float
        The same as the rail's load leaves it on the day of regulation.
    """

    note: int
    name: str
    written: Mapping[str, float]
    regulated: Mapping[str, float]

    @property
    def gain(self) -> float:
        """By how much sooner it plucks as regulated, m; NaN without a pluck."""
        here, there = self.plucks
        return here - there

    @property
    def plucks(self) -> tuple[float, float]:
        """Where it plucks as written, and as regulated, m."""
        return self.written["pluck_point"], self.regulated["pluck_point"]


def regulated_season(
    case: Case, notes: Sequence[int] | None = None, jobs: int = 0, frame: Frame | None = None
) -> DivisionSeason:
    """The day of regulation alone: parameters, returns and errors as of `keyaction.sim.seasons.engine.seasons`."""
    frame = frame or frame_of(case)
    warm, damp = (np.array([one]) for one in (frame.temperature, frame.humidity))
    return seasons(case, Year("the day of regulation", np.zeros(1), warm, damp), notes, jobs, frame)


def both_ways(case: Case, notes: Sequence[int], jobs: int = 0) -> list[BothWays]:
    """The lowest and the highest of some notes, as they are written and as the rail's load leaves them.

    Where all notes are written with the same play for the rail to take up, each holds its share of the load, and those
    two stand for all; else every note of the division is reckoned with. Empty without a floating rail, and where the
    rods as written hold it at its centre.

    Raises
    ------
    ValueError
        Where the load and what all rods pull do not meet between the stops.
    keyaction.TrainProblem
        Where a note of the division cannot be built.
    keyaction.sim.code.no_numba.NoNumba
        Where nothing can be compiled.
    """
    rail = rail_of(case)
    if rail is None:
        return []
    need_numba()
    trains = sound_trains(case, case.compass)
    ends = sorted({min(notes), max(notes)} & set(trains))
    taken = [written_play(train) / _drawn(rail, case, note, train) for note, train in trains.items()]
    if min(taken) < 0.0 and _at_centre(rail, case, trains, jobs):
        return []
    season = None
    if min(taken) >= 0.0 and np.ptp(taken) <= NOTHING:
        season = regulated_season(case, ends, jobs, _shared(frame_of(case), rail, len(ends) / len(trains)))
    if season is None or not _shares_alike(season):
        season = regulated_season(case, jobs=jobs)
    if not balanced(season):
        raise ValueError("its load does not hold it there, and it stands at a stop")
    return [_both(case, note, trains[note], season) for note in ends]


def _shared(frame: Frame, rail: Rail, part: float) -> Frame:
    """The frame with what some of its notes hold of the rail."""
    less = replace(rail, load=rail.load * part, rate=rail.rate * part, friction=rail.friction * part)
    return replace(frame, rail=less)


def _shares_alike(season: DivisionSeason) -> bool:
    """Whether every note holds as much of the rail as the others."""
    held = held_of(season)
    pulls = [float(c.at(regulated(season.notes[n]))) for c, n in zip(held.curves, held.notes, strict=True)]
    return balanced(season) and float(np.ptp(pulls)) <= ALIKE * max(pulls)


def balanced(season: DivisionSeason) -> bool:
    """Whether all rods together hold the load on the first day."""
    course = season.rail
    assert course is not None
    return abs(float(course.pull[0]) - course.rail.load) <= AT_CENTRE * course.rail.load


def _drawn(rail: Rail, case: Case, note: int, train: Train) -> float:
    """How much a note is drawn tighter at the key per way of the rail with its load."""
    way = ways(train)
    return sum(shift / way[rod] for rod, shift in shifts_on_rail(rail, run_in(case, note, train)).items())


def _at_centre(rail: Rail, case: Case, trains: Mapping[int, Train], jobs: int) -> bool:
    """Whether the rods as written hold the rail at its centre."""
    rods = {note: standing_rod(train) for note, train in trains.items()}
    keyed = {note: ways(train)[rods[note]] for note, train in trains.items()}
    rest = tightness(trains, rods, keyed, np.zeros(1), jobs)
    pull = sum(float(pulls_on_rail(rail, one, run_in(case, note, one.train))[0]) for note, one in rest.items())
    return abs(pull - rail.load) <= AT_CENTRE * rail.load


def _both(case: Case, note: int, train: Train, season: DivisionSeason) -> BothWays:
    try:
        pressed = press_note(NoteModel(train), case.strokes)
        written = {name: float(read(pressed)) for name, read in READ.items()}
    except NotPlayed:
        written = dict.fromkeys(READ, math.nan)
    found = season.notes[note].figures
    regulated = {name: float(found[name][0]) if name in found else math.nan for name in READ}
    return BothWays(note, note_name(note, case.naming), written, regulated)


def regulated_said(case: Case, notes: Sequence[int], units: System, jobs: int = 0) -> str:
    """Which state the figures of a case as it is written are of, and the touch as regulated beside it.

    As of `keyaction.sim.seasons.as_written.as_written` where that cannot be pressed; empty where both are the same.
    """
    try:
        found = [one for one in both_ways(case, notes, jobs) if not abs(one.gain) <= NOTHING]
    except (NoNumba, TrainProblem):
        return as_written(case, notes, units)
    except ValueError as problem:
        return f"{CENTRED}; {problem}: `keyaction rail CASE` says which loads work"
    told = [_said(one, units) for one in found if any(map(math.isfinite, one.plucks))]
    if not told:
        return as_written(case, notes, units) if found else ""
    loose = any(one.written["lost_motion"] - one.regulated["lost_motion"] > NOTHING for one in found)
    how = "As regulated its load takes that up" if loose else "Its load would set the nuts otherwise"
    return f"{CENTRED}. {how}: {'; '.join(told)}. Go by those: {REMEDY}"


def _said(one: BothWays, units: System) -> str:
    new, old = one.regulated, one.written
    here, there = (length(at, units) if math.isfinite(at) else "nowhere" for at in one.plucks)
    words = [f"{one.name} then plucks at {there} (here {here})".replace("at nowhere", "nowhere")]
    if not math.isfinite(one.gain):
        return words[0]
    if abs(new["pluck_force"] - old["pluck_force"]) <= ALIKE * old["pluck_force"]:
        words[0] += " with the same force"
    else:
        words.append(f"with {force(new['pluck_force'], units)} ({force(old['pluck_force'], units)})")
    for figure, what in (("lost_motion", "play"), ("steady_lift", "lift")):
        words.append(f"{what} {length(new[figure], units)} ({length(old[figure], units)})")
    return ", ".join(words)
