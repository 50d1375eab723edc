"""Causes that notes can share: what each does to every note, by its amount, for all notes or those of one side."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from keyaction.models.readings.figures import NAMES, RULER
from keyaction.sim.diagnosis.answers import Answers
from keyaction.sim.diagnosis.faults import Fault
from keyaction.sim.diagnosis.hypotheses import FEWEST, common, linear_in
from keyaction.sim.measuring.knobs import KINDS
from keyaction.sim.motion.integrate import Floats

DATUM = 5.0 * RULER
"""m: usual shift of a straightedge."""
_PRESSED = {
    "stops": (-2.0, -1.0, 1.0, 1.5, 2.0, 3.0, 4.0),
    "nut": (-3.0, -1.5, -0.75, 1.5, 3.0),
    "length": (-4.0, -2.0, -1.0, 2.0, 4.0),
    "rest": (-3.0, -1.5, -0.75, 1.5, 3.0),
    "frame": (-3.0, -1.5, 0.75, 1.5, 3.0),
}
"""Kinds whose figures do not follow in proportion: amounts at which they are pressed, in what is usual."""
_SIDED = ("nut", "length", "rubbing", "pressure")
_FARTHEST = 8.0
MOST = 14
"""Notes that are pressed while causes are compared; figures of those between are interpolated."""
_NEAR = 0.2
"""Share of an amount within which another lies near it."""
_BY = 0.2
"""Share of a gap within which an amount lies at its end."""
_SAME, _GAP = 1e-3, 0.1
"""In what is usual: what is no other amount, however sharp the notes are; gaps between amounts that may stay."""


@dataclass(frozen=True)
class Candidate:
    """One cause that notes could share.

    Attributes
    ----------
    fault : Fault
    side : str
        "C" or "C#" where only the notes of that side share it; empty of all.
    amounts : (m,) array
        Where the changes are known, from 0 on, SI.
    change : (n, m, figures) array
        Of every figure of every note against the drawing, SI.
    """

    fault: Fault
    side: str
    amounts: Floats
    change: Floats

    @property
    def usual(self) -> float:
        """Its usual size, SI."""
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

    def next_to(self, amount: float, within: float, straight: bool) -> float:
        """The amount to be pressed next, to be sure of one: itself, or the middle of a wide gap about it; else NaN.

        Gaps do not matter where figures are known to be straight.
        """
        if self.fault.kind not in _PRESSED:
            return math.nan
        places, wanted = np.abs(self.amounts), abs(amount)
        nearest = int(np.argmin(np.abs(places - wanted)))
        apart = float(np.abs(places[nearest] - wanted))
        gaps = np.diff(places)[max(nearest - 1, 0) : nearest + 1]
        first = max(nearest - 1, 0) + int(np.argmax(gaps))
        if not straight and max(gaps) > _GAP * self.usual and apart < _BY * max(gaps):
            return float(self.amounts[first] + self.amounts[first + 1]) / 2.0
        return amount if apart > max(within, _SAME * self.usual) else math.nan

    def pressed_at(self, amount: float, answers: Answers, most: int = MOST) -> Candidate:
        """The same with one more amount, pressed at so many notes at most."""
        more = answers.shared_at(self.fault.kind, [amount], most)
        if self.side:
            more = more * on_side(self.side, answers.notes)[:, None, None]
        at = int(np.searchsorted(np.abs(self.amounts), abs(amount)))
        return replace(
            self,
            amounts=np.insert(self.amounts, at, amount),
            change=np.concatenate([self.change[:, :at], more, self.change[:, at:]], axis=1),
        )

    def away(self, amount: float) -> Candidate:
        """The same without what is known near an amount, which is to be pressed anew; nothing and the last stay."""
        keep = np.abs(self.amounts - amount) > _NEAR * abs(amount)
        keep[[0, -1]] = True
        return replace(self, amounts=self.amounts[keep], change=self.change[:, keep])

    def log_prior(self, amounts: Floats) -> Floats:
        """Logarithm of the density of amounts beforehand; see `Hypothesis.log_prior`."""
        x = np.abs(amounts) / self.usual
        return np.asarray(np.log(2.0 * x / self.usual) - 2.0 * np.log1p(x**2))


def candidates(answers: Answers, pressed: bool) -> list[Candidate]:
    """Everything that the notes could share; pressed, or as rises at nothing foretell it."""
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


def _on(side: str, one: Candidate, notes: Sequence[int]) -> Candidate:
    return replace(one, side=side, change=one.change * on_side(side, notes)[:, None, None])


def _candidate(answers: Answers, fault: Fault, pressed: bool) -> Candidate:
    n, figures = len(answers.notes), len(NAMES)
    if not fault.kind:
        amounts = fault.sign * DATUM * np.array([0.0, _FARTHEST])
        change = np.zeros((n, 2, figures))
        change[:, :, NAMES.index("level")] = amounts
        return Candidate(fault, "", amounts, change)
    about = KINDS[fault.kind]
    if pressed and fault.kind in _PRESSED:
        every = [one * about.usual for one in _PRESSED[fault.kind]]
        change = answers.shared(fault.kind, every, MOST)
        chosen = sorted((i for i, one in enumerate(every) if one * fault.sign > 0.0), key=lambda i: abs(every[i]))
        amounts = np.array([0.0, *(every[i] for i in chosen)])
        return Candidate(fault, "", amounts, np.concatenate([np.zeros((n, 1, figures)), change[:, chosen]], axis=1))
    most = min(abs(about.high if fault.sign > 0 else about.low), _FARTHEST * about.usual)
    amounts = fault.sign * most * np.linspace(0.0, 1.0, 25 if about.log else 2)
    rise = np.array([_or_nothing(answers.rise(note, fault.kind)) for note in answers.notes])
    return Candidate(fault, "", amounts, rise[:, None, :] * linear_in(fault.kind, amounts)[None, :, None])


def _or_nothing(rise: Floats | None) -> Floats:
    return np.zeros(len(NAMES)) if rise is None else rise
