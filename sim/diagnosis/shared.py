"""What the notes of a sheet share: one cause for all of them, before anything is said of a single note."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from keyaction.models.readings.figures import NAMES
from keyaction.sim.diagnosis.answers import Answers
from keyaction.sim.diagnosis.candidates import Candidate, candidates, on_side
from keyaction.sim.diagnosis.evidence import Seen, total
from keyaction.sim.diagnosis.faults import Fault
from keyaction.sim.diagnosis.fits import Fit, Notes, fit, settled, sharper
from keyaction.sim.diagnosis.hypotheses import FEWEST
from keyaction.sim.diagnosis.parted import LEAST, STRONG
from keyaction.sim.measuring.computed import Computed
from keyaction.sim.motion.integrate import Floats

CHANCE = 0.1
"""How likely beforehand the notes share a further cause (assumed)."""
FOUND = 0.9
"""How likely a common cause must be to be told."""
_GLANCE = 0.1
"""The same after a first look, by rises at nothing alone, for a second one by presses to be worth while."""
AT_ONCE = 3
"""Common causes that are looked for."""
ONE_SIDE = 0.1
"""How likely a cause is to be one of a side of the chest alone, beside one of all notes (assumed)."""
_PASSES = 2
"""How often the amounts of several causes are fitted beside each other."""
_SHARPER, _LIKELIEST = 12, 4
"""Rounds at most in which the likeliest are pressed at their best amounts too, and how many."""
_SIDE_NEAR = 20.0
"""Logarithm of odds within which a cause of one side of the chest is worth pressing: all notes show its curve."""
_KEPT = 6
"""Causes that are kept of a step."""


@dataclass(frozen=True)
class Common:
    """One cause that notes share.

    Attributes
    ----------
    fault : Fault
    side : str
        "C" or "C#" where only the notes of that side share it; empty of all.
    amount, error : float
        SI, with its standard deviation; of the straightedge m.
    probability : float
        Beside none and all others.
    log : float
        Logarithm of its marginal likelihood, custom left out, up to a constant of the step.
    """

    fault: Fault
    side: str
    amount: float
    error: float
    probability: float
    log: float

    @property
    def cause(self) -> tuple[str, str]:
        """What it counts as."""
        return self.fault.cause, self.side


@dataclass(frozen=True)
class Step:
    """One step of the search: what was found, and what else it could be, most likely first."""

    found: Common
    ranked: tuple[Common, ...]

    @property
    def sharing(self) -> tuple[Common, ...]:
        """What the figures do not part from what was found (`keyaction.sim.diagnosis.parted`), most likely first."""
        found: dict[tuple[str, str], Common] = {}
        for one in self.ranked:
            if one.cause != self.found.cause and one.log > self.found.log - STRONG and one.probability >= LEAST:
                found.setdefault(one.cause, one)
        return tuple(found.values())


@dataclass(frozen=True)
class Base:
    """What all notes share, and the figures with it.

    Attributes
    ----------
    steps : tuple of Step
    plain : Computed
        Figures of every note with what all share; levels counted from the drawing.
    uncertain : (n, figures, figures) array
        Covariance that the amounts leave.
    known : tuple of Candidate
        What was pressed, which a second search need not press again.
    """

    steps: tuple[Step, ...]
    plain: Computed
    uncertain: Floats
    known: tuple[Candidate, ...] = ()


def base(answers: Answers, seen: Sequence[Seen], pressure_known: bool, known: Sequence[Candidate] = ()) -> Base:
    """Look for what the notes share, cause after cause.

    Parameters
    ----------
    answers : Answers
    seen : sequence of Seen
        Of every note as drawn.
    pressure_known : bool
        Whether the sheet says the pressure, so that it hardly explains anything any more.
    known : sequence of Candidate
        Of a search before, if there was one.
    """
    figures = len(NAMES)
    found = Base((), answers.plain, np.zeros((len(seen), figures, figures)), tuple(known))
    if len(seen) < FEWEST:
        return found
    if _ranked(candidates(answers, pressed=False), answers, seen, pressure_known).likely < _GLANCE:
        return found
    supposed = list(known or candidates(answers, pressed=True))
    now, causes = list(seen), list[tuple[Step, Fit]]()
    for _ in range(AT_ONCE):
        taken = {(one.candidate.fault.cause, one.candidate.side) for _, one in causes}
        kept = [one for one in supposed if (one.fault.cause, one.side) in taken]
        left = [one for one in supposed if (one.fault.cause, one.side) not in taken]
        ranked = _ranked(left, answers, now, pressure_known, _SHARPER)
        supposed = [*kept, *(one.candidate for one in ranked.fits)]
        found = replace(found, known=tuple(supposed))
        if ranked.likely < FOUND:
            return found
        causes = _refitted(
            answers, seen, [*causes, (ranked.step, settled(ranked.best, Notes.of(now, answers), answers))]
        )
        steps = tuple(_as_fitted(*one) for one in causes)
        plain = _with(answers, steps)
        found = replace(
            found, steps=steps, plain=plain, uncertain=np.sum([_uncertain(one) for _, one in causes], axis=0)
        )
        now = _beside(answers, seen, plain)
    return found


def _as_fitted(step: Step, fitted: Fit) -> Step:
    """The step with the amount of what was found as it was fitted last."""
    new = replace(step.found, amount=fitted.amount, error=fitted.error)
    same = (new.fault, new.side)
    return Step(new, tuple(new if (one.fault, one.side) == same else one for one in step.ranked))


def _refitted(answers: Answers, seen: Sequence[Seen], causes: list[tuple[Step, Fit]]) -> list[tuple[Step, Fit]]:
    """Causes with the amount of each fitted beside the others: one that was found first has taken some of theirs."""
    for _ in range(_PASSES if len(causes) > 1 else 0):
        for i, (step, fitted) in enumerate(causes):
            others = [_as_fitted(*one) for k, one in enumerate(causes) if k != i]
            now = _beside(answers, seen, _with(answers, others))
            notes = Notes.of(now, answers)
            causes[i] = step, settled(fit(fitted.candidate, notes), notes, answers)
    return causes


def _uncertain(fitted: Fit) -> Floats:
    """Covariance (n, figures, figures) that the amount of a cause leaves."""
    slope = fitted.candidate.at(np.array([fitted.amount, fitted.amount + fitted.error]))
    rise = np.nan_to_num(slope[:, 1] - slope[:, 0])
    return np.asarray(rise[:, :, None] * rise[:, None, :])


def _beside(answers: Answers, seen: Sequence[Seen], plain: Computed) -> list[Seen]:
    """Notes against other figures than those as drawn."""
    apart = answers.plain.values - plain.values
    return [replace(one, left=one.left + row) for one, row in zip(seen, apart, strict=True)]


@dataclass(frozen=True)
class _Ranked:
    """Causes at their best amounts, the likeliest first, and how likely there is any."""

    step: Step
    fits: tuple[Fit, ...]
    likely: float

    @property
    def best(self) -> Fit:
        return self.fits[0]


def _ranked(
    supposed: Sequence[Candidate], answers: Answers, now: Sequence[Seen], pressure_known: bool, rounds: int = 0
) -> _Ranked:
    """Further causes, weighed; the likeliest of them pressed at their best amounts until these stay."""
    notes = Notes.of(now, answers)
    raw = np.array([_weight(one, pressure_known) for one in supposed])
    log_weights = np.log(CHANCE * raw / np.sum(raw))
    nothing = math.log1p(-CHANCE) + float(notes.likelihood(np.zeros((len(now), 1, len(NAMES))))[0])
    fits = [fit(one, notes) for one in supposed]
    for _ in range(rounds):
        logs = np.array([one.log for one in fits]) + log_weights
        there = [i for i, one in enumerate(fits) if not one.candidate.side or logs[i] > np.max(logs) - _SIDE_NEAR]
        likeliest = sorted(there, key=lambda i: -logs[i])[:_LIKELIEST]
        if all(fits[i].sure for i in likeliest):
            break
        for i in likeliest:
            fits[i] = sharper(fits[i], notes, answers)
    logs = np.array([one.log for one in fits]) + log_weights
    whole = total([nothing, *logs])
    ranked = np.argsort(-logs)
    told = [_common(fits[k], math.exp(logs[k] - whole)) for k in ranked[:_KEPT]]
    return _Ranked(Step(told[0], tuple(told)), tuple(fits[k] for k in ranked), 1.0 - math.exp(nothing - whole))


def _common(one: Fit, probability: float) -> Common:
    return Common(one.candidate.fault, one.candidate.side, one.amount, one.error, probability, one.log)


def _weight(one: Candidate, pressure_known: bool) -> float:
    found = one.fault.weight * (ONE_SIDE if one.side else 1.0)
    return found * (0.03 if pressure_known and one.fault.kind == "pressure" else 1.0)


def _with(answers: Answers, steps: Sequence[Step]) -> Computed:
    """Figures with what was found so far."""
    whole = [(one.found.fault.kind, one.found.amount) for one in steps if one.found.fault.kind and not one.found.side]
    found = answers.all_at(whole) if whole else answers.plain
    values, speech, failed = found.values.copy(), list(found.verdicts), list(found.failed)
    for side in ("C", "C#"):
        more = [(one.found.fault.kind, one.found.amount) for one in steps if one.found.side == side]
        if not more:
            continue
        there = np.flatnonzero(on_side(side, answers.notes))
        other = answers.all_at([*whole, *more], [answers.notes[i] for i in there])
        values[there] = other.values
        for i, verdict, reason in zip(there, other.verdicts, other.failed, strict=True):
            speech[i], failed[i] = verdict, reason
    for one in steps:
        if not one.found.fault.kind:
            values[:, NAMES.index("level")] += one.found.amount
    return Computed(values, tuple(speech), tuple(failed))
