"""What the notes of a sheet share: one cause for all of them, before anything is said of a single note."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from keyaction.models.readings.figures import NAMES, RULER
from keyaction.sim.diagnosis.answers import Answers
from keyaction.sim.diagnosis.evidence import Seen, total
from keyaction.sim.diagnosis.faults import Fault
from keyaction.sim.diagnosis.hypotheses import FEWEST, common, linear_in
from keyaction.sim.measuring.computed import Computed
from keyaction.sim.measuring.knobs import KINDS
from keyaction.sim.motion.integrate import Floats

CHANCE = 0.1
"""How likely beforehand the notes share a further cause (assumed)."""
FOUND = 0.9
"""How likely a common cause must be to be told."""
_GLANCE = 0.1
"""The same after a first look, by rises at nothing alone, for a second one by presses to be worth while."""
AT_ONCE = 3
"""Common causes that are looked for."""
ASTRAY = 0.1
"""Share of notes that may have faults of their own while what all share is looked for (assumed)."""
ONE_SIDE = 0.1
"""How likely a cause is to be one of a side of the chest alone, beside one of all notes (assumed)."""
DATUM = 5.0 * RULER
"""m: usual shift of a straightedge."""
_PRESSED = {
    "stops": (-2.0, -1.0, 1.0, 1.5, 2.0, 3.0, 4.0),
    "nut": (-3.0, -1.5, -0.75, 1.5),
    "length": (-4.0, -2.0, -1.0, 2.0),
    "rest": (-3.0, -1.5, -0.75, 1.5),
    "frame": (-3.0, -1.5, 0.75, 1.5, 3.0),
}
"""Kinds whose figures do not follow in proportion: amounts at which they are pressed, in what is usual."""
_SIDED = ("nut", "length", "rubbing", "pressure")
_MOST, _COARSE, _FARTHEST = 14, 81, 8.0
_PASSES = 2
"""How often the amounts of several causes are fitted beside each other."""
_SHARPER, _LIKELIEST, _SAME = 2, 4, 0.02
"""Rounds in which the likeliest are pressed at their best amounts too, how many, and what is no other amount."""


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
    """

    fault: Fault
    side: str
    amount: float
    error: float
    probability: float

    @property
    def cause(self) -> tuple[str, str]:
        """What it counts as."""
        return self.fault.cause, self.side


