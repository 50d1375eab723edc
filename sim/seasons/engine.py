"""A division over a year: `seasons`."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from keyaction.cases.action.case import Case
from keyaction.cases.action.trains import check_trains
from keyaction.models.climate.lag import repeats
from keyaction.models.climate.wave import default_year
from keyaction.models.climate.year import Year
from keyaction.models.frame.frame import Frame
from keyaction.models.frame.rail import Rail
from keyaction.models.notes import note_name
from keyaction.models.train.train import Train
from keyaction.sim.floating.centre import centred
from keyaction.sim.floating.equilibrium import Held, gain, pulls_on_rail
from keyaction.sim.motion.integrate import Floats
from keyaction.sim.seasons.changes import Runs, runs_of
from keyaction.sim.seasons.season import DivisionSeason, NoteSeason
from keyaction.sim.tightening.refer import standing_rod, strand, ways
from keyaction.sim.tightening.tightness import Tightness, tightness
from keyaction.sim.tightening.touch import READ, Touch, touches

FINE, COARSE = 0.05e-3, 0.4e-3
"""m of stretch between resting states: where notes stand over the year, and beyond."""
MOST = 120
"""Coarse steps at most, however far apart the stops of a rail stand."""
BEYOND = 2.5e-3
"""m of stretch beyond the tightest of the year in which the place is sought at which a note sounds."""
SPARE = 0.2e-3
"""m beyond the ends of the year that are known finely."""


def frame_of(case: Case) -> Frame:
    """The case's frame; of a case that says nothing of its seasons one that stands still, in the climate of its box."""
    if case.frame is not None:
        return case.frame
    box = next(part for part in case.parts if part.part.role == "box")
    given = case.values(case.compass[0], box)
    return Frame((), None, float(given["temperature"].value), float(given["humidity"].value))


def seasons(
    case: Case,
    year: Year | None = None,
    notes: Sequence[int] | None = None,
    jobs: int = 0,
    frame: Frame | None = None,
) -> DivisionSeason:
    """What a year does to a division.

    Parameters
    ----------
    case : Case
    year : Year, optional
        By default the one that the case names, else `keyaction.models.climate.wave.default_year`.
    notes : sequence of int, optional
        By default the whole compass; a floating rail is held by these alone.
    jobs : int
        Threads; 0 means one per core.
    frame : Frame, optional
        In place of the case's own.

    Returns
    -------
    DivisionSeason

    Raises
    ------
    keyaction.TrainProblem
        Where a note cannot be built.
    """
    frame = frame or frame_of(case)
    year = year or frame.year or default_year()
    trains = check_trains(case, list(case.compass if notes is None else notes))
    return _Division(case, frame, year, trains, jobs).season()


@dataclass(frozen=True)
class _Standing:
    """The rods that stand for all: by note the rod, the strand with its ways, and what its changes come to (D,)."""

    rods: Mapping[int, str]
    ways: Mapping[int, Mapping[str, float]]
    stretch: Mapping[int, Floats]


