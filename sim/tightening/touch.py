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
EVENLY = 4
"""Presses from end to end beside those where the resting train turns."""
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
    failed : tuple of str
        Why presses could not be followed.
    """

    stretch: Floats
    figures: Mapping[str, Floats]
    failed: tuple[str, ...] = ()

    def at(self, figure: str, stretch: Floats) -> Floats:
        """A figure at other stretches (...,), by straight lines; NaN where a press beside has none."""
        known = np.isfinite(self.figures[figure])
        if not np.any(known):
            return np.full(np.shape(stretch), np.nan)
        found = np.asarray(np.interp(stretch, self.stretch[known], self.figures[figure][known]))
        lost = np.interp(stretch, self.stretch, (~known).astype(float)) > 0.5
        return np.where(lost, np.nan, found)


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


def places(one: Tightness, low: float, high: float) -> Floats:
    """Where a note is pressed: ends, evenly between, where its rest turns, and on both sides of where it opens."""
    chosen = {low, high, *np.linspace(low, high, EVENLY)}
    inside = (one.stretch > low) & (one.stretch < high)
    for course in (one.travel, one.pulls[one.rod]):
        chosen |= _turns(one.stretch, course, inside)
    if low < one.opens < high:
        chosen |= {one.opens - SHUT, one.opens + SHUT}
    kept = list[float]()
    for by in sorted(chosen):
        if not kept or by - kept[-1] > NEAR:
            kept.append(float(by))
    return np.array(kept)


def _turns(stretch: Floats, course: Floats, inside: np.ndarray) -> set[float]:
    """The one place where a course turns most sharply, if it turns by more than a tenth of its steepest slope.

    Between two known places: where the straight lines on both sides meet.
    """
    slope = np.diff(course) / np.diff(stretch)
    bend = np.zeros(len(stretch))
    bend[1:-1] = np.abs(np.diff(slope))
    bend[~inside] = 0.0
    i = int(np.argmax(bend))
    if not bend[i] > 0.1 * np.max(np.abs(slope[inside[1:]]), initial=0.0):
        return set()
    if not 2 <= i < len(stretch) - 2 or abs(slope[i + 1] - slope[i - 2]) < bend[i] / 2:
        return {float(stretch[i])}
    before, after = slope[i - 2], slope[i + 1]
    rise = course[i + 1] - course[i - 1] - before * (stretch[i + 1] - stretch[i - 1])
    meet = stretch[i + 1] - rise / (after - before)
    return {float(np.clip(meet, stretch[i - 1], stretch[i + 1]))}


def _read(at: Floats, rows: Sequence[Pressed | NotPlayed | None]) -> Touch:
    figures = {name: np.array([_of(one, name) for one in rows]) for name in READ}
    failed = tuple(str(one) for one in rows if isinstance(one, NotPlayed))
    return Touch(at, figures, failed)


def _of(one: Pressed | NotPlayed | None, name: str) -> float:
    if not isinstance(one, Pressed):
        return math.nan
    if name in ("pluck_point", "lost_motion", "pluck_force") and one.press.down[one.press.sounders[0].gap][0] > 0.0:
        return math.nan
    return float(READ[name](one))
