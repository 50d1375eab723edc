"""The smallest fault of each kind that a sheet would have shown: what "nothing found" is worth."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from keyaction.sim.diagnosis.curves import Curve
from keyaction.sim.diagnosis.evidence import Seen
from keyaction.sim.diagnosis.faults import Fault
from keyaction.sim.diagnosis.found import TOLD, Diagnosis
from keyaction.sim.diagnosis.hypotheses import weights

SURE = 1.645
"""Standard deviations above the threshold at which 95 % of the sheets are beyond it."""


@dataclass(frozen=True)
class Limit:
    """The smallest fault that would have been found with 95 % probability.

    Attributes
    ----------
    curve : Curve
    note : int
        The note that it is of: the middle one of those that are told.
    amount : float
        SI; NaN where no amount would have shown.
    """

    curve: Curve
    note: int
    amount: float


def limits(found: Diagnosis) -> list[Limit]:
    """Of every fault at the middle note of those that are told.

    Large-sample theory: the logarithm of the odds of a fault is half its squared distance from what a sound note shows
    in standard deviations, less that of the prior density against the width of the likelihood.
    """
    answers = found.answers
    note = found.middle
    seen = found.seen[answers.notes.index(note)]
    curves = answers.curves([note])[note]
    share = weights([curve.hypothesis for curve in curves])
    return [Limit(curve, note, _amount(curve, seen, _weight(curves, share, curve) * found.rate)) for curve in curves]


def unseen(found: Diagnosis) -> list[Fault]:
    """Faults that the middle note can have, but that move no figure that was read by an error of it, however large."""
    answers = found.answers
    note = found.middle
    seen = found.seen[answers.notes.index(note)]
    still = [curve.hypothesis for curve in answers.straight(note) if _still(curve, seen)]
    pressed = answers.press([(note, one) for one in still])
    return [curve.hypothesis.fault for curve in pressed if _still(curve, seen)]


def _still(curve: Curve, seen: Seen) -> bool:
    moved = np.abs(curve.change[:, seen.there]) / seen.error[seen.there]
    same = bool(np.all(curve.speech == curve.speech[0]))
    return same and not np.any(np.isnan(moved)) and float(np.max(moved, initial=0.0)) < 1.0


def _weight(curves: Sequence[Curve], share: np.ndarray, one: Curve) -> float:
    """Of the whole cause, which the members of it make likely together."""
    cause = one.hypothesis.fault.cause
    same = [w for w, curve in zip(share, curves, strict=True) if curve.hypothesis.fault.cause == cause]
    return float(sum(same))


def _amount(curve: Curve, seen: Seen, chance: float) -> float:
    points, _ = seen.whitened(curve.change)
    gone = np.any(~np.isfinite(curve.change[:, seen.there]), axis=1) | (curve.speech != seen.speaks)
    apart = np.sqrt(np.sum(points**2, axis=1))
    step = float(np.abs(np.diff(curve.amounts[:2]))[0])
    slope = np.maximum(np.abs(np.gradient(apart)) / step, 1e-12)
    width = np.log(math.sqrt(2.0 * math.pi) / slope / step)
    need = math.log(TOLD / (1.0 - TOLD)) - math.log(chance) - curve.hypothesis.log_prior() - width
    enough = gone | (apart >= np.sqrt(2.0 * np.maximum(need, 0.0)) + SURE)
    if not np.any(enough):
        return math.nan
    return float(curve.amounts[int(np.argmax(enough))])
