"""The unknowns of one note by bounded least squares: values, intervals, what is not told, how good the fit is."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from itertools import pairwise

import numpy as np

from keyaction.cases.action.case import Case
from keyaction.models.train.train import Train, TrainProblem
from keyaction.sim.calibration.measured import INSTANT, CurveBlock, Measured, TraceBlock
from keyaction.sim.calibration.presses import FAR, Shown, residuals, show
from keyaction.sim.calibration.unknowns import Unknown, fields_at, train_at, unknowns
from keyaction.sim.fitting.goodness import Goodness, goodness
from keyaction.sim.fitting.least import AT_BOUND, Fit, Floats, Residuals, Space, fit
from keyaction.sim.fitting.spread import Direction, Interval, Spread, at_least, by_slopes, intervals, spread_of

STEP = 0.005
"""Of its span: the step of a slope, well above what presses resolve."""
TIED = 10.0
"""Spans of a pull towards the case's own figure: nothing beside what is measured, but it holds what nothing tells."""
HELD = 0.5
"""Spans of the pull along directions of which nothing is known: there the case's own figures stay."""
PLAYED = 0.05
"""The same where strokes are played, which resolve less than presses."""
APART = 0.25
"""Spans by which the other starts lie beside the case's own figures."""
EXACT, EXACT_PLAYED = 1e-6, 1e-4
"""Relative change of cost and step at which a search ends, of presses and of strokes."""
_EVALUATIONS = 60
ROUGH, _ROUGHLY = 0.02, 8
"""The same from other starts, and their evaluations: enough to see whether there is a better place."""
FORETOLD = 0.1
"""Share of a sum of squares by which the best may miss it from afar: a start that came there leads to the best."""
CHORD = 0.005
"""Spans of all unknowns within which slopes are taken as they were."""
_LEVELS = 4
"""Rounds in which the levels of errors that are not stated are found."""
_SETTLED = 0.02
"""Relative change of such a level below which it is found."""
_KEPT = 64
"""Places of which is kept what the note shows there."""


@dataclass(frozen=True)
class Bench:
    """A note with its measurements, from figures of the fit to residuals.

    Attributes
    ----------
    case : Case
    measured : Measured
    of : tuple of Unknown
    jobs : int
        Threads; 0 means one per core.
    """

    case: Case
    measured: Measured
    of: tuple[Unknown, ...]
    jobs: int = 0
    _kept: dict[bytes, Shown | None] = field(default_factory=dict, init=False, repr=False, compare=False)

    @property
    def size(self) -> int:
        """Unknowns, and the beginning of every trace."""
        return len(self.of) + len(self.measured.traces)

    @cached_property
    def start(self) -> Floats:
        """The case's own figures."""
        return np.array([one.start for one in self.of] + [0.0] * len(self.measured.traces))

    @cached_property
    def space(self) -> Space:
        ends = [one.bounds for one in self.of] + [(-INSTANT, INSTANT)] * len(self.measured.traces)
        spans = [one.kind.span for one in self.of] + [INSTANT / 5] * len(self.measured.traces)
        low, high = np.array(ends, dtype=float).reshape(-1, 2).T
        return Space(low, high, np.array(spans))

    def train(self, figures: Floats) -> Train | None:
        """The note at some figures; None where it cannot be built so."""
        try:
            return train_at(self.case, self.measured.note, fields_at(self.of, figures[: len(self.of)].tolist()))
        except TrainProblem:
            return None

    def instants(self, figures: Floats) -> list[float]:
        """Beginnings of the traces, s."""
        return [float(one) for one in figures[len(self.of) :]]

    def shown(self, rows: Sequence[Floats]) -> list[Shown | None]:
        """What the note shows at several places, side by side; beginnings of strokes change nothing of it."""
        keys = [row[: len(self.of)].tobytes() for row in rows]
        new = {key: row for key, row in zip(keys, rows, strict=True) if key not in self._kept}
        trains = {key: self.train(row) for key, row in new.items()}
        there = [train for train in trains.values() if train is not None]
        found = iter(show(there, self.measured, self.case.strokes, self.jobs))
        fresh = {key: None if train is None else next(found) for key, train in trains.items()}
        known = {key: self._kept.pop(key) for key in keys if key in self._kept} | fresh
        self._kept.update(known)
        for key in list(self._kept)[:-_KEPT]:
            del self._kept[key]
        return [known[key] for key in keys]

    def missed(self, rows: Sequence[Floats], levels: Sequence[float]) -> list[Floats]:
        """Residuals at several places."""
        return [self.read(one, row, levels) for row, one in zip(rows, self.shown(rows), strict=True)]

    def read(self, shown: Shown | None, row: Floats, levels: Sequence[float]) -> Floats:
        """Residuals of what is shown, its strokes begun as the figures have it."""
        if shown is None:
            return np.full(self.measured.count, FAR)
        return residuals(shown, self.measured, self.instants(row), levels)


