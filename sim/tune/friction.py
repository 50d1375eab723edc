"""Friction out of line with the neighbours: a dirty pin or a rubbing rod, which no spring is to make up for."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from keyaction.models.train.train import Train, TrainProblem
from keyaction.models.units.quantity import System, format_value
from keyaction.sim.figures.sketch import rigid
from keyaction.sim.motion.integrate import Floats
from keyaction.sim.tune.bench import Bench, build_of

NEIGHBOURS = 4
"""Notes on either side whose median is what a note's friction is held against."""
FEWEST = 3
"""Neighbours below which nothing can be said."""
LEAST = 0.05
"""N beyond the neighbours' that friction must be, too, to be out of line: about 5 gf (assumed)."""
PLAIN = 1.5
"""Times the neighbours' from which a part's own figure is named as the place."""


@dataclass(frozen=True)
class Rubbing:
    """A note whose friction is out of line.

    Attributes
    ----------
    friction, usual : float
        Friction at the key of the note, and the median of its neighbours', N.
    ratio : float
        Times the neighbours' that was allowed.
    hangs : bool
        The key stays down; `friction` is what its pins' break-away alone comes to at the key.
    part, doc, unit : str
        The figure that stands out most, if one does: its part, what it is, SI unit.
    value, others : float
        That figure, and the median of the neighbours', SI.
    """

    friction: float
    usual: float
    ratio: float
    hangs: bool
    part: str = ""
    doc: str = ""
    unit: str = ""
    value: float = math.nan
    others: float = math.nan

    def words(self, units: System) -> str:
        """What is out of line, against what, and what to do."""
        friction, usual = (format_value(force, "N", units) for force in (self.friction, self.usual))
        told = f"friction of {'at least ' if self.hangs else ''}{friction} at the key, {usual} at its neighbours"
        told += f" ({self.friction / self.usual:.1f} times; beyond {self.ratio:g} it is out of line)"
        if self.part:
            unit = self.unit or "1"
            own, others = (format_value(one, unit, units) for one in (self.value, self.others))
            told += f"; {self.part}: {self.doc} {own}, {others} there"
        return f"{told}. Find what rubs before the spring is changed; it keeps its spring"


def out_of_line(bench: Bench, notes: Sequence[int], ratio: Floats) -> dict[int, Rubbing]:
    """Notes whose friction at the key, with the case's springs, is more than `ratio` times that of their neighbours.

    Parameters
    ----------
    bench : Bench
    notes : sequence of int
        Those that are to be tuned; neighbours are taken from the whole compass.
    ratio : (n,) array
        For each of them.
    """
    trains = _trains(bench, notes)
    friction, hangs = _frictions(bench, trains)
    found = {}
    for note, allowed in zip(notes, ratio, strict=True):
        beside = [n for n in trains if 0 < abs(n - note) <= NEIGHBOURS and math.isfinite(friction[n])]
        if note not in trains or len(beside) < FEWEST:
            continue
        usual = float(np.median([friction[n] for n in beside]))
        if friction[note] > max(allowed * usual, usual + LEAST):
            place = _place(trains[note], [trains[n] for n in beside])
            found[note] = Rubbing(friction[note], usual, float(allowed), note in hangs, *place)
    return found


def _trains(bench: Bench, notes: Sequence[int]) -> dict[int, Train]:
    """The notes and their neighbours; those that cannot be built say so elsewhere, or were not asked for."""
    wanted = {n for n in bench.case.compass if any(abs(n - note) <= NEIGHBOURS for note in notes)}
    found = {}
    for note in sorted(wanted):
        try:
            found[note] = build_of(bench.case, note, {})
        except TrainProblem:
            continue
    return found


def _frictions(bench: Bench, trains: Mapping[int, Train]) -> tuple[dict[int, float], set[int]]:
    """Friction at the key of every note, N, NaN where it is not known; and the notes whose key stays down."""
    told = bench.quantities(list(trains.values()), ["friction_at_key", "pluck_force"])
    friction = dict(zip(trains, map(float, told["friction_at_key"]), strict=True))
    plucks = dict(zip(trains, map(float, told["pluck_force"]), strict=True))
    hangs = {note for note, one in friction.items() if math.isnan(one) and math.isfinite(plucks[note])}
    return friction | {note: _at_least(trains[note]) for note in hangs}, hangs


def _at_least(train: Train) -> float:
    """Friction at the key that the break-away of its pins and guides alone makes, N."""
    found, total = rigid(train), 0.0
    for name, turn in found.turns.items():
        part = train.part(name[0])
        for what in part.part.rubs:
            if what.startswith("tau0") and (what == "tau0" or what.endswith(f"_{name[1]}")):
                total += part.figure(what) * abs(turn)
    for (part_name, _), way in found.ways.items():
        derived = train.part(part_name).values.derived
        if "F0" in derived:
            total += derived["F0"].value * abs(way)
    return total


def _place(train: Train, beside: Sequence[Train]) -> tuple[str, str, str, float, float] | tuple[()]:
    """The figure of rubbing that stands out most against the same at the neighbours; empty if none does."""
    most: float = PLAIN
    place: tuple[str, str, str, float, float] | tuple[()] = ()
    for part in train.parts:
        for what in part.part.rubs:
            if what not in part.values.derived:
                continue
            one = part.values.derived[what]
            others = [t.part(part.name).values.derived.get(what) for t in beside]
            usual = float(np.median([other.value for other in others if other is not None] or [math.nan]))
            times = one.value / usual if usual > 0 else math.inf if one.value > 0 else 0.0
            if times > most:
                most, place = times, (part.name, one.doc, one.unit, one.value, usual)
    return place
