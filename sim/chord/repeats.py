"""A chord repeated: whether every note still speaks and falls silent, and how far the boxes go down and up."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from keyaction.cases.action.strokes import Strokes
from keyaction.sim.chord.figures import pressure_of
from keyaction.sim.chord.places import Player, grooves_of
from keyaction.sim.chord.together import Together, play_together
from keyaction.sim.figures.limits import LIMITS
from keyaction.sim.figures.repetition import COUNT, Trial, verdict
from keyaction.sim.motion import drives
from keyaction.sim.wind.supplies import Supply


@dataclass(frozen=True)
class Repeated:
    """A chord repeated at a rate (Hz).

    Attributes
    ----------
    rate : float
    failing : mapping of str to str
        Notes that do not speak and fall silent at every stroke, with what fails first; shares of pressure are those of
        the box with no key down.
    lowest, highest : mapping of str to float
        Of every box, Pa.
    played : Together
    """

    rate: float
    failing: Mapping[str, str]
    lowest: Mapping[str, float]
    highest: Mapping[str, float]
    played: Together


def repeated(players: Sequence[Player], supplies: Mapping[str, Supply], strokes: Strokes, rate: float) -> Repeated:
    """Repeat a chord at a rate (Hz), every key as the repeated stroke has it."""
    struck = [
        replace(
            one,
            drive=drives.repeated(rate, strokes.repetition_depth * one.model.train.dip, COUNT, strokes.finger),
        )
        for one in players
    ]
    played = play_together(struck, supplies)
    failing = dict[str, str]()
    for one in struck:
        motion = played.notes[one.name]
        for groove in grooves_of(one.model):
            gap = motion[motion.kernel.seen_of(groove.pallet, "seat_gap")]
            fault = "" if played.status.ok else "beyond" if played.status.beyond else "failed"
            pressure = pressure_of(motion, groove)
            trial = Trial(motion.t, pressure, pressure, gap, fault)
            why = verdict(trial, motion.drive, supplies[one.boxes[groove.box]].pressure)
            if why:
                failing.setdefault(one.name, LIMITS[why])
    lowest = {name: float(np.min(course.pressure)) for name, course in played.boxes.items()}
    highest = {name: float(np.max(course.pressure)) for name, course in played.boxes.items()}
    return Repeated(rate, failing, lowest, highest, played)