class Problem:
    """Residuals and slopes as the fit wants them, with a weak pull towards the case's own figures."""

    def __init__(self, bench: Bench, levels: Sequence[float], held: Sequence[Direction] = ()) -> None:
        self.bench, self.levels = bench, list(levels)
        self.held = np.array([one.vector for one in held]).reshape(-1, bench.size)
        self._slopes: tuple[Floats, Floats] | None = None

    def residuals(self, figures: Floats) -> Floats:
        """All residuals, those of the pull last."""
        return np.concatenate([self.bench.missed([figures], self.levels)[0], self._pull(figures)])

    def slopes(self, figures: Floats) -> Floats:
        """Their slopes there, or where these were last asked for if that is near."""
        if self._slopes is None or np.any(np.abs(figures - self._slopes[0]) > CHORD * self.bench.space.scale):
            self._slopes = figures.copy(), self.jacobian(figures)
        return self._slopes[1]

    def jacobian(self, figures: Floats) -> Floats:
        """Their slopes, all unknowns side by side."""
        here, space = self.residuals(figures), self.bench.space
        steps = (PLAYED if self.bench.measured.traces else STEP) * space.scale
        steps = np.where(figures + steps > space.high, -steps, steps)
        rows = [figures + step * one for step, one in zip(steps, np.eye(len(figures)), strict=True)]
        found = self.bench.missed(rows, self.levels)
        columns = [
            (np.concatenate([one, self._pull(row)]) - here) / step
            for one, row, step in zip(found, rows, steps, strict=True)
        ]
        return np.column_stack(columns)

    def _pull(self, figures: Floats) -> Floats:
        away = (figures - self.bench.start) / self.bench.space.scale
        return np.concatenate([away / TIED, self.held @ away / HELD])


@dataclass(frozen=True)
class Value:
    """What was found of one unknown.

    Attributes
    ----------
    of : Unknown
    figure : float
        In the fit's own figure.
    interval : Interval, optional
        In that figure; None where it is not told.
    """

    of: Unknown
    figure: float
    interval: Interval | None

    @property
    def value(self) -> float:
        """As people read it, SI."""
        return self.of.value(self.figure)

    @property
    def open(self) -> tuple[bool, bool]:
        """Of both ends of the interval whether only the search ended there; a least of 0 is a real end."""
        if self.interval is None:
            return False, False
        (low, high), near = self.of.bounds, AT_BOUND * self.of.kind.span
        return low != 0.0 and self.interval.low - low <= near, high - self.interval.high <= near

    @property
    def ends(self) -> tuple[float, float]:
        """The 95 % interval as people read it, SI; infinite where it is open, NaN where it is not told."""
        if self.interval is None:
            return math.nan, math.nan
        low, high = (self.of.value(one) for one in (self.interval.low, self.interval.high))
        return -math.inf if self.open[0] else low, math.inf if self.open[1] else high

    @property
    def kept(self) -> Value:
        """Without an interval that says less than is known of cases before anything was measured."""
        if self.interval is None:
            return self
        below, above = self.figure - self.interval.low, self.interval.high - self.figure
        way = {(False, False): (below + above) / 2, (True, False): above, (False, True): below}
        return self if way.get(self.open, math.inf) <= self.of.kind.span else replace(self, interval=None)


