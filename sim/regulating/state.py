"""How every note stands, from its readings: amounts of what can be turned or be wrong, by least squares with priors."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from keyaction.cases.action.strokes import Strokes
from keyaction.models.readings.figures import NAMES
from keyaction.models.readings.readings import Readings
from keyaction.models.train.structure import Structure
from keyaction.models.train.train import Train
from keyaction.sim.measuring.bench import Computed, computed
from keyaction.sim.measuring.knobs import KINDS, Knob, changed, knobs
from keyaction.sim.measuring.slopes import Point, slopes
from keyaction.sim.motion.integrate import Floats

Flags = NDArray[np.bool_]
Ints = NDArray[np.intp]

FITTED = ("nut", "rest", "bottom", "spring", "balance", "friction", "rubbing", "seal", "soft-run")
"""Kinds of change that are looked for; of friction that of the key's pin stands for all."""
STEADY = ("balance", "rubbing")
"""Of these it is supposed that they are as drawn, as far as a well regulated action is: weights at the key do not tell
them from a spring and from a single pin."""
ANCHORS = 7
"""Notes at which slopes are computed; between them straight lines."""
ROUNDS = 4
"""Presses of all notes, at most, until the readings are met."""
MET = 0.25
"""Standard deviations of a reading by which the computed figure may differ from what the slopes foretold."""
OFF = ("pluck_off", "hold_off", "up_off")
UNLIKE = ("ciphers", "hangs")
"""Words of notes whose readings say nothing of a note that plays."""
TELLS = 0.5
"""Of the standard deviation that was supposed before, below which readings tell something."""
FAR = 2.0
"""Standard deviations from which a reading counts less (Huber)."""
REWEIGHED = 4
"""Times that the readings are weighed anew."""


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

    def at(self, i: int, amounts: Floats, base: Train | None = None) -> Train:
        """A note's train with some amounts, (kinds,); on another than that as measured, where `base` is given."""
        own = self.knobs[i]
        chosen = [(own[kind], float(x)) for kind, x in zip(FITTED, amounts, strict=True) if x and kind in own]
        return changed(self.trains[i] if base is None else base, chosen)

    def press(self, chosen: Sequence[int], amounts: Floats, bases: Sequence[Train] | None = None) -> Computed:
        """Figures of some notes (by place) with amounts (chosen, kinds)."""
        trains = [
            self.at(i, amounts[k], None if bases is None else bases[i]) for k, i in enumerate(chosen)
        ]
        return computed(trains, self.strokes, self.off, self.jobs).from_level(self.level[list(chosen)])


@dataclass(frozen=True)
class State:
    """How every note stands.

    Attributes
    ----------
    bench : Bench
    read, error : (n, figures) array
        Means of the readings and their standard deviations, NaN where there is none.
    amounts, sd : (n, kinds) array
        What is found, and its standard deviation beside what was supposed before.
    figures, figure_sd : (n, figures) array
        Of the notes as found, and their standard deviation.
    left : (n, figures) array
        Readings less figures, in standard deviations; NaN where there is none.
    speech : tuple of str
        What each note does, by the sheet.
    known : (n,) array of bool
        Notes whose readings say how they stand.
    """

    bench: Bench
    read: Floats
    error: Floats
    amounts: Floats
    sd: Floats
    figures: Floats
    figure_sd: Floats
    left: Floats
    speech: tuple[str, ...]
    known: Flags

    def amount(self, kind: str) -> Floats:
        """One kind of all notes."""
        return np.asarray(self.amounts[:, FITTED.index(kind)])

    def sd_of(self, kind: str) -> Floats:
        """Standard deviation of one kind of all notes."""
        return np.asarray(self.sd[:, FITTED.index(kind)])

    def tells(self, kind: str) -> Flags:
        """Notes whose readings tell that kind: it is known at least twice as well as was supposed before."""
        return np.asarray(self.sd_of(kind) < TELLS * usual(kind))

    def shows(self, figure: str) -> Flags:
        """Notes whose readings tell that figure at least twice as well as was supposed before."""
        k = NAMES.index(figure)
        before = np.sqrt(np.sum((self.bench.rise[:, :, k] * _PRIOR) ** 2, axis=1))
        return np.asarray(self.figure_sd[:, k] < TELLS * before)


