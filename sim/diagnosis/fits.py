"""How well a cause that notes share fits them, some of them astray: its best amount and its marginal likelihood."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from keyaction.models.readings.figures import NAMES
from keyaction.sim.diagnosis.answers import Answers
from keyaction.sim.diagnosis.candidates import MOST, Candidate
from keyaction.sim.diagnosis.evidence import UNREAD, Seen, total
from keyaction.sim.motion.integrate import Floats

ASTRAY = 0.1
"""Share of notes that may have faults of their own while what all share is looked for (assumed)."""
_COARSE, _FINE = 81, 25
NEAR = 0.3
"""Errors of an amount within which another is no other."""
_AS_FORETOLD = 1.0
"""Logarithm of a likelihood by which a press may differ from what was interpolated."""
_MOST_ROUNDS = 8


@dataclass(frozen=True)
class _Scatter:
    """What whitens all notes at once: matrices (n, figures, figures), what is left of each, factors of densities."""

    whiten: Floats
    z: Floats
    log_norm: Floats

    @classmethod
    def of(cls, seen: Sequence[Seen]) -> _Scatter:
        whole = np.zeros((len(seen), len(NAMES), len(NAMES)))
        z = np.zeros((len(seen), len(NAMES)))
        for i, one in enumerate(seen):
            there = np.flatnonzero(one.there)
            whole[i][np.ix_(there, there)] = one.whiten
            z[i, there] = one.z
        return cls(whole, z, np.array([one.log_norm for one in seen]))

    def fits(self, change: Floats) -> Floats:
        """Logarithms (n, m) of the density of every note with changes (n, m, figures)."""
        apart = self.z[:, None, :] - change @ self.whiten.transpose(0, 2, 1)
        return np.asarray(self.log_norm[:, None] - 0.5 * np.einsum("nmf,nmf->nm", apart, apart))


@dataclass(frozen=True)
class Notes:
    """All notes of a sheet side by side, as they scatter where they are sound and where they are astray.

    Attributes
    ----------
    left : (n, figures) array
        What was read less what is computed, SI; NaN where it was not read.
    sound, astray : _Scatter
    """

    left: Floats
    sound: _Scatter
    astray: _Scatter

    @classmethod
    def of(cls, now: Sequence[Seen], answers: Answers) -> Notes:
        """Of what single notes show."""
        faulty = [answers.faulty(note) for note in answers.notes]
        wide = [replace(one, scatter=one.scatter + more) for one, more in zip(now, faulty, strict=True)]
        left = np.array([one.left for one in now]).reshape(len(now), len(NAMES))
        return cls(left, _Scatter.of(now), _Scatter.of(wide))

    def likelihood(self, change: Floats) -> Floats:
        """Logarithm (m,) of how likely all notes are with each change (n, m, figures), some of them astray.

        A figure that is read although it should not be there counts as met otherwise, at a cost (`Seen.whitened`).
        """
        there = np.isfinite(self.left)[:, None, :]
        odd = there & ~np.isfinite(change)
        filled = np.where(odd, self.left[:, None, :], np.where(there, change, 0.0))
        sound, astray = self.sound.fits(filled), self.astray.fits(filled)
        each = np.logaddexp(math.log1p(-ASTRAY) + sound, math.log(ASTRAY) + astray)
        return np.asarray(np.sum(each + UNREAD * np.sum(odd, axis=2), axis=0))


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


def fit(one: Candidate, notes: Notes) -> Fit:
    """The best amount and the marginal likelihood, by quadrature."""
    end = float(one.amounts[-1])
    grid = np.unique(np.abs([*np.linspace(end / _COARSE, end, _COARSE), *one.amounts[1:]])) * np.sign(end)
    logs = notes.likelihood(one.at(grid)) + one.log_prior(grid)
    for _ in range(2):
        top = int(np.argmax(logs))
        low, high = grid[max(top - 1, 0)] * (0.2 if top == 0 else 1.0), grid[min(top + 1, len(grid) - 1)]
        more = np.linspace(low, high, _FINE)[1:-1]
        grid = np.concatenate([grid, more])
        logs = np.concatenate([logs, notes.likelihood(one.at(more)) + one.log_prior(more)])
        order = np.argsort(np.abs(grid))
        grid, logs = grid[order], logs[order]
    width = np.abs(np.gradient(grid))
    whole = total(logs + np.log(np.maximum(width, 1e-300)))
    share = np.exp(logs - whole) * width
    mean = float(np.sum(share * grid) / np.sum(share))
    error = math.sqrt(float(np.sum(share * (grid - mean) ** 2)))
    return Fit(one, float(grid[int(np.argmax(logs))]), error, whole)


def sharper(one: Fit, notes: Notes, answers: Answers, most: int = MOST) -> Fit:
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
    foretold, found = (float(notes.likelihood(each.at(at))[0]) for each in (one.candidate, more))
    return replace(fit(more, notes), straight=abs(found - foretold) < _AS_FORETOLD)


def settled(one: Fit, notes: Notes, answers: Answers) -> Fit:
    """The same, every note pressed at the best amount, until it stays."""
    most = len(answers.notes)
    whole = replace(one, straight=False, sure=False)
    if most > MOST:
        whole = replace(whole, candidate=one.candidate.away(one.amount))
    for _ in range(_MOST_ROUNDS):
        if whole.sure:
            break
        whole = sharper(whole, notes, answers, most)
    return whole
