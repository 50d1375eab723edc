"""What neighbours share that no one cause explains: a slow drift over the compass, taken out before notes are judged.

The model is never the instrument. Where neighbours lie off alike, more than their errors and a good regulation allow,
the running median of what is left is taken for the model's own error and told; steps between the sides of a chest, or
where rollers change, are told as hints.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from keyaction.models.readings.figures import BY_NAME, NAMES
from keyaction.models.train.train import Train
from keyaction.sim.diagnosis.evidence import Seen
from keyaction.sim.motion.integrate import Floats

NEAR = 6
"""Semitones within which notes are neighbours."""
ENOUGH = 4
"""Neighbours that a running median needs."""
SURE = 4.5
"""Standard deviations beyond which neighbours are alike; their products have longer tails than a normal value."""
MATTERS = 0.5
"""Errors of one reading below which a drift is no more than that."""
_CLIP = 2.5
"""Standard deviations to which a note counts, so that faults of single notes make no drift."""
_MEDIAN = math.pi / 2
"""Variance of a median of normal values, beside that of their mean (large samples)."""


@dataclass(frozen=True)
class Drift:
    """A figure in which neighbours lie off alike.

    Attributes
    ----------
    figure : str
    low, high : float
        Of the running median over the notes, SI.
    """

    figure: str
    low: float
    high: float


@dataclass(frozen=True)
class Hint:
    """A step between groups of notes in one figure.

    Attributes
    ----------
    figure : str
    between : str
        What the groups are.
    step : float
        SI, and its size in standard deviations in `sure`.
    sure : float
    """

    figure: str
    between: str
    step: float
    sure: float


def drifts(notes: Sequence[int], seen: Sequence[Seen]) -> tuple[list[Drift], list[Seen]]:
    """Where neighbours lie off alike, and what is left of every note without that."""
    left = np.array([one.left for one in seen]).reshape(len(seen), len(NAMES))
    sd = np.sqrt(np.array([np.diag(one.scatter) for one in seen]).reshape(left.shape))
    error = np.array([one.error for one in seen]).reshape(left.shape)
    near = np.abs(np.subtract.outer(notes, notes)) <= NEAR
    np.fill_diagonal(near, False)
    found, taken, more = list[Drift](), np.zeros_like(left), np.zeros_like(left)
    for k, figure in enumerate(NAMES):
        if not _alike(left[:, k] / sd[:, k], near):
            continue
        for i in range(len(seen)):
            there = left[near[i] & np.isfinite(left[:, k]), k]
            if len(there) >= ENOUGH:
                taken[i, k] = float(np.median(there))
                more[i, k] = _MEDIAN * sd[i, k] ** 2 / len(there)
        moved = taken[:, k][taken[:, k] != 0.0]
        if not len(moved) or np.max(np.abs(moved)) < MATTERS * float(np.median(error[:, k])):
            taken[:, k] = more[:, k] = 0.0
            continue
        found.append(Drift(figure, float(np.min(moved)), float(np.max(moved))))
    after = [
        replace(one, left=one.left - taken[i], scatter=one.scatter + np.diag(more[i])) for i, one in enumerate(seen)
    ]
    return found, after


def _alike(share: Floats, near: NDArray[np.bool_]) -> bool:
    """Whether neighbours are off in the same sense more often than by chance."""
    there = np.isfinite(share)
    if np.sum(there) <= ENOUGH:
        return False
    clipped = np.clip(np.where(there, share, 0.0), -_CLIP, _CLIP)
    pairs = np.triu(near & there[:, None] & there[None, :])
    count = int(np.sum(pairs))
    if count < ENOUGH:
        return False
    square = float(np.mean(clipped[there] ** 2))
    mean = float(np.sum(np.outer(clipped, clipped)[pairs])) / count
    # products of neighbours are uncorrelated by chance, each of variance 1 where the notes scatter as supposed
    return mean > SURE * max(1.0, square) / math.sqrt(count)


def hints(trains: Mapping[int, Train], seen: Sequence[Seen]) -> list[Hint]:
    """Steps between the sides of a chest, and between long and short rollers, that are sure."""
    notes = list(trains)
    groups = {"the C side and the C# side": np.array([note % 2 == 0 for note in notes])}
    if (rollers := _rollers(trains)) is not None:
        groups["notes of longer and of shorter rollers"] = rollers
    left = np.array([one.left for one in seen]).reshape(len(seen), len(NAMES))
    sd = np.sqrt(np.array([np.diag(one.scatter) for one in seen]).reshape(left.shape))
    found = []
    for between, first in groups.items():
        for k, figure in enumerate(NAMES):
            known = np.isfinite(left[:, k])
            a, b = left[first & known, k], left[~first & known, k]
            if min(len(a), len(b)) < ENOUGH:
                continue
            error = math.sqrt(_MEDIAN * float(np.median(sd[:, k])) ** 2 * (1 / len(a) + 1 / len(b)))
            step = float(np.median(a) - np.median(b))
            if abs(step) > SURE * error and abs(step) > _worth(figure):
                found.append(Hint(figure, between, step, abs(step) / error))
    return found


def _worth(figure: str) -> float:
    """Steps below the error of one reading are not told."""
    return 0.1e-3 if BY_NAME[figure].unit == "m" else 0.01


def _rollers(trains: Mapping[int, Train]) -> NDArray[np.bool_] | None:
    """Which notes have rollers longer than half of them have."""
    lengths = []
    for train in trains.values():
        shafts = [part for part in train.parts if part.kind == "roller" and part.values.has("length")]
        lengths.append(shafts[0].values.number("length") if shafts else math.nan)
    if not all(math.isfinite(one) for one in lengths) or len(set(lengths)) < 2:
        return None
    return np.array(lengths) > float(np.median(lengths))
