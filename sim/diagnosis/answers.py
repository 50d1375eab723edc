"""What the trains of a sheet answer: figures as drawn, their scatter, and curves of faults; each pressed but once."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np

from keyaction.cases.action.strokes import Strokes
from keyaction.models.readings.figures import NAMES
from keyaction.models.train.train import Train
from keyaction.sim.diagnosis.curves import Curve, codes, pressed_curves, straight
from keyaction.sim.diagnosis.hypotheses import Hypothesis, hypotheses
from keyaction.sim.measuring.computed import Computed, both_winds, computed, drawn_levels
from keyaction.sim.measuring.knobs import KINDS, Knob, changed, knobs, together
from keyaction.sim.measuring.slopes import Point, slopes
from keyaction.sim.motion.integrate import Floats

Step = Callable[[str], None]
Changes = Sequence[tuple[str, float]]
"""Kinds of knobs with amounts, the same at every note that has them."""


def quiet(_: str) -> None:
    """Nobody is told."""


@dataclass(frozen=True)
class Answers:
    """Trains of the notes that were measured, at the pressure of the sheet.

    Attributes
    ----------
    trains : mapping of int to Train
        Of single notes, as drawn.
    drawn : mapping of int to Train
        The same at the pressure of the case, whose levels are those that are drawn.
    strokes : Strokes
    wind_off_too : bool
        Whether anything was measured with the wind off.
    few : bool
        Whether too few notes were measured for what they share.
    jobs : int
    step : callable
        Told of every piece of work that is done.
    """

    trains: Mapping[int, Train]
    drawn: Mapping[int, Train]
    strokes: Strokes
    wind_off_too: bool = True
    few: bool = False
    jobs: int = 0
    step: Step = quiet
    _curves: dict[int, list[Curve]] = field(default_factory=dict)
    _shared: dict[str, Floats] = field(default_factory=dict)
    _alike: dict[tuple[int, str], list[tuple[Knob, float]]] = field(default_factory=dict)

    @cached_property
    def notes(self) -> tuple[int, ...]:
        """Rising."""
        return tuple(sorted(self.trains))

    @cached_property
    def levels(self) -> Floats:
        """Levels (n,) as drawn, m."""
        return drawn_levels([self.drawn[note] for note in self.notes], self.strokes, self.jobs)

    @cached_property
    def knobs(self) -> dict[int, tuple[Knob, ...]]:
        """Of every note."""
        return {note: knobs(self.trains[note]) for note in self.notes}

    @cached_property
    def _slopes(self) -> tuple[Computed, tuple[Floats, ...]]:
        points = [
            Point(self.trains[note], float(level), self.knobs[note], np.zeros(len(self.knobs[note])))
            for note, level in zip(self.notes, self.levels, strict=True)
        ]
        found = slopes(points, self.strokes, self.wind_off_too, self.jobs)
        self.step("slopes of every figure")
        return found.at, found.rise

    @property
    def plain(self) -> Computed:
        """Figures as drawn."""
        return self._slopes[0]

    @cached_property
    def whole(self) -> Computed:
        """The same with those without wind, measured or not."""
        return both_winds(self.plain, [self.trains[note] for note in self.notes], self.strokes, self.jobs)

    def rises(self, note: int) -> Floats:
        """Rise of every figure with every knob, (knobs, figures); 0 where it is not known."""
        return np.nan_to_num(self._slopes[1][self.notes.index(note)])

    def rise(self, note: int, kind: str) -> Floats | None:
        """Rise of every figure with what all notes can share of a kind; None where the note has none."""
        rows = {(knob.kind, knob.part): row for knob, row in zip(self.knobs[note], self.rises(note), strict=True)}
        parts = [factor * rows[knob.kind, knob.part] for knob, factor in self.alike(note, kind)]
        return np.asarray(np.sum(parts, axis=0)) if parts else None

    def alike(self, note: int, kind: str) -> list[tuple[Knob, float]]:
        """What a shared change of a kind turns at a note, with factors."""
        if (note, kind) not in self._alike:
            self._alike[note, kind] = together(self.trains[note], kind)
        return self._alike[note, kind]

    @property
    def kinds(self) -> list[str]:
        """Kinds of changes that any note can have."""
        own = {knob.kind for note in self.notes for knob in self.knobs[note]}
        return sorted(own | {kind for kind in ("frame",) if any(self.alike(note, kind) for note in self.notes)})

    def scatter(self, note: int) -> Floats:
        """Covariance (figures, figures) of a well regulated note, without errors of readings."""
        good = np.array([knob.about.good for knob in self.knobs[note]])
        rows = self.rises(note) * good[:, None]
        return np.asarray(rows.T @ rows)

    def faulty(self, note: int) -> Floats:
        """Covariance of a note with any fault of the usual size."""
        usual = np.array([knob.about.usual for knob in self.knobs[note]])
        rows = self.rises(note) * usual[:, None]
        return np.asarray(rows.T @ rows)

    def hypotheses(self, note: int) -> list[Hypothesis]:
        """Faults that a note can have."""
        return hypotheses(self.trains[note], self.few)

    def straight(self, note: int) -> list[Curve]:
        """Curves of its faults as their rise at nothing foretells them."""
        rise = {(one.kind, one.part): row for one, row in zip(self.knobs[note], self.rises(note), strict=True)}
        speech = codes(self.plain)[self.notes.index(note)]
        return [straight(one, rise[one.knob.kind, one.knob.part], speech) for one in self.hypotheses(note)]

    def curves(self, notes: Sequence[int]) -> dict[int, list[Curve]]:
        """Curves of the faults of some notes, pressed."""
        missing = [note for note in notes if note not in self._curves]
        asked = [(note, one) for note in missing for one in self.hypotheses(note)]
        found = self.press(asked)
        for note in missing:
            self._curves[note] = [curve for (one, _), curve in zip(asked, found, strict=True) if one == note]
        if missing:
            self.step(f"faults of {len(missing)} notes")
        return {note: self._curves[note] for note in notes}

    def press(self, asked: Sequence[tuple[int, Hypothesis]]) -> list[Curve]:
        """Curves of some faults of some notes."""
        speech, places = codes(self.plain), {note: self.notes.index(note) for note, _ in asked}
        return pressed_curves(
            [(self.trains[note], one) for note, one in asked],
            [(self.plain.values[places[note]], speech[places[note]]) for note, _ in asked],
            [float(self.levels[places[note]]) for note, _ in asked],
            self.strokes,
            self.wind_off_too,
            self.jobs,
        )

    def at(self, notes: Sequence[int], amounts: Sequence[Sequence[tuple[Knob, float]]]) -> Computed:
        """Figures of notes with some faults at once."""
        trains = [changed(self.trains[note], one) for note, one in zip(notes, amounts, strict=True)]
        levels = np.array([self.levels[self.notes.index(note)] for note in notes])
        return computed(trains, self.strokes, self.wind_off_too, self.jobs).from_level(levels)

    def all_at(self, changes: Changes, chosen: Sequence[int] | None = None) -> Computed:
        """Figures of notes (by default all) with what they share changed."""
        notes = self.notes if chosen is None else chosen
        return self.at(
            notes, [[(k, f * x) for kind, x in changes for k, f in self.alike(note, kind)] for note in notes]
        )

    def shared(self, kind: str, amounts: Sequence[float], most: int) -> Floats:
        """What `shared_at` says, pressed but once for each kind."""
        if kind not in self._shared:
            self._shared[kind] = self.shared_at(kind, amounts, most)
            self.step(f"what all notes can share: {KINDS[kind].doc.partition(',')[0]}")
        return self._shared[kind]

    def shared_at(self, kind: str, amounts: Sequence[float], most: int) -> Floats:
        """Change (n, amounts, figures) of every figure when all notes are changed alike.

        Pressed at `most` notes, of those between interpolated in the number of the note.
        """
        picked = sorted({self.notes[i] for i in np.linspace(0, len(self.notes) - 1, most).round().astype(int)})
        rows = [self.all_at([(kind, amount)], picked).values for amount in amounts]
        places = [self.notes.index(note) for note in picked]
        change = np.stack([row - self.plain.values[places] for row in rows], axis=1)
        flat = change.reshape(len(picked), -1)
        found = np.stack([np.interp(self.notes, picked, column) for column in flat.T], axis=1)
        return np.asarray(found.reshape(len(self.notes), len(amounts), len(NAMES)))