@dataclass(frozen=True)
class Lacking:
    """An unknown that was held and would take away so much of the sum of squares if it were freed."""

    name: str
    share: float


@dataclass(frozen=True)
class Calibrated:
    """A note with what was found of it.

    Attributes
    ----------
    bench : Bench
    found : Fit
        Without the pull.
    spread : Spread
    values : tuple of Value
    untold : tuple of Direction
        Directions of which nothing is known to within the spans.
    good : Goodness
    levels : tuple of float
        Of every block, by which its errors turned out greater than assumed; 1 where they are stated.
    shown : Shown
    lacking : tuple of Lacking
        Of a poor fit, what might be missing.
    """

    bench: Bench
    found: Fit
    spread: Spread
    values: tuple[Value, ...]
    untold: tuple[Direction, ...]
    good: Goodness
    levels: tuple[float, ...]
    shown: Shown
    lacking: tuple[Lacking, ...] = ()

    @property
    def note(self) -> int:
        return self.bench.measured.note

    @property
    def measured(self) -> Measured:
        return self.bench.measured

    @property
    def poor(self) -> bool:
        """Whether chance does not explain what remains."""
        return not self.good.good

    @property
    def told(self) -> tuple[Value, ...]:
        """Those that are known to within their spans."""
        return tuple(one for one in self.values if one.interval is not None)

    @property
    def instants(self) -> list[float]:
        return self.bench.instants(self.found.values)

    @property
    def fields(self) -> dict[tuple[str, str], float]:
        """The fields of the case as they were found, SI; unknowns that are not told stay near the case's."""
        return fields_at(self.bench.of, self.found.values[: len(self.bench.of)].tolist())


class NotCalibrated(ValueError):
    """Why a note cannot be calibrated."""


def calibrate(bench: Bench) -> Calibrated:
    """Find the unknowns of a note.

    Parameters
    ----------
    bench : Bench

    Raises
    ------
    NotCalibrated
        When there are too few figures, or the note cannot be pressed as the case has it.
    """
    _check(bench)
    levels = [1.0] * len(bench.measured.blocks)
    best = _best(bench, levels)
    for _ in range(_LEVELS):
        after = _levels(bench, best, levels)
        done = all(abs(one / before - 1) < _SETTLED for one, before in zip(after, levels, strict=True))
        levels = after
        if done:
            break
        best = _fitted(bench, levels, [best.values])
    held = _untold(without_pull(best, bench.measured.count))
    if held:
        best = _fitted(bench, levels, [best.values], held)
    return _judged(bench, best, levels, held)


def _untold(plain: Fit) -> list[Direction]:
    return [one for one in spread_of(plain, stated=True).directions if one.half > 1.0]


def _best(bench: Bench, levels: Sequence[float]) -> Fit:
    """From the case's own figures to the end; from places beside them roughly, and to the end where that is better."""
    own, *beside = _starts(bench, levels)
    best = _fitted(bench, levels, [own])
    for start in beside:
        problem = Problem(bench, levels)
        try:
            other = fit(_leading_elsewhere(problem, best), [start], bench.space, problem.slopes, ROUGH, _ROUGHLY)
        except _LeadsThere:
            continue
        if other.squares < (1 - ROUGH) * best.squares:
            best = _fitted(bench, levels, [other.values])
    return best


class _LeadsThere(Exception):
    """A start leads to the best that is known."""


