"""An action as it comes from the shop, not regulated: known offsets of every nut, rest, bottom felt and spring."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from keyaction.cases.action.reader import read_case
from keyaction.cases.action.strokes import Strokes
from keyaction.cases.action.trains import sound_trains
from keyaction.models.readings.figures import NAMES
from keyaction.models.readings.readings import Head, Readings
from keyaction.models.train.train import Train
from keyaction.sim.measuring.computed import Computed, computed, drawn_levels
from keyaction.sim.measuring.knobs import KINDS, changed, one_of
from keyaction.sim.measuring.synthetic import read_off
from keyaction.sim.regulating.notes import FITTED, bench_of
from keyaction.sim.regulating.regulate import Regulation, regulate

UNEVEN = {"nut": 0.4e-3, "rest": 0.5e-3, "bottom": 0.4e-3, "spring": 0.1}
"""Standard deviations of an action before it is regulated, in the units of the kinds."""
FINE = Head(ruler=0.05e-3)
"""A good ruler."""
ON = ("level", "dip", "play", "point", "lift", "pluck", "hold", "up")
"""Figures with the wind on."""
Amounts = Mapping[str, float]


@dataclass(frozen=True)
class Found:
    """Trains as they are found, and the level from which theirs counts."""

    drawn: Mapping[int, Train]
    trains: Mapping[int, Train]
    level: np.ndarray
    strokes: Strokes

    def read(
        self, seed: int, head: Head | None = None, figures: Sequence[str] = NAMES, notes: Sequence[int] | None = None
    ) -> Readings:
        """A sheet of it."""
        chosen = list(self.trains) if notes is None else list(notes)
        places = [list(self.trains).index(note) for note in chosen]
        off = any(name.endswith("_off") for name in figures)
        one = computed([self.trains[note] for note in chosen], self.strokes, off).from_level(self.level[places])
        return read_off(chosen, one, seed, head, figures)

    def worked_on(self, done: Regulation) -> Computed:
        """What these very trains come to with the proposed work on them, at the pressure that is wanted."""
        total, trains = done.plan.total(done.table.shares()), []
        places = [list(self.trains).index(note) for note in done.notes]
        for note, row in zip(done.notes, total, strict=True):
            pairs = zip(FITTED, row, strict=True)
            chosen = [(knob, float(x)) for kind, x in pairs if x and (knob := one_of(self.drawn[note], kind))]
            by = done.pressure[1] - done.pressure[0]
            box = one_of(self.drawn[note], "pressure")
            trains.append(changed(self.trains[note], [*chosen, *([(box, by)] if by and box else [])]))
        return computed(trains, self.strokes, wind_off_too=False).from_level(self.level[places])


def found_with(
    drawn: Mapping[int, Train],
    strokes: Strokes,
    each: Mapping[int, Amounts],
    every: Amounts | None = None,
    level: np.ndarray | None = None,
) -> Found:
    """Trains with amounts of some kinds, by note and at all of them; their drawn levels may be known already."""
    trains = {}
    for note, train in drawn.items():
        chosen = [*(every or {}).items(), *each.get(note, {}).items()]
        trains[note] = changed(train, [(one_of(train, kind), x) for kind, x in chosen])
    return Found(drawn, trains, drawn_levels(list(drawn.values()), strokes) if level is None else level, strokes)


def uneven(drawn: Mapping[int, Train], strokes: Strokes, seed: int, hung: bool) -> Found:
    """Every note off by chance, as `UNEVEN` has it; the rest felt of a hung key lies clear of it."""
    random = np.random.default_rng(seed)
    kinds = [kind for kind in UNEVEN if not (hung and kind == "rest")]
    each = {
        note: {
            kind: float(np.clip(random.normal(0.0, UNEVEN[kind]), KINDS[kind].low, KINDS[kind].high)) for kind in kinds
        }
        for note in drawn
    }
    return found_with(drawn, strokes, each)


class Action:
    """Some notes of a case, and what is planted in them."""

    def __init__(self, name, notes):
        self.case = read_case(name)
        self.drawn = sound_trains(self.case, self.case.compass[notes])
        self.notes = list(self.drawn)
        self.bench = bench_of(self.drawn, self.case.strokes, None, off=False)

    def planted(self, each=None, every=None):
        return found_with(self.drawn, self.case.strokes, each or {}, every, self.bench.level)

    def regulated(self, found, head=FINE, figures=ON, aims=None, notes=None):
        return self.of(found.read(1, head, figures, notes), aims)

    def of(self, readings, aims=None):
        return regulate(self.case, self.drawn, readings, aims, bench=self.bench)
