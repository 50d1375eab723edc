"""Amounts of faults as people say them."""

from __future__ import annotations

import math

from keyaction.models.readings.figures import BY_NAME
from keyaction.models.units.quantity import System, format_value
from keyaction.sim.diagnosis.diagnosis import Named
from keyaction.sim.measuring.knobs import KINDS

_SHARES = ("spring", "seal", "oblique")
_FACTORS = {
    "bottom-give": "stiffness",
    "twist": "stiffness",
    "soft-run": "stiffness",
    "rubbing": "friction",
    "stops": "toes",
}


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
    return format_value(abs(value), KINDS[kind].unit if kind else "m", units, digits=2)


def interval(named: Named, units: System) -> str:
    """The amount with the interval that holds it with 95 %."""
    kind = named.hypothesis.fault.kind
    ends = sorted((named.low, named.high), key=abs)
    low, high = (amount(kind, end, units).removeprefix(f"{_FACTORS.get(kind, '')} x ") for end in ends)
    return f"{amount(kind, named.amount, units)} ({low} to {high})"


def figure(name: str) -> str:
    """A figure's heading."""
    return BY_NAME[name].heading


def percent(probability: float) -> str:
    """A probability, never said to be sure."""
    return "> 99 %" if probability > 0.99 else "< 1 %" if probability < 0.01 else f"{100 * probability:.0f} %"
