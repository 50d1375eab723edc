"""A stagger between coupled plucks under scatter: drawn in full, for two plucks under one finger are no straight line.

What all notes of a division share is taken out when it is regulated note by note; drawn is what each note has of its
own, of both divisions and of the coupler, and how its play is set.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from contextlib import closing
from dataclasses import dataclass, field

import numpy as np

from keyaction.cases.action.strokes import Strokes
from keyaction.cases.fields.tables import field_at
from keyaction.cases.instrument.coupled import CoupledNote, joined_note
from keyaction.cases.instrument.coupler import Coupler
from keyaction.cases.instrument.instrument import Instrument
from keyaction.cases.study.spans import Deviation
from keyaction.cases.study.spreads import Piece, pieces_of, uncertain
from keyaction.models.fields.values import Given
from keyaction.models.spreads.table import spread_of
from keyaction.models.train.given import AnyPart, with_values
from keyaction.models.train.train import Train, TrainProblem, build_train
from keyaction.sim.coupling.moved import PLAY
from keyaction.sim.coupling.setting import Bench, Setting
from keyaction.sim.coupling.split import staggered
from keyaction.sim.coupling.trees import part_of
from keyaction.sim.figures.play import NotPlayed
from keyaction.sim.motion.integrate import Floats
from keyaction.sim.motion.note import with_couplers_set
from keyaction.sim.processes.count import workers
from keyaction.sim.processes.tasks import TWICE, in_processes
from keyaction.sim.sweep.pieces import deviate

PRESSED = 40
"""Draws of each note unless it is said."""

Progress = Callable[[int], None]
"""Told of every note that is done."""


@dataclass(frozen=True)
class Coupled:
    """One coupler at one note, its plucks set together and a stagger apart.

    Attributes
    ----------
    coupler, division : str
    note : int
    plays : (2,) array
        Of the coupler with both plucks as near each other as they come, and a stagger apart, m: nothing where they are
        farther apart with no play at all.
    peaks : (2,) array
        Without scatter, N.
    drawn : (draws, 2) array
        Peaks under scatter, N; NaN where a draw could not be pressed.
    apart : (draws,) array
        Key travel from the own pluck to the driven one, set a stagger apart, m.
    reason : str
        Why there are none.
    """

    coupler: str
    division: str
    note: int
    plays: Floats = field(default_factory=lambda: np.full(2, np.nan))
    peaks: Floats = field(default_factory=lambda: np.full(2, np.nan))
    drawn: Floats = field(default_factory=lambda: np.full((0, 2), np.nan))
    apart: Floats = field(default_factory=lambda: np.full(0, np.nan))
    reason: str = ""

    @property
    def known(self) -> Floats:
        """Distances of the plucks in the draws that have both, m."""
        return self.apart[np.isfinite(self.apart)]

    def left(self, least: float) -> tuple[float, float]:
        """Share of the draws in which more than a distance (m) is left, and its standard error."""
        count = len(self.known)
        if not count:
            return math.nan, math.nan
        share = float(np.mean(self.known > least))
        held = (share * count + 0.5) / (count + 1)
        return share, math.sqrt(held * (1.0 - held) / count)

    @property
    def saved(self) -> tuple[float, float]:
        """What the stagger takes off the peak on average, and its standard error, N."""
        both = self.drawn[np.all(np.isfinite(self.drawn), axis=1)]
        apart = both[:, 0] - both[:, 1]
        if len(apart) < 2:
            return math.nan, math.nan
        return float(np.mean(apart)), float(np.std(apart, ddof=1) / math.sqrt(len(apart)))

    def peak(self, which: int, share: float = 0.95) -> float:
        """Peak below which a share of the draws lies, N: of plucks together (0) or apart (1)."""
        peaks = self.drawn[:, which]
        peaks = peaks[np.isfinite(peaks)]
        return float(np.quantile(peaks, share)) if len(peaks) else math.nan


@dataclass(frozen=True)
class _Task:
    instrument: Instrument
    coupler: str
    note: int
    stagger: float
    draws: int
    seed: int


def coupled_staggers(
    instrument: Instrument,
    coupler: str,
    notes: Sequence[int],
    stagger: float,
    draws: int = PRESSED,
    seed: int = 1,
    jobs: int = 0,
    progress: Progress | None = None,
) -> list[Coupled]:
    """Draw a coupler's plucks at some notes, it alone drawn.

    Parameters
    ----------
    instrument : Instrument
    coupler : str
        Its name.
    notes : sequence of int
        Of the division that is played.
    stagger : float
        Key travel, m.
    draws, seed : int
    jobs : int
        Processes; 0 means one per core.
    progress : callable, optional
    """
    tasks = [_Task(instrument, coupler, note, stagger, draws, seed) for note in notes]
    found: dict[int, Coupled] = {}
    with closing(in_processes(_of_note, tasks, min(workers(jobs), max(len(tasks), 1)), _given_up)) as results:  # type: ignore[type-var]
        for one in results:
            found[one.note] = one
            if progress:
                progress(one.note)
    return [found[note] for note in notes]


def _none(task: _Task, why: str) -> Coupled:
    return Coupled(task.coupler, task.instrument.couplers[task.coupler].played, task.note, reason=why)


def _given_up(task: _Task) -> Coupled:
    return _none(task, f"its process {TWICE}")


def _of_note(task: _Task) -> Coupled:
    coupler = task.instrument.couplers[task.coupler]
    if task.note + coupler.shift not in task.instrument.divisions[coupler.driven].compass:
        return _none(task, f"{coupler.driven} has no note there")
    coupled = joined_note(task.instrument, coupler.played, task.note, [coupler.name])
    strokes = task.instrument.divisions[coupler.played].strokes
    try:
        part = part_of([coupler.name], coupled, coupler)
        bench = Bench(with_couplers_set(coupled.train()), part, strokes)
        own, driven = next(one.name for one in bench.train.parts if one.role == "pallet"), bench.moved[0]
        plays = np.array([_apart(bench, own, driven, apart) for apart in (0.0, task.stagger)])
        if not np.all(np.isfinite(plays)):
            return _none(task, "no play of the coupler sets its pluck so far after the key's own")
        peaks = np.array([bench.at(float(play)).peak for play in plays])
    except TrainProblem as problem:
        return _none(task, "; ".join(problem.defects))
    except NotPlayed as problem:
        return _none(task, str(problem))
    pieces, play = _pieces(task.instrument, coupled, coupler, part)
    drawn, apart = np.full((task.draws, 2), np.nan), np.full(task.draws, np.nan)
    for number in range(task.draws):
        shares = np.random.default_rng([task.seed, number, task.note]).random(len(pieces) + 1)
        train = _built(coupled, pieces, shares[:-1])
        if train is None:
            continue
        for which in (0, 1):
            setting = _set(train, part, _deviated(float(plays[which]), play, float(shares[-1])), strokes)
            drawn[number, which] = setting.peak if setting else math.nan
            if setting and which:
                apart[number] = setting.after(driven, own)
    return Coupled(coupler.name, coupler.played, task.note, plays, peaks, drawn, apart)


def _apart(bench: Bench, own: str, driven: str, apart: float) -> float:
    """The play at which plucks are so far apart; none where they are farther with no play at all."""
    return 0.0 if bench.at(0.0).after(driven, own) >= apart else staggered(bench, own, driven, apart)


def _pieces(instrument: Instrument, coupled: CoupledNote, coupler: Coupler, part: str) -> tuple[list[Piece], Deviation]:
    """What each note has of its own, by the names of the coupled train; and how the play is set."""
    found: list[Piece] = []
    for one in coupled.soundings:
        case = instrument.divisions[one.division]
        found += [piece._replace(part=one.part(piece.part)) for piece in pieces_of(uncertain(case, [one.note]))]
    play = Deviation(0.0, True)
    for path, given in coupler.fields.items():
        about = field_at(coupler.part.fields, path)
        spread = spread_of(coupler.part, path, about) if about and coupled.note in given else None
        if about is None or spread is None or not spread.note.value:
            continue
        deviation = Deviation(spread.note.value, spread.note.share, spread.form == "even")
        if path == PLAY:
            play = deviation
        else:
            found.append(Piece(part, path, about, deviation))
    return found, play


def _built(coupled: CoupledNote, pieces: Sequence[Piece], shares: Floats) -> Train | None:
    made: dict[str, dict[str, Given]] = {name: dict(given) for _, name, given, *_ in coupled.parts}
    for piece, share in zip(pieces, shares, strict=True):
        library = coupled.libraries.get(piece.part, coupled.library)
        deviate(made[piece.part], piece, float(share), library)
    try:
        return with_couplers_set(build_train(_with(coupled.parts, made), coupled.library, coupled.libraries))
    except TrainProblem:
        return None


def _with(parts: Sequence[AnyPart], made: Mapping[str, Mapping[str, Given]]) -> list[AnyPart]:
    return [with_values(one, made[one[1]]) for one in parts]


def _deviated(play: float, spread: Deviation, share: float) -> float:
    """The play as it is set, m."""
    by = spread.one(share)
    return max(play * by if spread.factor else play + by, 0.0)


def _set(train: Train, part: str, play: float, strokes: Strokes) -> Setting | None:
    try:
        return Bench(train, part, strokes).at(play)
    except NotPlayed:
        return None