def _leading_elsewhere(problem: Problem, best: Fit) -> Residuals:
    """The residuals, until they are what the best and its slopes say from there."""

    def residuals(figures: Floats) -> Floats:
        found = problem.residuals(figures)
        foretold = best.residuals + best.jacobian @ (figures - best.values)
        away = found - foretold
        if float(away @ away) < FORETOLD * float(found @ found):
            raise _LeadsThere
        return found

    return residuals


def _check(bench: Bench) -> None:
    count, size = bench.measured.count, bench.size
    if count <= size:
        names = ", ".join(one.name for one in bench.of)
        more = f" and the beginning of {len(bench.measured.traces)} strokes" if bench.measured.traces else ""
        raise NotCalibrated(
            f"{count} figures for {len(bench.of)} unknowns ({names}){more}: at least {size + 1} are needed; measure "
            "more, or name fewer with --unknown"
        )


def _starts(bench: Bench, levels: Sequence[float]) -> list[Floats]:
    """The case's own figures, and two places beside them that can be pressed."""
    own, space = bench.start, bench.space
    signs = np.array([1.0 if i % 2 == 0 else -1.0 for i in range(len(own))])
    signs[len(bench.of) :] = 0.0
    senses = () if bench.measured.traces else (1.0, -1.0)  # strokes take long to play
    beside = [space.inside(own + sign * APART * signs * space.scale) for sign in senses]
    found = bench.missed([own, *beside], levels)
    kept = [row for row, one in zip([own, *beside], found, strict=True) if np.mean(np.abs(one) >= 0.99 * FAR) < 0.5]
    if not kept:
        raise NotCalibrated("the note as the case has it does not show what was measured: it cannot be pressed so")
    return kept


def _fitted(bench: Bench, levels: Sequence[float], starts: Sequence[Floats], held: Sequence[Direction] = ()) -> Fit:
    problem = Problem(bench, levels, held)
    exact = EXACT_PLAYED if bench.measured.traces else EXACT
    return fit(problem.residuals, starts, bench.space, problem.slopes, exact, _EVALUATIONS)


def without_pull(found: Fit, count: int) -> Fit:
    """The fit's residuals and slopes without those of the pull."""
    return replace(found, residuals=found.residuals[:count], jacobian=found.jacobian[:count])


def _slices(measured: Measured) -> list[slice]:
    ends = np.cumsum([0, *(block.count for block in measured.blocks)]).tolist()
    return [slice(start, end) for start, end in pairwise(ends)]


def _leverage(found: Fit) -> Floats:
    """How much of every residual's freedom the unknowns take, (n,)."""
    left, strengths, _ = np.linalg.svd(found.jacobian * found.space.scale, full_matrices=False)
    shows = strengths > 1 / TIED
    return np.asarray(np.sum(left[:, shows] ** 2, axis=1))


def _levels(bench: Bench, best: Fit, before: Sequence[float]) -> list[float]:
    """Levels of the blocks whose errors are not stated, by what remains there; those of one course are one."""
    plain, parts = without_pull(best, bench.measured.count), _slices(bench.measured)
    taken, found = _leverage(plain), list(before)
    groups: dict[tuple[str, ...], list[int]] = {}
    for i, block in enumerate(bench.measured.blocks):
        if not block.stated:
            groups.setdefault(_group(block), []).append(i)
    for members in groups.values():
        squares = sum(float(np.sum(plain.residuals[parts[i]] ** 2)) for i in members)
        freedom = sum(parts[i].stop - parts[i].start - float(np.sum(taken[parts[i]])) for i in members)
        level = math.sqrt(max(squares / max(freedom, 1e-9), 1e-12))
        for i in members:
            found[i] = before[i] * level
    return found


def _group(block: object) -> tuple[str, ...]:
    if isinstance(block, TraceBlock):
        return ("trace", block.channel)
    return ("curve",) if isinstance(block, CurveBlock) else ("sheet",)


