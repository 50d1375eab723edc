"""What every tolerance of a case does to every figure at the key, note by note, to first order.

JCGM 100:2008 (GUM), 5.1.2 and the note to 5.1.3 (from memory): a figure moves by so much with one standard deviation of
one input. Tolerances outnumber the figures of the equations that rest hangs on, so only those are pressed, a small step
on their way, of which all others are made up; what the others do is the sum of what those do. Whatever adds more than
`MAJOR` of the variance of a figure is then pressed as it is, a standard deviation up, and where the figure bends down
as well.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from contextlib import closing
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from keyaction.cases.action.case import Case
from keyaction.cases.study.spreads import Uncertain, uncertain
from keyaction.models.train.train import Train, TrainProblem, build_train
from keyaction.sim.figures.record import Pressed
from keyaction.sim.measuring.computed import Read, pressed
from keyaction.sim.motion.integrate import Floats
from keyaction.sim.processes.count import workers
from keyaction.sim.processes.tasks import TWICE, in_processes
from keyaction.sim.tolerances.figures import NAMES, read
from keyaction.sim.tolerances.moves import Bed, Move, carried, changes, independent, moves, shifted
from keyaction.sim.weighing.weighoff import wind_off

MAJOR = 0.01
"""Share of a figure's variance beyond which a tolerance is pressed as it is."""
BENDS = 0.01
"""Share by which that may differ from what small moves tell, before it is pressed at its other end too."""
SMALL = 0.03
"""Of its way by one standard deviation: the small step."""

Progress = Callable[[int], None]
"""Told of every note that is done."""


@dataclass(frozen=True)
class Sensitivity:
    """What tolerances do at some notes of a case.

    Attributes
    ----------
    notes : tuple of int
    doubts : tuple of Uncertain
        The tolerances.
    figures : tuple of str
        Names, of `keyaction.sim.tolerances.figures.FIGURES`.
    values : (notes, figures) array
        SI, as the case is drawn.
    common, own : (notes, tolerances, figures) arrays
        SI, for one standard deviation: what the part common to all notes does, with its sign, and the size of what the
        note's own part does. 0 where a tolerance does nothing, NaN where the note does not have the figure.
    failed : mapping of int to str
        Notes that cannot be pressed, and why.
    presses : int
        How many slow presses that took.
    """

    notes: tuple[int, ...]
    doubts: tuple[Uncertain, ...]
    figures: tuple[str, ...]
    values: Floats
    common: Floats
    own: Floats
    failed: Mapping[int, str]
    presses: int

    def of(self, figure: str) -> tuple[Floats, Floats, Floats]:
        """Values (notes,), common and own parts (notes, tolerances) of one figure."""
        k = self.figures.index(figure)
        return self.values[:, k], self.common[:, :, k], self.own[:, :, k]

    def has(self, figure: str) -> NDArray[np.bool_]:
        """Notes that have a figure: (notes,)."""
        return np.isfinite(self.values[:, self.figures.index(figure)])


@dataclass(frozen=True)
class _Task:
    note: int
    bed: Bed
    doubts: tuple[Uncertain, ...]
    off: bool


@dataclass(frozen=True)
class _Found:
    """Figures of one note, (figures,), and what tolerances do to them, (tolerances, figures)."""

    note: int
    values: Floats
    common: Floats
    own: Floats
    failed: str
    presses: int


def sensitivities(
    case: Case,
    notes: Sequence[int],
    wind_off_too: bool = False,
    jobs: int = 0,
    progress: Progress | None = None,
    doubts: Sequence[Uncertain] | None = None,
) -> Sensitivity:
    """Find what every tolerance does at some notes.

    Parameters
    ----------
    case : Case
    notes : sequence of int
    wind_off_too : bool
        Whether the notes are pressed without wind as well; their figures are NaN otherwise.
    jobs : int
        Processes; 0 means one per core.
    progress : callable, optional
    doubts : sequence of Uncertain, optional
        In place of everything that is uncertain about the case.

    Raises
    ------
    keyaction.TrainProblem
        If a note's train cannot be built.
    keyaction.sim.processes.tasks.NoProcesses
        When every process dies at once.
    """
    chosen = tuple(sorted(notes))
    known = uncertain(case, chosen) if doubts is None else tuple(doubts)
    for doubt in known:
        for deviation in (doubt.common, *(piece.deviation for piece in doubt.pieces)):
            _ = deviation.sd  # found once here, and carried to the processes
    tasks = [_Task(note, Bed(case.given(note), case.library, case.strokes), known, wind_off_too) for note in chosen]
    found: dict[int, _Found] = {}
    with closing(in_processes(_of_note, tasks, min(workers(jobs), len(tasks)), _given_up)) as results:  # type: ignore[type-var]
        for one in results:
            found[one.note] = one
            if progress:
                progress(one.note)
    rows = [found[note] for note in chosen]
    return Sensitivity(
        chosen,
        known,
        NAMES,
        np.array([one.values for one in rows]).reshape(len(rows), len(NAMES)),
        np.array([one.common for one in rows]).reshape(len(rows), len(known), len(NAMES)),
        np.array([one.own for one in rows]).reshape(len(rows), len(known), len(NAMES)),
        {one.note: one.failed for one in rows if one.failed},
        sum(one.presses for one in rows),
    )


