"""What was measured at the keys of a case, diagnosed: what all notes share, then what is wrong with single notes."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from scipy.stats import chi2

from keyaction.cases.action.strokes import Strokes
from keyaction.models.readings.figures import NAMES
from keyaction.models.readings.readings import Readings
from keyaction.models.train.train import Train
from keyaction.sim.diagnosis.answers import Answers, Step, quiet
from keyaction.sim.diagnosis.curves import UNKNOWN, code_of, codes
from keyaction.sim.diagnosis.evenness import evenness
from keyaction.sim.diagnosis.evidence import Evidence, Seen, Weighed, total
from keyaction.sim.diagnosis.hypotheses import FEWEST, Hypothesis
from keyaction.sim.diagnosis.neighbours import Drift, Hint, drifts, hints
from keyaction.sim.diagnosis.posterior import Belief, Model, amounts_of, believe_all
from keyaction.sim.diagnosis.shared import Base, base
from keyaction.sim.measuring.computed import as_measured
from keyaction.sim.motion.integrate import Floats

TOLD = 0.7
"""Probability of a fault from which on a note counts as faulty."""
BEYOND = 3.0
"""Standard deviations beyond which a departure is marked."""
_CLEAR, _ODD, _POOR = 0.8, 0.01, 1e-4
"""Probability of no fault above which a first look is enough; chances of what is left below which it is not, and below
which no fault of the table explains a note."""
_LEAST_RIVAL = 1e-5
"""Probability below which a rival of the likeliest fault is not worth a word."""
_PAIRS, _WORTH = 4, 0.02
"""Pairs of faults that are pressed once more, and the probability that makes it worth while."""
_INTERVAL = 0.95
_ROUNDS = 2
"""Rounds in which what all share is looked for, by how evenly the notes of the sheet were seen to stand."""


@dataclass(frozen=True)
class Named:
    """One fault of a cause, with its probability within the note and its amount.

    Attributes
    ----------
    hypothesis : Hypothesis
    probability : float
    amount, low, high : float
        The likeliest, and the interval that holds it with 95 %, SI.
    """

    hypothesis: Hypothesis
    probability: float
    amount: float
    low: float
    high: float


@dataclass(frozen=True)
class Cause:
    """A cause of what a note shows: faults that the figures hardly tell apart, the likeliest first."""

    name: str
    probability: float
    faults: tuple[Named, ...]


@dataclass(frozen=True)
class NoteFound:
    """One note.

    Attributes
    ----------
    note : int
    belief : Belief
    causes : tuple of Cause
        The likeliest first.
    rival : Named, optional
        What the likeliest could be instead, with the probability of that.
    share : (figures,) array
        What was read less what is expected, each by its own standard deviation; NaN where it was not read.
    expected : (figures,) array
        Figures with what all share, as drawn else, SI.
    squared, freedom : float, int
        Chi-squared of the note without a fault, and how many figures were read.
    left : float
        Chi-squared of the likeliest model.
    poor : bool
        Whether no fault of the table explains the note.
    heard, speaks : int
        What it does, and what it would do as drawn.
    """

    note: int
    belief: Belief
    causes: tuple[Cause, ...]
    rival: Named | None
    share: Floats
    expected: Floats
    squared: float
    freedom: int
    left: float
    poor: bool
    heard: int
    speaks: int

    @property
    def faulty(self) -> bool:
        """Whether it is told as faulty."""
        return self.belief.faulty >= TOLD

    @property
    def misread(self) -> str:
        """The figure that should be read again, empty without one."""
        worst = int(np.argmax(self.belief.misread))
        return NAMES[worst] if self.belief.misread[worst] >= 0.5 else ""

    @property
    def unclear(self) -> bool:
        """Whether something is likely enough to look again, but not to be told as a fault."""
        return not self.faulty and not self.misread and (self.belief.none < 0.5 or self.poor)

    @property
    def otherwise(self) -> bool:
        """Whether the sheet has it do something else than it would as drawn."""
        return UNKNOWN not in (self.heard, self.speaks) and self.heard != self.speaks

    @property
    def contradicted(self) -> bool:
        """Whether the word of the sheet stands against its figures, so that no cause is told of it."""
        return self.otherwise and not self.faulty and self.freedom > 0

    @property
    def far(self) -> tuple[str, ...]:
        """Figures that lie far off although the note counts as sound."""
        if self.faulty or self.doubtful:
            return ()
        return tuple(name for name, share in zip(NAMES, np.abs(self.share), strict=True) if share > BEYOND)

    @property
    def doubtful(self) -> bool:
        """Whether something is told of it, but no fault."""
        return not self.faulty and bool(self.unclear or self.misread or self.otherwise)


@dataclass(frozen=True)
class Diagnosis:
    """A sheet, diagnosed.

    Attributes
    ----------
    answers : Answers
    readings : Readings
    base : Base
        What all notes share.
    drifts : tuple of Drift
        Where neighbours lie off alike besides.
    hints : tuple of Hint
    found : tuple of NoteFound
        Rising by note.
    rate : float
        Share of notes with faults that the sheet comes to.
    squares : tuple of float
        Chi-squared of all notes as drawn, with what they share, without drifts, and with their faults; what is
        expected last.
    unpressed : mapping of int to str
        Notes that the model cannot press as drawn, and why.
    seen : tuple of Seen
        What single notes were judged by.
    even : float
        Factor on the variance that a good regulation leaves, as the notes of this sheet scatter.
    asked : tuple of int
        Notes that are told; the others of the sheet count in what is shared and usual alone.
    """

    answers: Answers
    readings: Readings
    base: Base
    drifts: tuple[Drift, ...]
    hints: tuple[Hint, ...]
    found: tuple[NoteFound, ...]
    rate: float
    squares: tuple[float, float, float, float, float]
    unpressed: Mapping[int, str]
    seen: tuple[Seen, ...]
    even: float
    asked: tuple[int, ...]

    @property
    def told(self) -> tuple[NoteFound, ...]:
        """The notes that are told."""
        return tuple(one for one in self.found if one.note in self.asked)

    @property
    def others(self) -> tuple[NoteFound, ...]:
        """The notes that are not."""
        return tuple(one for one in self.found if one.note not in self.asked)

    @property
    def middle(self) -> int:
        """The middle one of the notes that are told."""
        return self.told[len(self.told) // 2].note

    @property
    def nothing(self) -> bool:
        """Whether nothing certain is told; notes can be in doubt."""
        return not self.base.steps and not self.drifts and not any(one.faulty for one in self.told)


def answers_for(
    trains: Mapping[int, Train], readings: Readings, strokes: Strokes, jobs: int = 0, step: Step | None = None
) -> Answers:
    """What is computed for a sheet; it can serve for several sheets of the same notes and figures.

    Parameters
    ----------
    trains : mapping of int to Train
        Of the notes of the case; those that were not measured are left out.
    readings : Readings
    strokes : Strokes
    jobs : int
        Threads; 0 means one per core.
    step : callable, optional
        Told of every piece of work that is done.
    """
    chosen = {note: trains[note] for note in readings.notes if note in trains}
    off = any(name.endswith("_off") for name in readings.figures)
    measured = {note: as_measured(train, readings.head) for note, train in chosen.items()}
    few = len(chosen) < FEWEST
    return Answers(measured, chosen, strokes, off, few, jobs, step or quiet)


def diagnose(answers: Answers, readings: Readings, asked: Sequence[int] | None = None) -> Diagnosis:
    """Diagnose a sheet.

    Parameters
    ----------
    answers : Answers
        Of its notes (`answers_for`).
    readings : Readings
    asked : sequence of int, optional
        Notes that are told, by default all; what is found of them does not hang on it.

    Returns
    -------
    Diagnosis

    Notes
    -----
    Of every note the models of no, one and two faults are weighed by their marginal likelihoods on grids of amounts;
    figures of two faults are those of each, added, and of the likeliest pairs pressed once more. Before that one cause
    for all notes is looked for, with notes astray allowed for: first as they scatter by custom, then as in this sheet.
    """
    drawn = _seen(answers, readings, answers.plain.values, codes(answers.plain))
    good, faulty = ([of(note) for note in answers.notes] for of in (answers.scatter, answers.faulty))
    even = 1.0
    for _ in range(_ROUNDS):
        shared = base(answers, _scattering(drawn, good, even), math.isfinite(readings.head.pressure))
        now = _seen(answers, readings, shared.plain.values, codes(shared.plain))
        now = [replace(one, scatter=one.scatter + more) for one, more in zip(now, shared.uncertain, strict=True)]
        even = evenness(now, good, faulty)
    now = _scattering(now, good, even)
    drifted, after = drifts(answers.notes, now)
    every, evidence = _weigh(answers, after, readings.head.humidity)
    supposed = [[curve.hypothesis for curve in one.curves] for one in every]
    beliefs, rate = believe_all(evidence, supposed, readings.head.humidity)
    found = tuple(
        _note(answers, i, one, belief, shared) for i, (one, belief) in enumerate(zip(every, beliefs, strict=True))
    )
    freedom = float(sum(one.freedom for one in found))
    sums = [float(sum(one.squared for one in part)) for part in (_scattering(drawn, good, even), now, after)]
    unpressed = {note: why for note, why in zip(answers.notes, answers.plain.failed, strict=True) if why}
    return Diagnosis(
        answers, readings, shared, tuple(drifted), tuple(hints(answers.trains, now)), found, rate,
        (sums[0], sums[1], sums[2], float(sum(one.left for one in found)), freedom), unpressed, tuple(after), even,
        answers.notes if asked is None else tuple(note for note in answers.notes if note in asked),
    )  # fmt: skip


def _seen(answers: Answers, readings: Readings, plain: Floats, speaks: Sequence[int]) -> list[Seen]:
    values, errors = readings.values(NAMES, answers.notes), readings.errors(NAMES, answers.notes)
    found = []
    for i, note in enumerate(answers.notes):
        scatter = answers.scatter(note) + np.diag(np.nan_to_num(errors[i], nan=1.0) ** 2)
        heard = code_of(readings.speech, note)
        found.append(Seen(values[i] - plain[i], scatter, np.nan_to_num(errors[i], nan=1.0), heard, speaks[i]))
    return found


def _scattering(seen: Sequence[Seen], good: Sequence[Floats], even: float) -> list[Seen]:
    """Notes that scatter by a factor on the variance that a good regulation leaves."""
    return [replace(one, scatter=one.scatter + (even - 1.0) * own) for one, own in zip(seen, good, strict=True)]


def _weigh(answers: Answers, seen: Sequence[Seen], humidity: float) -> tuple[list[Weighed], list[Evidence]]:
    """Every note against its faults: first as their rises foretell, those in doubt as they are pressed."""
    every = [Weighed(one, answers.straight(note)) for one, note in zip(seen, answers.notes, strict=True)]
    evidence = [one.evidence(pairs=False) for one in every]
    supposed = [[curve.hypothesis for curve in one.curves] for one in every]
    beliefs, _ = believe_all(evidence, supposed, humidity)
    doubtful = [i for i, one in enumerate(every) if _doubtful(one, beliefs[i])]
    curves = answers.curves([answers.notes[i] for i in doubtful])
    for i in doubtful:
        every[i] = Weighed(seen[i], curves[answers.notes[i]])
        evidence[i] = every[i].evidence()
    beliefs, _ = believe_all(evidence, [[curve.hypothesis for curve in one.curves] for one in every], humidity)
    _pressed_pairs(answers, every, evidence, {i: beliefs[i] for i in doubtful})
    return every, evidence


def _doubtful(one: Weighed, belief: Belief) -> bool:
    seen = one.seen
    other = UNKNOWN not in (seen.heard, seen.speaks) and seen.heard != seen.speaks
    return other or belief.none < _CLEAR or float(chi2.sf(seen.squared, max(len(seen.z), 1))) < _ODD


def _pressed_pairs(
    answers: Answers, every: Sequence[Weighed], evidence: list[Evidence], beliefs: Mapping[int, Belief]
) -> None:
    """Likely pairs of faults, pressed together where each alone was added to the other."""
    asked = []
    for i, belief in beliefs.items():
        pairs = [model.faults for model, share in belief.models if len(model.faults) == 2 and share > _WORTH]
        asked += [(i, pair[0], pair[1], *every[i].best_pair(pair[0], pair[1])) for pair in pairs[:_PAIRS]]
    if not asked:
        return
    curves = [(every[i].curves[a], every[i].curves[b]) for i, a, b, _, _ in asked]
    found = answers.at(
        [answers.notes[i] for i, *_ in asked],
        [
            [(one.hypothesis.knob, x), (other.hypothesis.knob, y)]
            for (one, other), (*_, x, y) in zip(curves, asked, strict=True)
        ],
    )
    for row, code, (one, other), (i, a, b, x, y) in zip(found.values, codes(found), curves, asked, strict=True):
        plain = answers.plain.values[i]
        extra = row - plain - one.at(x) - other.at(y)
        seen = replace(every[i].seen, left=every[i].seen.left - np.nan_to_num(extra))
        same = [replace(curve, speech=np.full(len(curve.speech), code)) for curve in (one, other)]
        missing = every[i].seen.there & np.isnan(row) & np.isfinite(one.at(x) + other.at(y))
        both = Weighed(seen, same).double()[: len(one.amounts), len(one.amounts) :]
        log = total(both.ravel()) - 6.0 * float(np.sum(missing))
        evidence[i].two[a, b] = evidence[i].two[b, a] = log


def _note(answers: Answers, i: int, one: Weighed, belief: Belief, shared: Base) -> NoteFound:
    seen, note = one.seen, answers.notes[i]
    left = _left(one, belief.models[0][0])
    used = len(belief.models[0][0].faults) + (belief.models[0][0].misread >= 0)
    freedom = int(np.sum(seen.there))
    chance = float(chi2.sf(left, max(freedom - used, 1))) if freedom else 1.0
    share = seen.left / np.sqrt(np.diag(seen.scatter))
    causes = _causes(one, belief)
    return NoteFound(
        note, belief, causes, _rival(one, belief, causes), share, shared.plain.values[i], seen.squared, freedom, left,
        chance < _POOR, seen.heard, seen.speaks,
    )  # fmt: skip


def _left(one: Weighed, model: Model) -> float:
    """Chi-squared of a model at its best amounts."""
    seen = one.seen.without(model.misread) if model.misread >= 0 else one.seen
    if not model.faults:
        return seen.squared
    change = np.zeros(len(NAMES))
    if len(model.faults) == 2:
        for place, amount in zip(model.faults, one.best_pair(*model.faults), strict=True):
            change = change + one.curves[place].at(amount)
    else:
        (place,) = model.faults
        alone = Weighed(seen, [one.curves[place]])
        change = change + alone.change[int(np.argmax(alone.single(seen)))]
    points, _ = seen.whitened(change[None, :])
    return float(np.sum((seen.z - points[0]) ** 2))


def _causes(one: Weighed, belief: Belief) -> tuple[Cause, ...]:
    """Causes that have any probability, the likeliest first."""
    groups: dict[str, list[int]] = {}
    for i, curve in enumerate(one.curves):
        groups.setdefault(curve.hypothesis.fault.cause, []).append(i)
    found = []
    for name, places in groups.items():
        shares = {i: float(belief.faults[i]) for i in places}
        whole = sum(shares.values())
        if whole < 1e-3:
            continue
        chosen = sorted((i for i in places if shares[i] >= 0.02 * whole), key=lambda i: -shares[i])
        found.append(Cause(name, min(whole, 1.0), tuple(_named(one, belief, i, shares[i]) for i in chosen[:4])))
    return tuple(sorted(found, key=lambda cause: -cause.probability))


def _rival(one: Weighed, belief: Belief, causes: Sequence[Cause]) -> Named | None:
    """What the first cause could be instead, beside whatever else the likeliest model has.

    Another part of the same cause stands for the first; another cause counts in models without the first.
    """
    faulty = next((model for model, _ in belief.models if model.faults), None)
    if faulty is None or not causes:
        return None
    cause = [curve.hypothesis.fault.cause for curve in one.curves]
    lead = causes[0].faults[0].hypothesis
    first = next(i for i, curve in enumerate(one.curves) if curve.hypothesis is lead)
    beside = next((i for i in faulty.faults if cause[i] != cause[first]), None) if len(faulty.faults) > 1 else None
    shares: dict[int, float] = {}
    for model, share in belief.models:
        own = any(cause[i] == cause[first] for i in model.faults)
        for i in model.faults:
            if first not in model.faults and own == (cause[i] == cause[first]):
                shares[i] = shares.get(i, 0.0) + share
    chosen = [i for i in shares if beside is None or cause[i] != cause[beside]]
    best = max(chosen, key=lambda i: shares[i], default=None)
    return None if best is None or shares[best] < _LEAST_RIVAL else _at(one, best, shares[best], beside)


def _named(one: Weighed, belief: Belief, place: int, share: float) -> Named:
    best = next((model for model, _ in belief.models if place in model.faults), Model((place,)))
    return _at(one, place, share, next((i for i in best.faults if i != place), None))


def _at(one: Weighed, place: int, share: float, beside: int | None) -> Named:
    """One fault with its amount, alone or beside another."""
    spread = amounts_of(one, place, beside)
    amounts, below = one.curves[place].amounts, np.cumsum(spread)
    tail = (1.0 - _INTERVAL) / 2
    first, last = (amounts[min(int(np.searchsorted(below, at)), len(amounts) - 1)] for at in (tail, 1.0 - tail))
    return Named(
        one.curves[place].hypothesis, share, float(np.sum(spread * amounts)), float(min(first, last)),
        float(max(first, last)),
    )  # fmt: skip