class _Division:
    """A division on its way through a year."""

    def __init__(self, case: Case, frame: Frame, year: Year, trains: Mapping[int, Train], jobs: int) -> None:
        self.case, self.frame, self.year, self.trains, self.jobs = case, frame, year, trains, jobs
        self.rail: Rail | None = None if frame.rail is None or frame.rail.fixed else frame.rail
        self.runs: Runs = runs_of(case, frame, year, trains)
        self.standing = self._standing()

    def season(self) -> DivisionSeason:
        known = self._known()
        held = self._held(known)
        begin = self._begin(held)
        net = begin[:, None] + np.array([self.standing.stretch[note] for note in self.trains])
        rail = held.course(net) if held is not None else None
        if held is not None and rail is not None:
            net = net + held.gains[:, None] * rail.place[None, :]
        low, high = (dict(zip(self.trains, [*ends(net, axis=1)], strict=True)) for ends in (np.min, np.max))
        for i, note in enumerate(self.trains):
            low[note], high[note] = min(low[note], begin[i]), max(high[note], begin[i])
        felt = touches(known, low, high, self.case.strokes, self.jobs)
        notes = {
            note: self._note(note, known[note], felt[note], float(begin[i]), net[i])
            for i, note in enumerate(self.trains)
        }
        rods = {note: change.rods for note, change in self.runs.changes.items()}
        changes = {note: change.tighter for note, change in self.runs.changes.items()}
        return DivisionSeason(
            self.case.division, self.case, self.frame, self.year, rods, changes, notes, rail, self.runs.moisture
        )

    # -- the rods that stand for all -------------------------------------------------------------------
    def _standing(self) -> _Standing:
        rods, every, stretch = dict[int, str](), dict[int, dict[str, float]](), dict[int, Floats]()
        for note, train in self.trains.items():
            near = self._at_rail(note)
            rods[note] = standing_rod(train, near)
            own = ways(train)
            every[note] = {rod: own[rod] for rod in strand(train) if rod in own}
            change = self.runs.changes[note]
            stretch[note] = sum(
                (
                    change.tighter[k] * every[note][rods[note]] / every[note][rod]
                    for k, rod in enumerate(change.rods)
                    if rod in every[note]
                ),
                np.zeros(len(self.year)),
            )
        return _Standing(rods, every, stretch)

    def _at_rail(self, note: int) -> tuple[str, ...]:
        """Rods of a note that meet at the floating rail."""
        if self.rail is None:
            return ()
        rods = self.runs.rods[note]
        return tuple(rod.name for rod in rods if rod.before in self.rail.carries or rod.behind in self.rail.carries)

    def _known(self) -> dict[int, Tightness]:
        """Resting states along all stretches that the year can ask for."""
        own = np.array([*self.standing.stretch.values()])
        low, high = float(np.min(own, initial=0.0)) - SPARE, float(np.max(own, initial=0.0)) + SPARE
        low, high = low - self._widest_play(), high + self._widest_play()
        if self.rail is not None:
            most = max(self._gains().values())
            low, high = low - most * self.rail.behind, high + most * self.rail.ahead
        middle = min(0.6e-3, -low), min(0.6e-3 if self.rail is None else 1.2e-3, high)
        step = max(COARSE, (high + BEYOND - low) / MOST)
        grid = [np.arange(low, high + BEYOND, step), np.arange(-middle[0], middle[1], FINE), np.zeros(1)]
        stretch = np.unique(np.round(np.concatenate(grid), 8)).astype(np.float64)
        keyed = {note: self.standing.ways[note][self.standing.rods[note]] for note in self.trains}
        return tightness(self.trains, self.standing.rods, keyed, stretch, self.jobs)

    def _widest_play(self) -> float:
        """Play, m, that a floating rail has to take up before its rods pull."""
        if self.rail is None:
            return 0.0
        return max(abs(self._written_play(note)) for note in self.trains)

    def _written_play(self, note: int) -> float:
        """The play that the case writes into a strand, at the rod that stands for all, m."""
        every, train = self.standing.ways[note], self.trains[note]
        reference = every[self.standing.rods[note]]
        return sum(train.value(rod, "slack") * reference / way for rod, way in every.items())

    # -- the rail --------------------------------------------------------------------------------------
    def _gains(self) -> dict[int, float]:
        if self.rail is None:
            return {}
        return {
            note: gain(self.rail, self.runs.rods[note], self.standing.ways[note], self.standing.rods[note])
            for note in self.trains
        }

    def _held(self, known: Mapping[int, Tightness]) -> Held | None:
        """The rail and the notes that hold it."""
        if self.rail is None:
            return None
        pulled = {note: pulls_on_rail(self.rail, one, self.runs.rods[note]) for note, one in known.items()}
        return Held.of(self.rail, known, self._gains(), pulled)

    def _begin(self, held: Held | None) -> Floats:
        """Stretch of every note on the day of regulation, the rail where its load then leaves it, (notes,)."""
        if held is None:
            return np.zeros(len(self.trains))
        play = np.array([self._written_play(note) for note in self.trains])
        # A case whose rods are written tight says itself how the nuts are set: the load has taken up their play.
        begin = np.zeros(len(play)) if np.any(play < 0.0) else centred(held).stretch - play
        rested = held.loaded(held.rail.load, friction=0.0).course(begin[:, None])
        return np.asarray(begin + held.gains * float(rested.place[0]))

    # -- what follows ----------------------------------------------------------------------------------
    def _note(self, note: int, known: Tightness, felt: Touch, begin: float, net: Floats) -> NoteSeason:
        surface = self.runs.changes[note].surface
        figures = {name: felt.at(name, net) for name in READ}
        figures["tightening"] = (net - begin) / known.way
        figures["level"] = known.at(known.travel, begin) - known.at(known.travel, net) + surface
        figures["seat_load"] = known.at(known.seat, net)
        figures["margin"] = (known.sounds - net) / known.way
        winded = known.train.box_pressure > 0.0
        sounding = (net >= known.sounds) & winded
        return NoteSeason(
            note,
            note_name(note, self.case.naming),
            known,
            net,
            figures,
            known.train.key.figure("B") < 0.0,
            begins(sounding, repeats(self.year)),
            felt.failed[0] if felt.failed and not np.any(np.isfinite(figures["key_dip"])) else "",
            felt.mute(net) & ~sounding,
        )


def begins(when: np.ndarray, around: bool) -> int:
    """The instant at which a spell (D,) first begins; -1 without any.

    Where the climate comes `around`, a spell that goes over its end begins where it does before that.
    """
    if not np.any(when):
        return -1
    starts = np.flatnonzero(when & ~np.concatenate([[False], when[:-1]]))
    if around and when[0] and when[-1] and len(starts) > 1:
        return int(starts[1])
    return int(starts[0])
