"""Slow presses of notes as the loops of `keyaction.sim.statics.reading` read them; trains from rows of parameters."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from keyaction.sim.figures.columns import QUANTITIES
from keyaction.sim.lanes.read_presses import NAMES, PressReader
from keyaction.sim.statics.reading import ROWS, read_press


def trains_of(train, rows):
    """Trains with a row of parameters each; what follows from them in the parts stays as it was."""
    names = [one.name for one in train.system().params]
    return [_with(train, dict(zip(names, (float(x) for x in row), strict=True))) for row in rows]


def _with(train, values):
    changed = {name: replace(train.parameters[name], value=value) for name, value in values.items()}
    return replace(train, parameters={**train.parameters, **changed})


def read(reader, down, up, given):
    """A row of what is read from two courses."""
    out, count = np.empty(reader.width), max(len(down.finger), len(up.finger))
    ways = (
        (way.finger, np.ascontiguousarray(way.states), np.ascontiguousarray(way.seen), way.extreme, len(way.finger))
        for way in (down, up)
    )
    read_press(*(one for way in ways for one in way), reader.columns, given, np.empty(ROWS * count), out)
    return out


@dataclass
class Rows:
    """Notes of one structure, pressed: what is read, their parameters, and what their parts say."""

    notes: list

    def __post_init__(self):
        first = self.notes[0]
        self.reader = PressReader(first.model.train.structure, first.strokes.press_stiffness)
        given = self.reader.given(np.array([note.press.down.rest for note in self.notes]))
        rows = zip(self.notes, given, strict=True)
        self.out = np.array([read(self.reader, note.press.down, note.press.up, one) for note, one in rows])
        self.parameters = np.array([note.model.parameters() for note in self.notes])
        self.feet = np.array([note.press.sounders[0].feet for note in self.notes])
        self.derived = {name: self.by_note(name) for name in ("closing_force", "wave_time")}

    def by_note(self, name):
        """A quantity as it is computed of each note."""
        return np.array([QUANTITIES[name].compute(note) for note in self.notes])

    def figures(self, names=NAMES):
        """What is read of all together."""
        return self.reader.figures(self.out, self.parameters, self.derived, names)

    def verdicts(self):
        """The verdicts of all together."""
        return self.reader.verdicts(self.out, self.parameters, self.feet)
