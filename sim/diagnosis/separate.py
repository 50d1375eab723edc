"""The test that tells two causes apart, with what to expect under each: the sheet's figures, and some bench tests."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from keyaction.models.algebra.names import Name
from keyaction.models.readings.figures import BY_NAME, NAMES, RULER
from keyaction.models.readings.rounded import as_read
from keyaction.models.train.train import Train
from keyaction.models.units.names import STANDARD_GRAVITY
from keyaction.models.units.quantity import System
from keyaction.sim.diagnosis.answers import Answers
from keyaction.sim.diagnosis.found import Diagnosis, Named, NoteFound
from keyaction.sim.figures.record import Pressed
from keyaction.sim.measuring.computed import computed, pressed
from keyaction.sim.measuring.knobs import changed
from keyaction.sim.motion.integrate import Floats
from keyaction.sim.statics.press import DIP_FORCE

LIGHT, CLAMPED = 2.5, 2.0
"""N: a light load on the bottom felt, beside the dip force; and on a key whose pallet is held shut."""
ENOUGH = 4.0
"""Errors of one reading between two expectations that leave no doubt: two on either side."""
MOST = 6
"""Readings of one figure that are asked for at most."""
_GRAM = 1e-3 * STANDARD_GRAVITY
"""N: weight of a gram."""
_AT_EYE = 5 * _GRAM
"""N: a spring balance at the eye (common practice)."""
_SHUT = 50.0
"""N more at the spring hold the pallet shut."""
HOW = {
    "level": "read the level",
    "dip": "read the dip",
    "play": "read the play with feelers",
    "point": "read the pluck point, slowly pressed",
    "lift": "read the lift of the pallet",
    "pluck": "weigh the pluck, wind on",
    "hold": "weigh the hold, wind on",
    "up": "weigh coming up, wind on",
    "pluck_off": "weigh the pluck with the wind off",
    "hold_off": "weigh the hold with the wind off",
    "up_off": "weigh coming up with the wind off",
}
"""How every figure is read again."""
_MORE = (
    (
        "felt",
        f"press the key with {LIGHT / _GRAM:.0f} g, then with {DIP_FORCE / _GRAM:.0f} g: the way between",
        "m",
        RULER,
    ),
    ("clamp", f"hold the pallet shut and lay {CLAMPED / _GRAM:.0f} g on the key: its way", "m", RULER),
    ("eye", "unhook the pull-down and weigh the spring at the eye", "N", _AT_EYE),
)


@dataclass(frozen=True)
class Alternative:
    """Two causes of what one note shows, and how to tell them apart.

    Attributes
    ----------
    note : int
    first, second : Named
    how : str
        What to do.
    one, other : float
        What is expected under the first and under the second, SI; NaN where it is seen and not measured.
    unit : str
    times : int
        Readings that it takes.
    """

    note: int
    first: Named
    second: Named
    how: str
    one: float = math.nan
    other: float = math.nan
    unit: str = ""
    times: int = 1

    def said(self, units: System) -> str:
        """In a sentence."""
        if not math.isfinite(self.one):
            return self.how
        times = f" ({self.times} times, the mean)" if self.times > 1 else ""
        values = [as_read(value, self.unit, units) for value in (self.one, self.other)]
        first, second = self.first.hypothesis.short(), self.second.hypothesis.short()
        return f"{self.how}{times}: {values[0]} if {first}; {values[1]} if {second}"


def beside(one: NoteFound) -> list[Named]:
    """What stands beside the first cause of a note in the likeliest model: no rivals of it."""
    return [cause.faults[0] for cause in one.causes[1:] if cause.probability > 0.5]


def alternatives(found: Diagnosis) -> dict[int, Alternative]:
    """Of every faulty note the test that tells its first two causes apart."""
    told = [one for one in found.told if one.faulty and one.causes and one.rival is not None]
    pairs = {one.note: (one.causes[0].faults[0], one.rival) for one in told if one.rival is not None}
    if not pairs:
        return {}
    values = _expected(found.answers, pairs, {one.note: beside(one) for one in told})
    return {note: _best(found, note, pair, *values[note]) for note, pair in pairs.items()}


def _expected(
    answers: Answers, pairs: dict[int, tuple[Named, Named]], others: dict[int, list[Named]]
) -> dict[int, tuple[Floats, Floats]]:
    """Figures and bench tests of both causes of every note, (2, figures) and (2, tests)."""
    trains = [
        changed(answers.trains[note], [(one.hypothesis.knob, one.amount) for one in (named, *others[note])])
        for note, pair in pairs.items()
        for named in pair
    ]
    levels = np.array([answers.levels[answers.notes.index(note)] for note in pairs for _ in range(2)])
    figures = computed(trains, answers.strokes, True, answers.jobs).from_level(levels).values
    free = pressed(trains, answers.strokes, answers.jobs)
    shut = pressed([_held_shut(train) for train in trains], answers.strokes, answers.jobs)
    more = [
        [_between(one), _way_at(other, CLAMPED), at_eye(train)]
        for one, other, train in zip(free, shut, trains, strict=True)
    ]
    return {note: (figures[2 * i : 2 * i + 2], np.array(more[2 * i : 2 * i + 2])) for i, note in enumerate(pairs)}


def _held_shut(train: Train) -> Train:
    spring, pallet = train.role("spring").name, train.role("pallet").name
    more = _SHUT * train.value(pallet, "r_eye")
    return train.with_parameter(Name(spring, "M0"), train.value(spring, "M0") + more, "pallet held shut")


def at_eye(train: Train) -> float:
    """Force of the spring at the eye of the pallet, N."""
    return train.value(train.role("spring").name, "M0") / train.value(train.role("pallet").name, "r_eye")


def _between(one: object) -> float:
    """Way of the key on its bottom felt between a light and the heavy load, m."""
    if not isinstance(one, Pressed):
        return math.nan
    travel, force = one.press.down.travel, one.press.down.force
    below = np.flatnonzero(force < LIGHT)
    if not len(below) or below[-1] + 1 == len(force):
        return math.nan
    last = int(below[-1])
    return float(travel[-1] - np.interp(LIGHT, force[last : last + 2], travel[last : last + 2]))


def _way_at(one: object, load: float) -> float:
    """Way of the key where its force first reaches a load, m."""
    if not isinstance(one, Pressed):
        return math.nan
    travel, force = one.press.down.travel, one.press.down.force
    over = np.flatnonzero(force >= load)
    if not len(over) or over[0] == 0:
        return math.nan
    i = int(over[0])
    return float(np.interp(load, force[i - 1 : i + 1], travel[i - 1 : i + 1]))


def _best(found: Diagnosis, note: int, pair: tuple[Named, Named], figures: Floats, more: Floats) -> Alternative:
    first, second = pair
    if first.hypothesis.fault.cause == second.hypothesis.fault.cause == "rubs":
        return _unhooked(found.answers.trains[note], note, first, second)
    head = found.readings.head
    rows = [(HOW[name], BY_NAME[name].unit, head.error(name), figures[:, k]) for k, name in enumerate(NAMES)]
    rows += [(how, unit, error, more[:, k]) for k, (_, how, unit, error) in enumerate(_MORE)]
    apart = [abs(float(two[0] - two[1])) / error for _, _, error, two in rows]
    best = int(np.argmax(np.nan_to_num(apart)))
    how, unit, _, two = rows[best]
    if not apart[best] > 0.0 or (times := math.ceil((ENOUGH / apart[best]) ** 2)) > MOST:
        return Alternative(note, first, second, first.hypothesis.fault.look)
    return Alternative(note, first, second, how, float(two[0]), float(two[1]), unit, max(times, 1))


def _unhooked(train: Train, note: int, first: Named, second: Named) -> Alternative:
    """Where in the run it rubs: half of it is unhooked, and the key weighed down and up."""
    order = [part.name for part in train.parts]
    places = [order.index(named.hypothesis.knob.part) for named in (first, second)]
    if places[0] == places[1]:
        return Alternative(note, first, second, first.hypothesis.fault.look)
    near, far = sorted(places)
    rod = next((part.name for part in train.parts[near:far] if part.role == "rod"), order[far])
    more = [2.0 * named.amount if place == near else 0.0 for named, place in zip((first, second), places, strict=True)]
    how = (
        f"unhook {rod}, hang a small mass on where the key comes up no more by itself, and weigh the key down and up; "
        "between the two lies, more than at a neighbour unhooked alike"
    )
    return Alternative(note, first, second, how, more[0], more[1], "N")