def usual(kind: str) -> float:
    """Standard deviation that is supposed of an amount before anything was read."""
    about = KINDS[kind]
    return about.good if kind in STEADY else about.usual


_PRIOR = np.array([usual(kind) for kind in FITTED])
_LOW, _HIGH = (np.array([getattr(KINDS[kind], end) for kind in FITTED]) for end in ("low", "high"))


def bench_of(
    trains: Mapping[int, Train], strokes: Strokes, level: Floats | None, off: bool, jobs: int = 0
) -> Bench:
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
    points = {i: Point(trains[i], float(level[i]), tuple(own[i].values()), np.zeros(len(own[i]))) for i in sorted(anchors)}
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


def stand(bench: Bench, readings: Readings) -> State:
    """How every note of the bench stands.

    Parameters
    ----------
    bench : Bench
    readings : Readings
        Of at least one of its notes.

    Returns
    -------
    State
    """
    read, error = readings.values(NAMES, bench.notes), readings.errors(NAMES, bench.notes)
    speech = tuple(readings.speech.get(note, "") for note in bench.notes)
    known = np.any(np.isfinite(read), axis=1) & np.array([word not in UNLIKE for word in speech])
    read, mute = _usable(read, speech, known), np.array([word == "mute" for word in speech])
    fit = _Fit.begun(bench, read, error, mute)
    waiting = np.flatnonzero(known)
    for _ in range(ROUNDS):
        if len(waiting):
            waiting = fit.step(waiting)
    amounts, figures, covariance, rise = fit.best_amounts, fit.best_figures, fit.covariance, fit.rise
    sd = np.sqrt(np.einsum("ikk->ik", covariance))
    figure_sd = np.sqrt(np.einsum("ikf,ikl,ilf->if", rise, covariance, rise))
    return State(bench, read, error, amounts, sd, figures, figure_sd, (read - figures) / error, speech, known)


def _usable(read: Floats, speech: Sequence[str], known: Flags) -> Floats:
    """Readings without those that say nothing in a straight line: lift and pluck of a note that does not speak."""
    read = read.copy()
    read[~known] = np.nan
    for i, word in enumerate(speech):
        if word == "mute":
            read[i, [NAMES.index(name) for name in NAMES if name not in ("level", "dip", "play")]] = np.nan
    return read


