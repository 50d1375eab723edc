"""How the figures of one note answer to a fault of any size: pressed at some sizes, interpolated between them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from keyaction.cases.action.strokes import Strokes
from keyaction.models.readings.figures import NAMES, SPEECH
from keyaction.models.train.train import Train
from keyaction.sim.diagnosis.hypotheses import Hypothesis
from keyaction.sim.measuring.computed import Computed, computed
from keyaction.sim.motion.integrate import Floats

Codes = NDArray[np.int64]

UNKNOWN = -1
"""Code of a speech that is not known."""
_GRAVITY = ("speaks", "weak", "hangs", "mute", "ciphers")
"""Of two faults at once the later word is what the note does."""
CODE = {word: i for i, word in enumerate(_GRAVITY)}
assert set(CODE) == set(SPEECH)


@dataclass(frozen=True)
class Curve:
    """Figures of one note under one fault.

    Attributes
    ----------
    hypothesis : Hypothesis
    amounts : (m,) array
        SI.
    change : (m, figures) array
        Of every figure against the note without the fault, SI; NaN where the faulty note does not have it.
    speech : (m,) array of int
        What the note does, by `CODE`.
    """

    hypothesis: Hypothesis
    amounts: Floats
    change: Floats
    speech: Codes

    def at(self, amount: float) -> Floats:
        """Change of every figure at the nearest amount that is weighed."""
        return np.asarray(self.change[int(np.argmin(np.abs(self.amounts - amount)))])


def straight(one: Hypothesis, rise: Floats, speech: int) -> Curve:
    """The curve that its rise at nothing foretells, for a first look; figures (figures,)."""
    change = one.linear()[:, None] * np.nan_to_num(rise)[None, :]
    return Curve(one, one.amounts, change, np.full(len(one.amounts), speech))


def pressed_curves(
    asked: Sequence[tuple[Train, Hypothesis]],
    plain: Sequence[tuple[Floats, int]],
    level: Sequence[float],
    strokes: Strokes,
    wind_off_too: bool = True,
    jobs: int = 0,
) -> list[Curve]:
    """Press trains with faults of several sizes.

    Parameters
    ----------
    asked : sequence of (Train, Hypothesis)
    plain : sequence of ((figures,) array, int)
        Figures and speech of each without the fault, levels counted from the drawing.
    level : sequence of float
        Of each as it is drawn, m.
    strokes, wind_off_too, jobs
        As of `keyaction.sim.measuring.computed.computed`.
    """
    trains = [one.knob.apply(train, amount) for train, one in asked for amount in one.tried]
    levels = np.array([at for (_, one), at in zip(asked, level, strict=True) for _ in one.tried])
    found = computed(trains, strokes, wind_off_too, jobs).from_level(levels)
    ends = np.cumsum([0, *(len(one.tried) for _, one in asked)])
    return [
        _curve(one, figures, code, found.values[a:b], found.speech[a:b])
        for (_, one), (figures, code), (a, b) in zip(asked, plain, pairwise(ends.tolist()), strict=True)
    ]


def _curve(one: Hypothesis, plain: Floats, code: int, values: Floats, speech: Sequence[str]) -> Curve:
    """Interpolated between what was pressed; a figure that one end does not have ends half-way."""
    places = np.abs(np.array([0.0, *one.tried]))
    known = np.vstack([plain, values]) - plain
    codes = np.array([code, *(CODE.get(word, UNKNOWN) for word in speech)])
    wanted = np.abs(one.amounts)
    nearest = np.argmin(np.abs(wanted[:, None] - places[None, :]), axis=1)
    change = np.empty((len(wanted), len(NAMES)))
    for k in range(len(NAMES)):
        there = np.isfinite(known[:, k])
        change[:, k] = np.interp(wanted, places[there], known[there, k]) if np.any(there) else np.nan
        change[~there[nearest], k] = np.nan
    return Curve(one, one.amounts, change, codes[nearest])


def codes(found: Computed) -> list[int]:
    """Speech of every train by `CODE`."""
    return [CODE.get(word, UNKNOWN) for word in found.speech]


def code_of(speech: Mapping[int, str], note: int) -> int:
    """What a sheet says that a note does."""
    return CODE.get(speech.get(note, ""), UNKNOWN)
