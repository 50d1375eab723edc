"""Amounts of faults as people say them."""

from __future__ import annotations

import math
from collections.abc import Sequence

from keyaction.models.readings.figures import BY_NAME
from keyaction.models.readings.rounded import as_read, step_of
from keyaction.models.units.quantity import System, format_value
from keyaction.sim.diagnosis.faults import Fault
from keyaction.sim.diagnosis.found import Named
from keyaction.sim.diagnosis.hypotheses import Hypothesis
from keyaction.sim.measuring.knobs import KINDS

_SHARES = ("spring", "seal", "oblique")
_FACTORS = {
    "bottom-give": "stiffness",
    "twist": "stiffness",
    "soft-run": "stiffness",
    "rubbing": "friction",
    "stops": "toes",
}

_SHORT = {
    "loose-nut": "run loose", "tight-nut": "run tight", "dirty-pin": "pin rubs", "swollen-guide": "guide rubs",
    "oblique": "pull-down rubs", "weak-spring": "spring weak", "strong-spring": "spring strong",
    "front-heavy": "key front heavy", "front-light": "key front light", "rest-felt": "rest felt thin",
    "thick-rest": "rest felt thick", "bottom-felt": "bottom felt thin", "thick-bottom": "bottom felt thick",
    "soft-bottom": "bottom felt soft", "hard-bottom": "bottom felt hard", "twist": "roller gives",
    "soft-run": "rods give", "leak": "pallet leaks", "wide-seal": "seals wide", "narrow-seal": "seals narrow",
    "low-wind": "wind low", "high-wind": "wind high", "more-stops": "more stops", "fewer-stops": "fewer stops",
}  # fmt: skip
_GROUPS = {"nut": "run's length", "rubs": "rubs", "spring": "spring", "lead": "key's weight", "seal": "seal line"}
_ENDS = "the ends of its rods"


def short(fault: Fault) -> str:
    """A fault in two or three words, for a table."""
    return _SHORT[fault.name]


def group(cause: str) -> str:
    """The same of faults that count as one cause."""
    return _GROUPS.get(cause, cause)


def part_of(hypothesis: Hypothesis) -> str:
    """The part that is worked at."""
    return hypothesis.knob.part or (_ENDS if hypothesis.fault.kind == "soft-run" else "the action")


def amount(kind: str, value: float, units: System) -> str:
    """The size of a fault, without its sense: the words of the fault have it.

    Parameters
    ----------
    kind : str
        Of `keyaction.sim.measuring.knobs.KINDS`; empty of a straightedge.
    value : float
        SI.
    units : {"trade", "si"}
    """
    if kind in _FACTORS:
        return f"{_FACTORS[kind]} x {format_value(math.exp(value), '1', digits=2)}"
    if kind in _SHARES:
        return f"{100 * abs(value):.0f} %"
    if kind == "length":
        return f"{1e3 * abs(value):.2g} mm per m of rod"
    unit = KINDS[kind].unit if kind else "m"
    if abs(value) < step_of(unit, units):
        return format_value(abs(value), unit, units, digits=1)
    return as_read(abs(value), unit, units)


def interval(named: Named, units: System) -> str:
    """The amount with the interval that holds it with 95 %."""
    kind = named.hypothesis.fault.kind
    ends = sorted((named.low, named.high), key=None if kind in _FACTORS else abs)
    low, high = (amount(kind, end, units).removeprefix(f"{_FACTORS.get(kind, '')} x ") for end in ends)
    return f"{amount(kind, named.amount, units)} ({low} to {high})"


def figure(name: str) -> str:
    """A figure, as a sentence has it."""
    return BY_NAME[name].heading.replace(", ", " with the ")


def listed(words: Sequence[str]) -> str:
    """Words of a list in a sentence."""
    return f"{', '.join(words[:-1])} and {words[-1]}" if len(words) > 1 else "".join(words)


def percent(probability: float) -> str:
    """A probability, never said to be sure."""
    return "> 99 %" if probability > 0.99 else "< 1 %" if probability < 0.01 else f"{100 * probability:.0f} %"
