"""The notes as they are drawn: their figures, and how these rise with everything that is looked for."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from keyaction.cases.action.strokes import Strokes
from keyaction.models.readings.figures import NAMES
from keyaction.models.train.structure import Structure
from keyaction.models.train.train import Train
from keyaction.sim.measuring.computed import Computed, computed
from keyaction.sim.measuring.knobs import KINDS, Knob, changed, knobs
from keyaction.sim.measuring.slopes import Point, slopes
from keyaction.sim.motion.integrate import Floats

FITTED = ("nut", "rest", "bottom", "spring", "balance", "friction", "rubbing", "seal", "soft-run")
"""Kinds of change that are looked for; of friction that of the key's pin stands for all."""
STEADY = ("balance", "rubbing")
"""Of these it is supposed that they are as drawn, as far as a well regulated action is: weights at the key do not tell
them from a spring and from a single pin."""
ANCHORS = 7
"""Notes at which slopes are computed; between them straight lines."""
TELLS = 0.5
"""Of the standard deviation that was supposed before, below which readings tell something."""


@dataclass(frozen=True)
class Bench:
    """Notes as they are drawn, at the pressure at which they were measured.

    Attributes
    ----------
    notes : tuple of int
    trains : tuple of Train
    knobs : tuple of mapping of str to Knob
        Of each note, by kind.
    drawn : Computed
        Figures of the drawn trains at that pressure, levels counted from `level`.
    level : (n,) array
        Key travel of the drawn level, m.
    strokes : Strokes
    rise : (n, kinds, figures) array
        How figures rise with every amount; 0 of a kind that a note does not have.
    off : bool
        Whether they are pressed without wind as well.
    jobs : int
    """

    notes: tuple[int, ...]
    trains: tuple[Train, ...]
    knobs: tuple[Mapping[str, Knob], ...]
    drawn: Computed
    level: Floats
    strokes: Strokes
    rise: Floats
    off: bool
    jobs: int = 0

    def only(self, notes: Sequence[int]) -> Bench:
        """Some of its notes."""
        at = [self.notes.index(note) for note in notes]
        drawn = self.drawn.rows(at)
        trains, own = tuple(self.trains[i] for i in at), tuple(self.knobs[i] for i in at)
        return replace(
            self, notes=tuple(notes), trains=trains, knobs=own, drawn=drawn, level=self.level[at], rise=self.rise[at]
        )

    def serves(self, trains: Mapping[int, Train], off: bool) -> bool:
        """Whether these trains, by note, are among its own, and pressed without wind if that is asked for."""
        own = dict(zip(self.notes, self.trains, strict=True))
        same = all(note in own and own[note].parameters == train.parameters for note, train in trains.items())
        return same and (self.off or not off)

    def at(self, i: int, amounts: Floats, base: Train | None = None) -> Train:
        """A note's train with some amounts, (kinds,); on another than that as measured, where `base` is given."""
        own = self.knobs[i]
        chosen = [(own[kind], float(x)) for kind, x in zip(FITTED, amounts, strict=True) if x and kind in own]
        return changed(self.trains[i] if base is None else base, chosen)

    def press(
        self, chosen: Sequence[int], amounts: Floats, bases: Sequence[Train] | None = None, off: bool = True
    ) -> Computed:
        """Figures of some notes (by place) with amounts (chosen, kinds); `off`: without wind too, if that was read."""
        trains = [self.at(i, amounts[k], None if bases is None else bases[i]) for k, i in enumerate(chosen)]
        return computed(trains, self.strokes, self.off and off, self.jobs).from_level(self.level[list(chosen)])


def usual(kind: str) -> float:
    """Standard deviation that is supposed of an amount before anything was read."""
    about = KINDS[kind]
    return about.good if kind in STEADY else about.usual


def bench_of(trains: Mapping[int, Train], strokes: Strokes, level: Floats | None, off: bool, jobs: int = 0) -> Bench:
    """Press notes as they are drawn and find their slopes.

    Parameters
    ----------
    trains : mapping of int to Train
        By note, at the pressure of the sheet.
    strokes : Strokes
    level : (n,) array, optional
        Key travel of the level of each, from which it is read, m; by default that of these trains.
    off : bool
        Whether anything was read with the wind off.
    jobs : int
        Threads; 0 means one per core.
    """
    rows = tuple(trains.values())
    own = tuple(_by_kind(train) for train in rows)
    found = computed(rows, strokes, off, jobs)
    level = found["level"].copy() if level is None else level
    rise = _rise(rows, own, level, strokes, off, jobs)
    return Bench(tuple(trains), rows, own, found.from_level(level), level, strokes, rise, off, jobs)


def _by_kind(train: Train) -> dict[str, Knob]:
    """The first knob of every kind that is looked for."""
    found: dict[str, Knob] = {}
    for knob in knobs(train):
        if knob.kind in FITTED:
            found.setdefault(knob.kind, knob)
    return found


def _rise(
    trains: Sequence[Train], own: Sequence[Mapping[str, Knob]], level: Floats, strokes: Strokes, off: bool, jobs: int
) -> Floats:
    groups: dict[tuple[Structure, tuple[str, ...]], list[int]] = {}
    for i, train in enumerate(trains):
        groups.setdefault((train.structure, tuple(own[i])), []).append(i)
    anchors = {i for members in groups.values() for i in _anchors(members)}
    points = {
        i: Point(trains[i], float(level[i]), tuple(own[i].values()), np.zeros(len(own[i]))) for i in sorted(anchors)
    }
    found = dict(zip(points, slopes(tuple(points.values()), strokes, off, jobs).rise, strict=True))
    rise = np.zeros((len(trains), len(FITTED), len(NAMES)))
    for (_, kinds), members in groups.items():
        at = [i for i in _anchors(members) if i in found]
        places = [FITTED.index(kind) for kind in kinds]
        known = np.array([found[i] for i in at])
        for k, place in enumerate(places):
            for figure in range(len(NAMES)):
                rise[members, place, figure] = _between(members, at, known[:, k, figure])
    return rise


def _anchors(members: Sequence[int]) -> list[int]:
    many = min(len(members), ANCHORS)
    return [members[k] for k in np.unique(np.linspace(0, len(members) - 1, many).round().astype(int))]


def _between(members: Sequence[int], at: Sequence[int], known: Floats) -> Floats:
    """Straight lines between the anchors that have a slope; nothing where none has."""
    there = np.isfinite(known)
    return np.interp(members, np.array(at)[there], known[there]) if np.any(there) else np.zeros(len(members))