@dataclass
class _Fit:
    """A fit under way: where every note stands, what is computed there, and the best that was met."""

    bench: Bench
    read: Floats
    error: Floats
    mute: Flags
    amounts: Floats
    figures: Floats
    rise: Floats
    covariance: Floats
    best_amounts: Floats
    best_figures: Floats
    best: Floats
    part: Floats

    @classmethod
    def begun(cls, bench: Bench, read: Floats, error: Floats, mute: Flags) -> _Fit:
        n, figures = len(bench.notes), bench.drawn.values
        amounts = np.zeros((n, len(FITTED)))
        covariance = np.array([np.diag(_PRIOR**2)] * n)
        fit = cls(
            bench, read, error, mute, amounts, figures.copy(), bench.rise.copy(), covariance, amounts.copy(),
            figures.copy(), np.full(n, np.inf), np.ones(n),
        )  # fmt: skip
        fit._keep(np.arange(n))
        return fit

    def step(self, chosen: Ints) -> Ints:
        """Solve, press and learn from what was not foretold; the notes that are to be gone over again."""
        before = self.amounts[chosen].copy()
        for i in chosen:
            found, self.covariance[i] = _solved(
                self.figures[i], self.rise[i], self.amounts[i], self.read[i], self.error[i]
            )
            self.amounts[i] += self.part[i] * (found - self.amounts[i])
        by = self.amounts[chosen] - before
        foretold = self.figures[chosen] + np.einsum("ik,ikf->if", by, self.rise[chosen])
        silent = self.mute[chosen]
        self.figures[chosen[silent]] = foretold[silent]
        self._keep(chosen[silent])
        chosen, by, foretold = chosen[~silent], by[~silent], foretold[~silent]
        there = self.bench.press(chosen.tolist(), self.amounts[chosen]).values
        lost = np.any(np.isnan(there) & np.isfinite(self.read[chosen]) & np.isfinite(foretold), axis=1)
        self.amounts[chosen[lost]] -= by[lost]  # beyond where the note plays: half the way next time
        self.part[chosen] = np.where(lost, self.part[chosen] / 2, 1.0)
        kept = chosen[~lost]
        self.rise[kept] = _bent(self.rise[kept], by[~lost], (there - foretold)[~lost])
        self.figures[kept] = there[~lost]
        self._keep(kept)
        missed = np.nan_to_num(np.abs(there - foretold) / self.error[chosen])
        return np.asarray(chosen[lost | np.any(missed > MET, axis=1)])

    def _keep(self, chosen: Ints) -> None:
        """Remember notes that stand better than they ever did."""
        away = np.nan_to_num(np.abs(self.read[chosen] - self.figures[chosen]) / self.error[chosen])
        cost = np.sum(np.where(away < FAR, away**2, FAR * (2.0 * away - FAR)), axis=1)
        cost += np.sum((self.amounts[chosen] / _PRIOR) ** 2, axis=1)
        better = cost < self.best[chosen]
        self.best[chosen[better]] = cost[better]
        self.best_amounts[chosen[better]] = self.amounts[chosen[better]]
        self.best_figures[chosen[better]] = self.figures[chosen[better]]


def _bent(rise: Floats, by: Floats, missed: Floats) -> Floats:
    """Slopes that would have foretold the figures: the least change of them (Broyden), amounts in their usual sizes."""
    size = np.sum((by / _PRIOR) ** 2, axis=1)
    unit = np.where(size[:, None] > 0.0, by / _PRIOR**2 / np.maximum(size, 1e-12)[:, None], 0.0)
    return np.asarray(rise + unit[:, :, None] * np.nan_to_num(missed)[:, None, :])


def _solved(figures: Floats, rise: Floats, at: Floats, read: Floats, error: Floats) -> tuple[Floats, Floats]:
    """Amounts (kinds,) that meet the readings best beside what is supposed of them, within their bounds; covariance.

    Readings that stand far off count less, the farther they stand (Huber).
    """
    seen = np.isfinite(read) & np.isfinite(figures)
    slope, wanted = (rise[:, seen] / error[seen]).T, (read[seen] - figures[seen]) / error[seen]
    wanted, weight = wanted + slope @ at, np.ones(np.sum(seen))
    for _ in range(REWEIGHED):
        normal = slope.T @ (weight[:, None] * slope) + np.diag(_PRIOR**-2)
        found = _within(normal, slope.T @ (weight * wanted))
        weight = FAR / np.maximum(np.abs(wanted - slope @ found), FAR)
    return found, np.linalg.inv(normal)


def _within(normal: Floats, right: Floats) -> Floats:
    """The solution of the normal equations with what leaves its bounds held at them."""
    free, found = np.ones(len(right), dtype=bool), np.zeros(len(right))
    for _ in range(len(right)):
        held = right[free] - normal[np.ix_(free, ~free)] @ found[~free]
        found[free] = np.linalg.solve(normal[np.ix_(free, free)], held)
        outside = free & ((found < _LOW) | (found > _HIGH))
        if not np.any(outside):
            break
        found, free = np.clip(found, _LOW, _HIGH), free & ~outside
    return found
