"""The touch of notes along the stretch of one rod: some slow presses, between them straight lines.

Along a run's stretch its touch is nearly straight in pieces: play goes by the levers, the pluck point by play and give.
The presses stand at the ends of what is asked for, evenly between, and where the resting train turns from one piece
into the next.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from keyaction.cases.action.strokes import Strokes
from keyaction.sim.figures import quantities
from keyaction.sim.figures.play import NotPlayed
from keyaction.sim.figures.record import Pressed
from keyaction.sim.lanes.batch import Batch
from keyaction.sim.lanes.presses import presses
from keyaction.sim.motion.integrate import Floats
from keyaction.sim.tightening.tightness import Tightness, stretched

READ = {
    "lost_motion": quantities.lost_motion,
    "key_dip": quantities.key_dip,
    "steady_lift": quantities.steady_lift,
    "pluck_point": quantities.pluck_point,
    "pluck_force": quantities.pluck_force,
}
"""What is read of a press."""
LIFT = "steady_lift"
EVENLY, APART, MOST = 4, 0.5e-3, 12
"""Presses from end to end, beside those where the resting train turns: so many, and more where they would stand farther
apart than this (m), up to so many."""
CLOSER = 7
"""More presses where a key comes to open its pallet."""
TURNS = 2
"""Places where a course of the resting train turns, that are pressed."""
NEAR = 2e-6
"""m of stretch within which two presses are one."""
SHUT = 2e-6
"""m of stretch before a pallet leaves its seat: the last place where there is a pluck."""


@dataclass(frozen=True)
class Touch:
    """Figures of one note's slow press along the stretch of its rod.

    Attributes
    ----------
    stretch : (k,) array
        Where it was pressed, m, rising.
    figures : mapping of str to (k,) array
        By the names of `READ`; NaN where it has none.
    gap : (k,) array
        Widest gap under the pallet at the eye, m; below 0 where the pressed key does not open it by so much.
    failed : tuple of str
        Why presses could not be followed.
    """

    stretch: Floats
    figures: Mapping[str, Floats]
    gap: Floats
    failed: tuple[str, ...] = ()

    def at(self, figure: str, stretch: Floats) -> Floats:
        """A figure at other stretches (...,), by straight lines; NaN where a press beside has none.

        Of a key that does not open its pallet the lift is nothing, and the line to it ends where it begins to open.
        """
        values = np.where(self.gap <= 0.0, 0.0, self.figures[figure]) if figure == LIFT else self.figures[figure]
        at, values = self._with_edge(values) if figure == LIFT else (self.stretch, values)
        known = np.isfinite(values)
        if not np.any(known):
            return np.full(np.shape(stretch), np.nan)
        found = np.asarray(np.interp(stretch, at[known], values[known]))
        lost = np.interp(stretch, at, (~known).astype(float)) > 0.0
        exact = np.isin(stretch, at[known])
        return np.where(lost & ~exact, np.nan, found)

    def mute(self, stretch: Floats) -> np.ndarray:
        """Where the pressed key does not open its pallet, at other stretches (...,)."""
        known = np.isfinite(self.gap)
        if not np.any(known):
            return np.zeros(np.shape(stretch), dtype=bool)
        return np.asarray(np.interp(stretch, self.stretch[known], self.gap[known]) <= 0.0)

    @property
    def speaks_between(self) -> int | None:
        """The first of the two presses between which the key comes to open its pallet; None where there are none."""
        crossing = np.flatnonzero((self.gap[:-1] <= 0.0) & (self.gap[1:] > 0.0))
        return int(crossing[0]) if len(crossing) else None

    def _with_edge(self, values: Floats) -> tuple[Floats, Floats]:
        """Stretches and lifts with the places at which the pallet just opens."""
        crossing = np.flatnonzero((self.gap[:-1] <= 0.0) != (self.gap[1:] <= 0.0))
        part = -self.gap[crossing] / (self.gap[crossing + 1] - self.gap[crossing])
        edges = self.stretch[crossing] + part * (self.stretch[crossing + 1] - self.stretch[crossing])
        at, order = np.unique(np.concatenate([self.stretch, edges]), return_index=True)
        return at, np.concatenate([values, np.zeros(len(edges))])[order]


def touches(
    notes: Mapping[int, Tightness], low: Mapping[int, float], high: Mapping[int, float], strokes: Strokes, jobs: int = 0
) -> dict[int, Touch]:
    """Press notes at some stretches between two ends.

    Parameters
    ----------
    notes : mapping of int to Tightness
    low, high : mapping of int to float
        Ends of the stretches that are asked for, m.
    strokes : Strokes
    jobs : int
        Threads; 0 means one per core.

    Returns
    -------
    dict of int to Touch
    """
    at = {note: places(one, low[note], high[note]) for note, one in notes.items()}
    found = _pressed(notes, at, strokes, jobs)
    finer = {note: wanted for note, one in found.items() if len(wanted := _where_it_speaks(one))}
    more = _pressed({note: notes[note] for note in finer}, finer, strokes, jobs)
    return {note: _merged(one, more[note]) if note in more else one for note, one in found.items()}


def _pressed(notes: Mapping[int, Tightness], at: Mapping[int, Floats], strokes: Strokes, jobs: int) -> dict[int, Touch]:
    """Notes pressed, each at its own stretches."""
    designs = [stretched(one.train, one.rod, float(by)) for note, one in notes.items() for by in at[note]]
    found: list[Pressed | NotPlayed | None] = [None] * len(designs)
    groups = dict[object, list[int]]()
    for i, design in enumerate(designs):
        groups.setdefault(design.structure, []).append(i)
    for members in groups.values():
        chosen = [designs[i] for i in members]
        pressed = presses(chosen, strokes, Batch.of(chosen, jobs=jobs).rest(), jobs)
        for i, one in zip(members, pressed, strict=True):
            found[i] = one
    made, done = dict[int, Touch](), 0
    for note in notes:
        rows = found[done : done + len(at[note])]
        made[note] = _read(at[note], rows)
        done += len(rows)
    return made


def _where_it_speaks(one: Touch) -> Floats:
    """Stretches between the last at which the pressed key leaves its pallet shut and the first at which it opens it."""
    i = one.speaks_between
    if i is None:
        return np.zeros(0)
    ends = float(one.stretch[i]), float(one.stretch[i + 1])
    return np.linspace(*ends, CLOSER + 2)[1:-1] if ends[1] - ends[0] > CLOSER * NEAR else np.zeros(0)


def _merged(one: Touch, other: Touch) -> Touch:
    """Both in one, by rising stretch."""
    stretch, first = np.unique(np.concatenate([one.stretch, other.stretch]), return_index=True)

    def both(a: Floats, b: Floats) -> Floats:
        return np.asarray(np.concatenate([a, b])[first])

    figures = {name: both(values, other.figures[name]) for name, values in one.figures.items()}
    return Touch(stretch, figures, both(one.gap, other.gap), (*one.failed, *other.failed))


def places(one: Tightness, low: float, high: float) -> Floats:
    """Where a note is pressed: ends, evenly between, where its rest turns, and on both sides of where it opens."""
    count = min(max(EVENLY, math.ceil((high - low) / APART) + 1), MOST)
    chosen = {low, high, *np.linspace(low, high, count)}
    inside = (one.stretch > low) & (one.stretch < min(high, one.opens))
    for course in (one.travel, one.pulls[one.rod], one.seat):
        chosen |= _turns(one.stretch, course, inside)
    if low < one.opens < high:
        chosen |= {one.opens - SHUT, one.opens + SHUT}
    kept = list[float]()
    for by in sorted(chosen):
        if not kept or by - kept[-1] > NEAR:
            kept.append(float(by))
    return np.array(kept)


def _turns(stretch: Floats, course: Floats, inside: np.ndarray) -> set[float]:
    """The places where a course turns most sharply, if it turns there by more than a tenth of its steepest slope."""
    slope = np.diff(course) / np.diff(stretch)
    bend = np.zeros(len(stretch))
    bend[1:-1] = np.abs(np.diff(slope))
    bend[~inside] = 0.0
    found, steepest = set[float](), float(np.max(np.abs(slope[inside[1:]]), initial=0.0))
    for _ in range(TURNS):
        i = int(np.argmax(bend))
        if not bend[i] > 0.1 * steepest:
            break
        found.add(_corner(stretch, course, slope, bend, i))
        bend[max(i - 1, 0) : i + 2] = 0.0
    return found


def _corner(stretch: Floats, course: Floats, slope: Floats, bend: Floats, i: int) -> float:
    """Where the straight lines on both sides of a known place meet, between its neighbours."""
    if not 2 <= i < len(stretch) - 2 or abs(slope[i + 1] - slope[i - 2]) < bend[i] / 2:
        return float(stretch[i])
    before, after = slope[i - 2], slope[i + 1]
    rise = course[i + 1] - course[i - 1] - before * (stretch[i + 1] - stretch[i - 1])
    meet = stretch[i + 1] - rise / (after - before)
    return float(np.clip(meet, stretch[i - 1], stretch[i + 1]))


def _read(at: Floats, rows: Sequence[Pressed | NotPlayed | None]) -> Touch:
    figures = {name: np.array([_of(one, name) for one in rows]) for name in READ}
    failed = tuple(str(one) for one in rows if isinstance(one, NotPlayed))
    return Touch(at, figures, np.array([_widest(one) for one in rows]), failed)


def _widest(one: Pressed | NotPlayed | None) -> float:
    return float(np.max(one.press.down[one.press.sounders[0].gap])) if isinstance(one, Pressed) else math.nan


def _of(one: Pressed | NotPlayed | None, name: str) -> float:
    if not isinstance(one, Pressed):
        return math.nan
    if name in ("pluck_point", "lost_motion", "pluck_force") and one.press.down[one.press.sounders[0].gap][0] > 0.0:
        return math.nan
    return float(READ[name](one))
