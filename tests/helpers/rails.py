"""Notes of the invented division behind the player, their lower squares on a rail that floats."""

from __future__ import annotations

import math
from functools import lru_cache

from keyaction.cases.action.reader import read_case
from keyaction.cases.action.trains import one_note, train_of
from keyaction.cases.text.find import shipped
from keyaction.models.frame.changes import RunRod
from keyaction.models.frame.rail import Rail
from keyaction.sim.floating.nuts import with_nuts_set
from keyaction.sim.floating.places import holds_of

LEVER = "floor-square"


@lru_cache(maxsize=1)
def behind():
    return read_case(shipped()["demo-instrument"].parent / "demo-instrument" / "behind.toml")


def rail(load, mass=0.5, **others):
    """A rail of the lower squares, drawn down."""
    return Rail((LEVER,), "down", mass, load, **others)


def run_of(name):
    """The rods of a note as its layout lays them."""
    case = behind()
    note = one_note(case, name)
    parts = [part.name for part in train_of(case, note).parts]
    return tuple(
        _rod(leg, parts[parts.index(leg.part) - 1], parts[parts.index(leg.part) + 1])
        for leg in case.layout.paths[note].legs
    )


def _rod(leg, before, behind):
    length = math.dist(leg.start, leg.end)
    along = tuple((end - start) / length for start, end in zip(leg.start, leg.end, strict=True))
    return RunRod(leg.part, before, behind, along, length, None, 1.2e-3, leg.pushes)


def regulated(names, of):
    """Trains by name with the rail's load shared out evenly, and their rods."""
    rods = {name: run_of(name) for name in names}
    trains = {name: train_of(behind(), name) for name in names}
    return with_nuts_set(trains, {name: holds_of(rods[name], of) for name in names}, of), rods