def _judged(bench: Bench, best: Fit, levels: Sequence[float], held: Sequence[Direction]) -> Calibrated:
    problem, count = Problem(bench, levels, held), bench.measured.count
    best = replace(best, residuals=problem.residuals(best.values), jacobian=problem.jacobian(best.values))
    plain, parts = without_pull(best, count), _slices(bench.measured)
    free = [i for i, block in enumerate(bench.measured.blocks) if not block.stated]
    taken = _leverage(plain)
    freedom = sum(parts[i].stop - parts[i].start for i in free) - sum(float(np.sum(taken[parts[i]])) for i in free)
    known = spread_of(plain, stated=True, freedom=freedom if free else math.inf)
    spans = bench.space.scale
    told = [k for k in range(len(bench.of)) if known.half[k] <= spans[k]]
    good = _good(bench, plain, taken)
    pulled = spread_of(best, stated=True, freedom=freedom if free else math.inf)
    ends = (
        [
            at_least(one, by_slopes(best, pulled, k))
            for k, one in zip(
                told,
                intervals(best, pulled, problem.residuals, problem.jacobian, told, bench.shown),
                strict=True,
            )
        ]
        if good.good and best.done
        else [by_slopes(best, pulled, k) for k in told]
    )
    found = dict(zip(told, ends, strict=True))
    values = tuple(Value(one, float(best.values[k]), found.get(k)).kept for k, one in enumerate(bench.of))
    untold = tuple(one for one in known.directions if one.half > 1.0)
    (shown,) = bench.shown([best.values])
    assert shown is not None
    made = Calibrated(bench, plain, known, values, untold, good, tuple(levels), shown)
    return replace(made, lacking=_lacking(bench, best, levels)) if made.poor else made


def _good(bench: Bench, plain: Fit, taken: Floats) -> Goodness:
    """Stated errors are judged by their sum of squares, courses by their runs."""
    parts, blocks = _slices(bench.measured), bench.measured.blocks
    stated = [i for i, block in enumerate(blocks) if block.stated]
    chosen = np.concatenate([plain.residuals[parts[i]] for i in stated]) if stated else np.zeros(0)
    freedom = len(chosen) - sum(float(np.sum(taken[parts[i]])) for i in stated)
    courses = [
        plain.residuals[parts[i]] for i, block in enumerate(blocks) if isinstance(block, CurveBlock | TraceBlock)
    ]
    ordered = np.concatenate(courses) if courses else None
    return goodness(chosen, freedom, bool(stated) and freedom > 0.5, ordered)


def _lacking(bench: Bench, best: Fit, levels: Sequence[float]) -> tuple[Lacking, ...]:
    """Unknowns that were held, by how much of what remains each would take away, most first."""
    base = bench.train(best.values)
    if base is None:
        return ()
    held = [one for name, one in unknowns(bench.case, base).items()]
    held = [one for one in held if one.name not in {own.name for own in bench.of}]
    wide = replace(bench, of=(*bench.of, *held))
    at = np.concatenate([best.values[: len(bench.of)], [one.start for one in held], best.values[len(bench.of) :]])
    problem = Problem(wide, levels)
    slopes = problem.jacobian(at)[: bench.measured.count]
    left = best.residuals[: bench.measured.count]
    own = [i for i in range(wide.size) if not len(bench.of) <= i < len(bench.of) + len(held)]
    basis, _ = np.linalg.qr(slopes[:, own])
    found = []
    for i, one in enumerate(held, len(bench.of)):
        beyond = slopes[:, i] - basis @ (basis.T @ slopes[:, i])
        strength = float(beyond @ beyond)
        if strength * one.kind.span**2 > 1.0:  # else it does not show, and what is left of it is rounding
            found.append(Lacking(one.name, float(left @ beyond) ** 2 / strength / float(left @ left)))
    return tuple(sorted((one for one in found if one.share > 0.1), key=lambda one: -one.share)[:3])
