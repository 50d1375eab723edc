"""From marginal likelihoods to how likely every cause is, note by note, the sheet as a whole taken into account."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from keyaction.sim.diagnosis.evidence import Evidence, Weighed, total
from keyaction.sim.diagnosis.hypotheses import Hypothesis, weights
from keyaction.sim.motion.integrate import Floats

Places = NDArray[np.int64]

FAULTY, LEAST, MOST = 1.5, 0.02, 0.1
"""Faulty notes of a sheet supposed beforehand, however long it is, and the least and greatest share (assumed)."""
NOTES = 50.0
"""How many notes this supposition is worth (assumed)."""
SECOND = 0.1
"""How likely a note with one fault has a second one (assumed)."""
SLIP = 2e-4
"""How likely one figure of a note is misread or miswritten (assumed)."""
_KEPT, _LEAST = 400, 1e-6
"""Models that are kept of a note, and the least probability of one."""
ROUNDS = 3
"""How often what was found at all notes is taken into account."""


@dataclass(frozen=True)
class Model:
    """A set of faults at one note: places among its curves, and the place of a figure that is misread, or -1."""

    faults: tuple[int, ...]
    misread: int = -1


@dataclass(frozen=True)
class Belief:
    """How likely everything is at one note.

    Attributes
    ----------
    models : tuple of (Model, float)
        With their probabilities, most likely first; the least likely are left out.
    none : float
        Probability that nothing is wrong and nothing misread.
    faults : (h,) array
        Of every hypothesis, alone or with others.
    misread : (figures,) array
        Of every figure.
    """

    models: tuple[tuple[Model, float], ...]
    none: float
    faults: Floats
    misread: Floats

    @property
    def faulty(self) -> float:
        """Probability of at least one fault."""
        return float(sum(share for model, share in self.models if model.faults))


def believe(found: Evidence, rate: float, beforehand: Floats) -> Belief:
    """Of one note, at some share of faulty notes and some weights of faults."""
    h = len(found.one)
    with np.errstate(divide="ignore"):
        log = np.log(beforehand)
    one = found.one + math.log(rate) + log
    rows, columns = np.triu_indices(h, 1)
    two = found.two[rows, columns] + math.log(2.0 * SECOND * rate) + log[rows] + log[columns]
    slip = found.misread + math.log(SLIP)
    slip_one = found.misread_one + math.log(SLIP * rate) + log[None, :]
    logs = np.concatenate([[found.none + math.log1p(-rate)], one, two, slip, slip_one.ravel()])
    share = np.exp(logs - total(logs))
    ends = np.cumsum([1, h, len(two), len(slip)])
    of_one, of_two, of_slip, of_both = np.split(share[1:], ends[1:] - 1)
    both = of_both.reshape(slip_one.shape)
    faults = of_one + both.sum(axis=0)
    np.add.at(faults, rows, of_two)
    np.add.at(faults, columns, of_two)
    order = [int(i) for i in np.argsort(-share)[:_KEPT] if share[i] > _LEAST]
    kept = tuple((_model(i, h, ends, rows, columns), float(share[i])) for i in order)
    return Belief(kept, float(share[0]), faults, of_slip + both.sum(axis=1))


def _model(i: int, h: int, ends: Places, rows: Places, columns: Places) -> Model:
    """The model at a place of all: none, one fault, two, a figure misread, the same beside a fault."""
    if i == 0:
        return Model(())
    if i < ends[1]:
        return Model((i - 1,))
    if i < ends[2]:
        return Model((int(rows[i - ends[1]]), int(columns[i - ends[1]])))
    if i < ends[3]:
        return Model((), int(i - ends[2]))
    figure, place = divmod(int(i - ends[3]), h)
    return Model((place,), figure)


def believe_all(
    found: Sequence[Evidence], supposed: Sequence[Sequence[Hypothesis]], humidity: float
) -> tuple[list[Belief], float]:
    """Of all notes of a sheet, and the share of faulty notes that they come to.

    Parameters
    ----------
    found : sequence of Evidence
    supposed : sequence of sequence of Hypothesis
        Of every note, in the order of its evidence.
    humidity : float
        Of the air, 0 to 1; NaN where it is not known.
    """
    first = min(max(FAULTY / max(len(found), 1), LEAST), MOST)
    rate, rubbing = first, 0.0
    beliefs = list[Belief]()
    for _ in range(ROUNDS):
        swell = _damp(humidity) * max(1.0, rubbing)
        beliefs = [believe(one, rate, weights(every, swell)) for one, every in zip(found, supposed, strict=True)]
        rate = (first * NOTES + sum(one.faulty for one in beliefs)) / (NOTES + len(beliefs))
        rubbing = sum(
            float(belief.faults[i])
            for belief, every in zip(beliefs, supposed, strict=True)
            for i, one in enumerate(every)
            if one.fault.cause == "rubs"
        )
    return beliefs, rate


def _damp(humidity: float) -> float:
    """How much likelier damp air makes swollen guides, and dry air unlikelier (assumed)."""
    if not math.isfinite(humidity):
        return 1.0
    return 4.0 if humidity >= 0.65 else 0.5 if humidity <= 0.5 else 1.0


def amounts_of(weighed: Weighed, place: int, beside: int | None) -> Floats:
    """Probabilities of the amounts of one fault, alone or beside another, that sum to 1."""
    if beside is None:
        logs = Weighed(weighed.seen, [weighed.curves[place]]).single(weighed.seen)
    else:
        pair, own = (
            Weighed(weighed.seen, [weighed.curves[place], weighed.curves[beside]]),
            len(weighed.curves[place].amounts),
        )
        both = pair.double()[:own, own:]
        top = float(np.max(both))
        logs = np.log(np.maximum(np.sum(np.exp(both - top), axis=1), 1e-300))
    share = np.exp(logs - np.max(logs))
    return np.asarray(share / np.sum(share))