@dataclass(frozen=True)
class Step:
    """One step of the search: what was found, and what else it could be, most likely first."""

    found: Common
    ranked: tuple[Common, ...]


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
    """

    steps: tuple[Step, ...]
    plain: Computed
    uncertain: Floats


@dataclass(frozen=True)
class _Candidate:
    fault: Fault
    side: str
    amounts: Floats
    """Where the changes are known, from 0 on."""
    change: Floats
    """(n, amounts, figures)."""

    @property
    def usual(self) -> float:
        return KINDS[self.fault.kind].usual if self.fault.kind else DATUM

    def at(self, amounts: Floats) -> Floats:
        """(n, m, figures): interpolated; a figure that is unknown at one end is so in its half of the gap."""
        places, wanted = np.abs(self.amounts), np.abs(amounts)
        known = np.nan_to_num(self.change)
        right = np.clip(np.searchsorted(places, wanted), 1, len(places) - 1)
        share = np.clip((wanted - places[right - 1]) / (places[right] - places[right - 1]), 0.0, 1.0)[None, :, None]
        a, b = self.change[:, right - 1], self.change[:, right]
        mixed = (1.0 - share) * known[:, right - 1] + share * known[:, right]
        near = np.where(share < 0.5, a, b)
        other = np.where(np.isfinite(a) & np.isfinite(b), mixed, near)
        return np.asarray(other)

    def pressed_at(self, amount: float, answers: Answers) -> _Candidate:
        """The same with one more amount, pressed: between two of them a note may lose its play, or a figure."""
        if self.fault.kind not in _PRESSED or np.min(np.abs(self.amounts - amount)) < _SAME * abs(amount):
            return self
        more = answers.shared_at(self.fault.kind, [amount], _MOST)
        if self.side:
            more = more * on_side(self.side, answers.notes)[:, None, None]
        at = int(np.searchsorted(np.abs(self.amounts), abs(amount)))
        return replace(
            self,
            amounts=np.insert(self.amounts, at, amount),
            change=np.concatenate([self.change[:, :at], more, self.change[:, at:]], axis=1),
        )

    def log_prior(self, amounts: Floats) -> Floats:
        """Logarithm of the density of amounts beforehand; see `Hypothesis.log_prior`."""
        x = np.abs(amounts) / self.usual
        return np.asarray(np.log(2.0 * x / self.usual) - 2.0 * np.log1p(x**2))


def base(answers: Answers, seen: Sequence[Seen], pressure_known: bool) -> Base:
    """Look for what the notes share, cause after cause.

    Parameters
    ----------
    answers : Answers
    seen : sequence of Seen
        Of every note as drawn.
    pressure_known : bool
        Whether the sheet says the pressure, so that it hardly explains anything any more.
    """
    figures = len(NAMES)
    found = Base((), answers.plain, np.zeros((len(seen), figures, figures)))
    if len(seen) < FEWEST:
        return found
    if _step(_candidates(answers, pressed=False), answers, seen, pressure_known)[2] < _GLANCE:
        return found
    candidates = _candidates(answers, pressed=True)
    now, causes = list(seen), list[tuple[Step, _Candidate]]()
    for _ in range(AT_ONCE):
        taken = {one.found.cause for one in found.steps}
        left = [one for one in candidates if (one.fault.cause, one.side) not in taken]
        step, candidate, _ = _step(left, answers, now, pressure_known, _SHARPER)
        if step is None or candidate is None:
            return found
        causes = _refitted(answers, seen, [*causes, (step, candidate)])
        steps = tuple(one for one, _ in causes)
        plain = _with(answers, steps)
        found = Base(steps, plain, np.sum([_uncertain(*one) for one in causes], axis=0))
        now = _beside(answers, seen, plain)
    return found


def _refitted(
    answers: Answers, seen: Sequence[Seen], causes: list[tuple[Step, _Candidate]]
) -> list[tuple[Step, _Candidate]]:
    """Causes with the amount of each fitted beside the others: one that was found first has taken some of theirs."""
    for _ in range(_PASSES if len(causes) > 1 else 0):
        for i, (step, candidate) in enumerate(causes):
            others = [one for k, (one, _) in enumerate(causes) if k != i]
            now = _beside(answers, seen, _with(answers, others))
            sharp = candidate.pressed_at(step.found.amount, answers)
            amount, error, _ = _fit(sharp, now, _wide(now, answers))
            new = replace(step.found, amount=amount, error=error)
            ranked = tuple(new if one.cause == new.cause else one for one in step.ranked)
            causes[i] = Step(new, ranked), sharp
    return causes


def _uncertain(step: Step, candidate: _Candidate) -> Floats:
    """Covariance (n, figures, figures) that the amount of a cause leaves."""
    slope = candidate.at(np.array([step.found.amount, step.found.amount + step.found.error]))
    rise = np.nan_to_num(slope[:, 1] - slope[:, 0])
    return np.asarray(rise[:, :, None] * rise[:, None, :])


def _beside(answers: Answers, seen: Sequence[Seen], plain: Computed) -> list[Seen]:
    """Notes against other figures than those as drawn."""
    apart = answers.plain.values - plain.values
    return [replace(one, left=one.left + row) for one, row in zip(seen, apart, strict=True)]


def _wide(now: Sequence[Seen], answers: Answers) -> list[Seen]:
    """Notes as they scatter with faults of their own."""
    return [
        replace(one, scatter=one.scatter + answers.faulty(note)) for one, note in zip(now, answers.notes, strict=True)
    ]


def _candidates(answers: Answers, pressed: bool) -> list[_Candidate]:
    found = []
    for fault in common(answers.kinds):
        one = _candidate(answers, fault, pressed)
        found.append(one)
        if fault.kind in _SIDED:
            found += [_on(side, one, answers.notes) for side in ("C", "C#") if _sided(side, answers.notes)]
    return found


def _sided(side: str, notes: Sequence[int]) -> bool:
    there = on_side(side, notes)
    return bool(min(np.sum(there), np.sum(~there)) >= FEWEST)


def on_side(side: str, notes: Sequence[int]) -> NDArray[np.bool_]:
    """Which notes stand on a side of a chest in whole tones: C, D, E ... or C#, D#, F ..."""
    return np.array([note % 2 == (0 if side == "C" else 1) for note in notes])


def _on(side: str, one: _Candidate, notes: Sequence[int]) -> _Candidate:
    return replace(one, side=side, change=one.change * on_side(side, notes)[:, None, None])


