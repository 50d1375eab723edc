"""Faults as they can be at one train, and what its structure rules out."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from keyaction.models.train.train import Train
from keyaction.sim.diagnosis.faults import COMMON, FAULTS, FEW, UNLEADED, Fault
from keyaction.sim.measuring.knobs import KINDS, Knob, knobs
from keyaction.sim.motion.integrate import Floats

FEWEST = 4
"""Notes from which on a sheet tells what they share from what is wrong with one."""
_FINE, _FINE_LOG, _FARTHEST = 0.125, 0.05, 8.0
"""Steps of amounts, and the greatest, in what is usual of a fault."""
_MULTIPLES = (0.3, 0.6, 1.0, 1.5, 2.5, 4.0, 6.0)


@dataclass(frozen=True)
class Hypothesis:
    """One fault at one part of a train.

    Attributes
    ----------
    fault : Fault
    knob : Knob
        What makes it.
    """

    fault: Fault
    knob: Knob

    @property
    def usual(self) -> float:
        """Size of such a fault, SI."""
        return KINDS[self.fault.kind].usual

    @cached_property
    def amounts(self) -> Floats:
        """Amounts of the fault that are weighed, SI, from nothing on."""
        step = _FINE_LOG if KINDS[self.fault.kind].log else _FINE
        return self.fault.sign * self.usual * np.arange(step, self._most / self.usual + step / 2, step)

    @cached_property
    def tried(self) -> tuple[float, ...]:
        """Amounts at which it is pressed; between them its figures are interpolated."""
        about = KINDS[self.fault.kind]
        if about.log:
            return tuple(self.fault.sign * self._most * share for share in (0.25, 0.5, 0.75, 1.0))
        found = [one * about.usual for one in _MULTIPLES if one * about.usual < 0.95 * self._most]
        return tuple(self.fault.sign * one for one in (*found, self._most))

    @property
    def _most(self) -> float:
        about = KINDS[self.fault.kind]
        return min(abs(about.high if self.fault.sign > 0 else about.low), _FARTHEST * about.usual)

    def log_prior(self) -> Floats:
        """Logarithms of how likely each amount is beforehand; they sum to 1.

        The density x / (1 + x^2)^2 of the amount x in what is usual vanishes at nothing, so that a fault too small to
        matter is no fault, and falls slowly, so that a gross one is believed. Its shape is assumed.
        """
        x = np.abs(self.amounts) / self.usual
        found = np.log(x) - 2.0 * np.log1p(x**2)
        return np.asarray(found - np.log(np.sum(np.exp(found))))

    def linear(self) -> Floats:
        """What the rise at nothing is to be multiplied by for each amount: what gives goes as 1 / stiffness."""
        return linear_in(self.fault.kind, self.amounts)

    def said(self) -> str:
        """In words, with its part."""
        return self.fault.said.format(part=self.knob.part)

    def short(self) -> str:
        """The same without what it may come of: the words up to a colon, but for the part."""
        return self.said() if "{part}" in self.fault.said else self.said().partition(":")[0]


def linear_in(kind: str, amounts: Floats) -> Floats:
    """Amounts as the figures answer to them, near enough in proportion."""
    about = KINDS.get(kind)
    if about is None or not about.log:
        return amounts
    if kind == "rubbing":
        return np.expm1(amounts)
    if kind == "bottom-give":  # a felt's squeeze goes as (load / stiffness)^(2/3)
        return np.asarray(-1.5 * np.expm1(-amounts / 1.5))
    return np.asarray(-np.expm1(-amounts)) if kind in ("twist", "soft-run") else amounts


def hypotheses(train: Train, few: bool = False) -> list[Hypothesis]:
    """Every fault that a train can have, at every part that can have it.

    Parameters
    ----------
    train : Train
    few : bool
        Whether too few notes were measured for what they share, so that it is asked of each.
    """
    turned = knobs(train)
    table = [*FAULTS.values(), *(FEW if few else ())]
    bare = not train.key.values.count_rows("leads")
    return [
        Hypothesis(_unleaded(fault) if bare else fault, knob)
        for fault in table
        for knob in turned
        if knob.kind == fault.kind
    ]


def _unleaded(fault: Fault) -> Fault:
    """A fault at a key that has no leads."""
    if fault.name not in UNLEADED:
        return fault
    said, look = UNLEADED[fault.name]
    return replace(fault, said=said, look=look)


def common(kinds: Sequence[str]) -> list[Fault]:
    """What notes with these knobs can share."""
    return [fault for fault in COMMON if fault.kind in kinds or not fault.kind]


def weights(found: Sequence[Hypothesis], guides: float = 1.0) -> Floats:
    """How likely each is beside the others beforehand, before anything is measured; they sum to 1.

    Parameters
    ----------
    found : sequence of Hypothesis
    guides : float
        How many times likelier than else a swollen guide is.
    """
    parts: dict[str, int] = {}
    for one in found:
        parts[one.fault.name] = parts.get(one.fault.name, 0) + 1
    raw = np.array([one.fault.weight / parts[one.fault.name] for one in found])
    raw *= np.array([guides if one.fault.name == "swollen-guide" else 1.0 for one in found])
    return np.asarray(raw / np.sum(raw))


def cannot(train: Train) -> list[str]:
    """Faults of the table that a train cannot have, each with why."""
    kinds = {one.kind for one in knobs(train)}
    return [
        f"{fault.name}: {_WHY.get(fault.kind, 'it has no such part')}"
        for fault in FAULTS.values()
        if fault.kind not in kinds
    ]


_WHY = {
    "twist": "it has no roller",
    "guide": "its pallet does not turn on a guide",
    "rest": "its key has no rest felt",
    "oblique": "no rod of it goes through a hole",
    "soft-run": "it has no rods",
}