def _given_up(task: _Task) -> _Found:
    return _none(task, f"its process {TWICE}", 0)


def _none(task: _Task, why: str, presses: int) -> _Found:
    shape = (len(task.doubts), len(NAMES))
    return _Found(task.note, np.full(shape[1], np.nan), np.full(shape, np.nan), np.full(shape, np.nan), why, presses)


def _of_note(task: _Task) -> _Found:
    with np.errstate(all="ignore"):
        return _Desk(task).found()


class _Desk:
    """One note whose tolerances are tried."""

    def __init__(self, task: _Task) -> None:
        self.task, self.presses = task, 0

    def found(self) -> _Found:
        task = self.task
        try:
            train = build_train(task.bed.parts, task.bed.library)
        except TrainProblem as problem:
            return _none(task, "; ".join(problem.defects), 0)
        (base,) = pressed([train], task.bed.strokes, jobs=1)
        self.presses += 1
        if not isinstance(base, Pressed):
            return _none(task, str(base), self.presses)
        (usual,) = self._read([train], [base])
        made = moves(task.bed, task.doubts)
        ends = [move.moved(move.first) for move in made]
        effects = self._slopes(base, usual, ends) * np.array([move.rise for move in made]).reshape(-1, 1)
        self._as_they_are(made, ends, effects, usual)
        common, own = self._shared(made, effects, usual)
        return _Found(task.note, usual, common, own, "", self.presses)

    def _read(self, trains: Sequence[Train], on: Sequence[Read] | None = None) -> Floats:
        """Figures of trains, (trains, figures); `on` are those that are pressed already."""
        strokes, off = self.task.bed.strokes, self.task.off
        self.presses += len(trains) * ((on is None) + off)
        on = pressed(trains, strokes, jobs=1) if on is None else on
        still = pressed([wind_off(train) for train in trains], strokes, jobs=1) if off else [None] * len(trains)
        return np.array([read(*pair) for pair in zip(on, still, strict=True)]).reshape(len(trains), len(NAMES))

    def _slopes(self, base: Pressed, usual: Floats, ends: Sequence[Train | None]) -> Floats:
        """What figures do towards the ends of all moves, (moves, figures), by small steps on independent ones."""
        ways = changes(base, ends)
        steps = np.nanmax(np.abs(ways), axis=0, initial=0.0)
        heavy = carried(base, steps)
        chosen, shares = independent(np.nan_to_num(ways[:, heavy] / steps[heavy]))
        at = self._read([shifted(base, np.where(heavy, ways[k], 0.0), SMALL) for k in chosen])
        rise = (at - usual) / SMALL
        rise[:, ~np.isfinite(usual)] = 0.0
        found = np.asarray(shares @ rise)
        return np.where(np.isfinite(ways[:, :1]), found, np.nan)

    def _as_they_are(self, made: Sequence[Move], ends: Sequence[Train | None], effects: Floats, usual: Floats) -> None:
        """Press the moves that matter as they are, at one end, and where figures bend at the other."""
        weights = np.array([one.common**2 + one.own**2 for one in made]).reshape(-1, 1) * np.nan_to_num(effects) ** 2
        large = weights > MAJOR * np.sum(weights, axis=0)
        which = [k for k in np.flatnonzero(np.any(large, axis=1)).tolist() if ends[k] is not None]
        at = self._read([train for k in which if (train := ends[k]) is not None])
        once = (at - usual) * np.array([made[k].rise for k in which]).reshape(-1, 1)
        bent = large[which] & ~(np.abs(once - effects[which]) <= BENDS * np.abs(effects[which]))
        again = [row for row in np.flatnonzero(np.any(bent, axis=1)).tolist() if made[which[row]].opposite is not None]
        back = self._read([train for row in again if (train := made[which[row]].opposite) is not None])
        for row, k in enumerate(which):
            effects[k] = np.where(np.isfinite(once[row]), once[row], effects[k])
        for row, other in zip(again, back, strict=True):
            move = made[which[row]]
            twice = move.across * (at[row] - other)
            effects[which[row]] = np.where(np.isfinite(twice), twice, effects[which[row]])

    def _shared(self, made: Sequence[Move], effects: Floats, usual: Floats) -> tuple[Floats, Floats]:
        """Effects by tolerance: what is common, and the size of what is the note's own."""
        shape = (len(self.task.doubts), len(NAMES))
        common, own = np.zeros(shape), np.zeros(shape)
        for move, effect in zip(made, effects, strict=True):
            common[move.tolerance] += move.common * effect if move.common else 0.0
            own[move.tolerance] += (move.own * effect) ** 2 if move.own else 0.0
        there = np.isfinite(usual)
        return np.where(there, common, np.nan), np.where(there, np.sqrt(own), np.nan)
