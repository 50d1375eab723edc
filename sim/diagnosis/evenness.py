"""How evenly an action is regulated, taken from the sheet itself: neighbours say what a sound note scatters by."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from keyaction.sim.diagnosis.evidence import Seen
from keyaction.sim.diagnosis.fits import ASTRAY
from keyaction.sim.motion.integrate import Floats

_TRIED = np.geomspace(0.03, 6.0, 25)
_PRIOR = 1.0
"""Standard deviation of the logarithm of the factor beforehand (assumed)."""


def evenness(seen: Sequence[Seen], good: Sequence[Floats], faulty: Sequence[Floats]) -> float:
    """Factor on the variance that a good regulation leaves, which fits the notes of a sheet.

    Parameters
    ----------
    seen : sequence of Seen
        Of every note, with that variance as it is by custom.
    good, faulty : sequence of (figures, figures) array
        What a good regulation leaves of every note, and what faults of the usual size add; some notes are astray.

    Returns
    -------
    float
        1 where the notes scatter as by custom.
    """
    logs = [-0.5 * (math.log(factor) / _PRIOR) ** 2 for factor in _TRIED]
    for one, own, more in zip(seen, good, faulty, strict=True):
        for k, factor in enumerate(_TRIED):
            sound = replace(one, scatter=one.scatter + (factor - 1.0) * own)
            astray = replace(sound, scatter=sound.scatter + more)
            logs[k] += float(np.logaddexp(math.log1p(-ASTRAY) + _fits(sound), math.log(ASTRAY) + _fits(astray)))
    share = np.exp(np.array(logs) - max(logs))
    return math.exp(float(np.sum(share * np.log(_TRIED)) / np.sum(share)))


def _fits(one: Seen) -> float:
    return one.log_norm - 0.5 * one.squared