def _candidate(answers: Answers, fault: Fault, pressed: bool) -> _Candidate:
    n, figures = len(answers.notes), len(NAMES)
    if not fault.kind:
        amounts = fault.sign * DATUM * np.array([0.0, _FARTHEST])
        change = np.zeros((n, 2, figures))
        change[:, :, NAMES.index("level")] = amounts
        return _Candidate(fault, "", amounts, change)
    about = KINDS[fault.kind]
    if pressed and fault.kind in _PRESSED:
        every = [one * about.usual for one in _PRESSED[fault.kind]]
        change = answers.shared(fault.kind, every, _MOST)
        chosen = sorted((i for i, one in enumerate(every) if one * fault.sign > 0.0), key=lambda i: abs(every[i]))
        amounts = np.array([0.0, *(every[i] for i in chosen)])
        return _Candidate(fault, "", amounts, np.concatenate([np.zeros((n, 1, figures)), change[:, chosen]], axis=1))
    most = min(abs(about.high if fault.sign > 0 else about.low), _FARTHEST * about.usual)
    amounts = fault.sign * most * np.linspace(0.0, 1.0, 25 if about.log else 2)
    rise = np.array([_or_nothing(answers.rise(note, fault.kind)) for note in answers.notes])
    return _Candidate(fault, "", amounts, rise[:, None, :] * linear_in(fault.kind, amounts)[None, :, None])


def _or_nothing(rise: Floats | None) -> Floats:
    return np.zeros(len(NAMES)) if rise is None else rise


def _step(
    candidates: Sequence[_Candidate], answers: Answers, now: Sequence[Seen], pressure_known: bool, sharper: int = 0
) -> tuple[Step | None, _Candidate | None, float]:
    """The likeliest further cause, if it is likely enough, and how likely there is one at all."""
    wide = _wide(now, answers)
    raw = np.array([_weight(one, pressure_known) for one in candidates])
    log_weights = np.log(CHANCE * raw / np.sum(raw))
    nothing = math.log1p(-CHANCE) + float(_likelihood(now, wide, np.zeros((len(now), 1, len(NAMES))))[0])
    candidates = list(candidates)
    fits = [_fit(one, now, wide) for one in candidates]
    logs = np.array([fit[2] for fit in fits]) + log_weights
    for _ in range(sharper):
        for i in np.argsort(-logs)[:_LIKELIEST]:
            if (more := candidates[i].pressed_at(fits[i][0], answers)) is not candidates[i]:
                candidates[i], fits[i] = more, _fit(more, now, wide)
                logs[i] = fits[i][2] + log_weights[i]
    whole = total([nothing, *logs])
    ranked = sorted(
        (
            (Common(one.fault, one.side, fit[0], fit[1], math.exp(log - whole)), one)
            for one, fit, log in zip(candidates, fits, logs, strict=True)
        ),
        key=lambda pair: -pair[0].probability,
    )
    likely = 1.0 - math.exp(nothing - whole)
    if likely < FOUND:
        return None, None, likely
    return Step(ranked[0][0], tuple(one for one, _ in ranked[:6])), ranked[0][1], likely


def _weight(one: _Candidate, pressure_known: bool) -> float:
    found = one.fault.weight * (ONE_SIDE if one.side else 1.0)
    return found * (0.03 if pressure_known and one.fault.kind == "pressure" else 1.0)


def _fit(one: _Candidate, now: Sequence[Seen], wide: Sequence[Seen]) -> tuple[float, float, float]:
    """Best amount, its standard deviation, and the logarithm of the marginal likelihood, by quadrature."""
    end = float(one.amounts[-1])
    grid = np.linspace(end / _COARSE, end, _COARSE)
    logs = _likelihood(now, wide, one.at(grid)) + one.log_prior(grid)
    for _ in range(2):
        top = int(np.argmax(logs))
        low, high = grid[max(top - 1, 0)] * (0.2 if top == 0 else 1.0), grid[min(top + 1, len(grid) - 1)]
        more = np.linspace(low, high, 25)[1:-1]
        grid = np.concatenate([grid, more])
        logs = np.concatenate([logs, _likelihood(now, wide, one.at(more)) + one.log_prior(more)])
        order = np.argsort(np.abs(grid))
        grid, logs = grid[order], logs[order]
    width = np.abs(np.gradient(grid))
    whole = total(logs + np.log(width))
    share = np.exp(logs - whole) * width
    mean = float(np.sum(share * grid) / np.sum(share))
    return float(grid[int(np.argmax(logs))]), math.sqrt(float(np.sum(share * (grid - mean) ** 2))), whole


def _likelihood(now: Sequence[Seen], wide: Sequence[Seen], change: Floats) -> Floats:
    """Logarithm (m,) of how likely all notes are with each change (n, m, figures), some of them astray."""
    found = np.zeros(change.shape[1])
    for one, other, moved in zip(now, wide, change, strict=True):
        found += np.logaddexp(math.log1p(-ASTRAY) + _fits(one, moved), math.log(ASTRAY) + _fits(other, moved))
    return found


def _fits(seen: Seen, moved: Floats) -> Floats:
    points, cost = seen.whitened(moved)
    apart = seen.z - points
    return np.asarray(seen.log_norm - 0.5 * np.einsum("ij,ij->i", apart, apart) + cost)


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
