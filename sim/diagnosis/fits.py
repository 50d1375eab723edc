"""How well a cause that notes share fits them, some of them astray: its best amount and its marginal likelihood."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from keyaction.sim.diagnosis.answers import Answers
from keyaction.sim.diagnosis.candidates import MOST, Candidate
from keyaction.sim.diagnosis.evidence import Seen, total
from keyaction.sim.motion.integrate import Floats

ASTRAY = 0.1
"""Share of notes that may have faults of their own while what all share is looked for (assumed)."""
_COARSE, _FINE = 81, 25
NEAR = 0.3
"""Errors of an amount within which another is no other."""
_AS_FORETOLD = 1.0
"""Logarithm of a likelihood by which a press may differ from what was interpolated."""
_MOST_ROUNDS = 8


def wide(now: Sequence[Seen], answers: Answers) -> list[Seen]:
    """Notes as they scatter with faults of their own."""
    return [
        replace(one, scatter=one.scatter + answers.faulty(note)) for one, note in zip(now, answers.notes, strict=True)
    ]


@dataclass(frozen=True)
class Fit:
    """A cause at the amount that fits best.

    Attributes
    ----------
    candidate : Candidate
    amount, error : float
        SI, with its standard deviation.
    log : float
        Logarithm of the marginal likelihood; custom has no part in it.
    straight, sure : bool
        Whether the last press came out as it was interpolated; whether pressing more often would change nothing.
    """

    candidate: Candidate
    amount: float
    error: float
    log: float
    straight: bool = False
    sure: bool = False


def fit(one: Candidate, now: Sequence[Seen], wide: Sequence[Seen]) -> Fit:
    """The best amount and the marginal likelihood, by quadrature."""
    end = float(one.amounts[-1])
    grid = np.unique(np.abs([*np.linspace(end / _COARSE, end, _COARSE), *one.amounts[1:]])) * np.sign(end)
    logs = likelihood(now, wide, one.at(grid)) + one.log_prior(grid)
    for _ in range(2):
        top = int(np.argmax(logs))
        low, high = grid[max(top - 1, 0)] * (0.2 if top == 0 else 1.0), grid[min(top + 1, len(grid) - 1)]
        more = np.linspace(low, high, _FINE)[1:-1]
        grid = np.concatenate([grid, more])
        logs = np.concatenate([logs, likelihood(now, wide, one.at(more)) + one.log_prior(more)])
        order = np.argsort(np.abs(grid))
        grid, logs = grid[order], logs[order]
    width = np.abs(np.gradient(grid))
    whole = total(logs + np.log(np.maximum(width, 1e-300)))
    share = np.exp(logs - whole) * width
    mean = float(np.sum(share * grid) / np.sum(share))
    error = math.sqrt(float(np.sum(share * (grid - mean) ** 2)))
    return Fit(one, float(grid[int(np.argmax(logs))]), error, whole)


def sharper(one: Fit, now: Sequence[Seen], wide: Sequence[Seen], answers: Answers, most: int = MOST) -> Fit:
    """The same with one more amount pressed: the best, or where a straight line about it may be wrong.

    As where notes lose their play. It is sure where a press came out as it was interpolated, or gaps are narrow.
    """
    if one.sure:
        return one
    amount = one.candidate.next_to(one.amount, NEAR * one.error, one.straight)
    if not math.isfinite(amount):
        return replace(one, sure=True)
    more = one.candidate.pressed_at(amount, answers, most)
    at = np.array([amount])
    foretold, found = (float(likelihood(now, wide, each.at(at))[0]) for each in (one.candidate, more))
    return replace(fit(more, now, wide), straight=abs(found - foretold) < _AS_FORETOLD)


def settled(one: Fit, now: Sequence[Seen], wide: Sequence[Seen], answers: Answers) -> Fit:
    """The same, every note pressed at the best amount, until it stays."""
    most = len(answers.notes)
    whole = replace(one, straight=False, sure=False)
    if most > MOST:
        whole = replace(whole, candidate=one.candidate.away(one.amount))
    for _ in range(_MOST_ROUNDS):
        if whole.sure:
            break
        whole = sharper(whole, now, wide, answers, most)
    return whole


def likelihood(now: Sequence[Seen], wide: Sequence[Seen], change: Floats) -> Floats:
    """Logarithm (m,) of how likely all notes are with each change (n, m, figures), some of them astray."""
    found = np.zeros(change.shape[1])
    for one, other, moved in zip(now, wide, change, strict=True):
        found += np.logaddexp(math.log1p(-ASTRAY) + _fits(one, moved), math.log(ASTRAY) + _fits(other, moved))
    return found


def _fits(seen: Seen, moved: Floats) -> Floats:
    points, cost = seen.whitened(moved)
    apart = seen.z - points
    return np.asarray(seen.log_norm - 0.5 * np.einsum("ij,ij->i", apart, apart) + cost)
