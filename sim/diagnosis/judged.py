"""One note judged: its faults weighed, pressed where it is in doubt, and its causes told with their amounts."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np
from scipy.stats import chi2

from keyaction.models.readings.figures import NAMES
from keyaction.sim.diagnosis.answers import Answers
from keyaction.sim.diagnosis.curves import UNKNOWN, codes
from keyaction.sim.diagnosis.evidence import Evidence, Seen, Weighed, total
from keyaction.sim.diagnosis.found import Cause, Named, NoteFound
from keyaction.sim.diagnosis.parted import unparted
from keyaction.sim.diagnosis.posterior import Belief, Model, amounts_of, believe_all
from keyaction.sim.diagnosis.shared import Base

_CLEAR, _ODD, _POOR = 0.8, 0.01, 1e-4
"""Probability of no fault above which a first look is enough; chances of what is left below which it is not, and below
which no fault of the table explains a note."""
_LEAST_RIVAL = 1e-5
"""Probability below which a rival of the likeliest fault is not worth a word."""
_PAIRS, _WORTH = 4, 0.02
"""Pairs of faults that are pressed once more, and the probability that makes it worth while."""
_INTERVAL = 0.95


def weigh(answers: Answers, seen: Sequence[Seen], humidity: float) -> tuple[list[Weighed], list[Evidence]]:
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


def judged(answers: Answers, i: int, one: Weighed, evidence: Evidence, belief: Belief, shared: Base) -> NoteFound:
    """What is found of the note at place i: causes, what shares the first place, what is left of its figures."""
    seen, note = one.seen, answers.notes[i]
    left = _left(one, belief.models[0][0])
    used = len(belief.models[0][0].faults) + (belief.models[0][0].misread >= 0)
    freedom = int(np.sum(seen.there))
    chance = float(chi2.sf(left, max(freedom - used, 1))) if freedom else 1.0
    share = seen.left / np.sqrt(np.diag(seen.scatter))
    causes = _causes(one, belief)
    sharing = _sharing(one, evidence, belief, causes)
    rival = sharing[0] if sharing else _rival(one, belief, causes)
    return NoteFound(
        note, belief, causes, rival, sharing, share, shared.plain.values[i], seen.squared, freedom, left,
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


def _sharing(one: Weighed, evidence: Evidence, belief: Belief, causes: Sequence[Cause]) -> tuple[Named, ...]:
    """Faults of other causes that share the place of the first."""
    if not causes:
        return ()
    cause = [curve.hypothesis.fault.cause for curve in one.curves]
    found = []
    for i, share, model in unparted(evidence, belief, cause, _place(one, causes[0].faults[0])):
        found.append(_at(one, i, share, next((k for k in model.faults if k != i), None)))
    return tuple(found)


def _place(one: Weighed, named: Named) -> int:
    return next(i for i, curve in enumerate(one.curves) if curve.hypothesis is named.hypothesis)


def _rival(one: Weighed, belief: Belief, causes: Sequence[Cause]) -> Named | None:
    """What the first cause could be instead, beside whatever else the likeliest model has.

    Another part of the same cause stands for the first; another cause counts in models without the first.
    """
    faulty = next((model for model, _ in belief.models if model.faults), None)
    if faulty is None or not causes:
        return None
    cause = [curve.hypothesis.fault.cause for curve in one.curves]
    first = _place(one, causes[0].faults[0])
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
