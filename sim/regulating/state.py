"""How every note stands, from its readings: amounts of what can be turned or be wrong, by least squares with priors."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from keyaction.models.readings.figures import NAMES
from keyaction.models.readings.readings import Readings
from keyaction.sim.motion.integrate import Floats
from keyaction.sim.regulating.fit import FAULTS, PRIOR, Fit, Flags, even_out
from keyaction.sim.regulating.notes import FITTED, TELLS, Bench, usual

LIKELY = 0.8
"""Odds from which a fault is taken to be there."""
ROUNDS = 4
"""Presses of all notes, at most, until the readings are met."""
UNLIKE = ("ciphers", "hangs")
"""Words of notes whose readings say nothing of a note that plays."""


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
    wide : (n, kinds, kinds) array
        Covariance of the amounts by a note's own readings alone, anything being as likely at fault as anything else: it
        says what they tell apart.
    odds : (n, `FAULTS`) array
        How likely each of these is at fault.
    together : mapping of str to float
        By how much all notes are off together, by kind: the springs, or the wind on shut pallets.
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
    wide: Floats
    odds: Floats
    together: Mapping[str, float]

    def only(self, at: Sequence[int]) -> State:
        """Some of its notes, by place."""
        rows = ("read", "error", "amounts", "sd", "figures", "figure_sd", "left", "known", "wide", "odds")
        speech = tuple(self.speech[i] for i in at)
        bench = self.bench.only([self.bench.notes[i] for i in at])
        return replace(self, bench=bench, speech=speech, **{name: getattr(self, name)[list(at)] for name in rows})

    def amount(self, kind: str) -> Floats:
        """One kind of all notes."""
        return np.asarray(self.amounts[:, FITTED.index(kind)])

    def sd_of(self, kind: str) -> Floats:
        """Standard deviation of one kind of all notes."""
        return np.asarray(self.sd[:, FITTED.index(kind)])

    def tells(self, kind: str) -> Flags:
        """Notes whose readings tell that kind: it is known at least twice as well as was supposed before, or nothing
        else explains them nearly as well."""
        k = FITTED.index(kind)
        told = np.sqrt(self.wide[:, k, k]) < TELLS * usual(kind)
        return np.asarray(told | (self.odds[:, FAULTS.index(kind)] > LIKELY) if kind in FAULTS else told)

    def shows(self, figure: str) -> Flags:
        """Notes whose readings tell that figure at least twice as well as was supposed before."""
        rise = self.bench.rise[:, :, NAMES.index(figure)]
        before = np.sum((rise * PRIOR) ** 2, axis=1)
        told = np.einsum("ik,ikl,il->i", rise, self.wide, rise) < TELLS**2 * before
        if figure == "dip":  # a lift alone would have a washer laid in for what the run does
            told &= np.isfinite(self.read[:, NAMES.index(figure)])
        return np.asarray(told)


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
    fit = Fit.begun(bench, read, error, mute)
    waiting = np.flatnonzero(known)
    for _ in range(ROUNDS):
        if len(waiting):
            waiting = fit.step(waiting)
    wide = fit.covariance.copy()
    even_out(fit, np.flatnonzero(known))
    amounts, figures, covariance, rise = fit.best_amounts, fit.best_figures, fit.covariance, fit.rise
    sd = np.sqrt(np.einsum("ikk->ik", covariance))
    figure_sd = np.sqrt(np.einsum("ikf,ikl,ilf->if", rise, covariance, rise))
    left = (read - figures) / error
    return State(bench, read, error, amounts, sd, figures, figure_sd, left, speech, known, wide, fit.odds, fit.together)


def _usable(read: Floats, speech: Sequence[str], known: Flags) -> Floats:
    """Readings without those that say nothing in a straight line: lift and pluck of a note that does not speak."""
    read = read.copy()
    read[~known] = np.nan
    for i, word in enumerate(speech):
        if word == "mute":
            read[i, [NAMES.index(name) for name in NAMES if name not in ("level", "dip", "play")]] = np.nan
    return read
