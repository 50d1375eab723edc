"""Figures as people are told them: no finer than the tools read."""

from __future__ import annotations

from keyaction.models.units.names import STANDARD_GRAVITY
from keyaction.models.units.quantity import System, format_value

_STEPS: dict[str, dict[System, float]] = {
    "m": {"trade": 0.1e-3, "si": 0.1e-3},
    "N": {"trade": 1e-3 * STANDARD_GRAVITY, "si": 0.01},
    "Pa": {"trade": STANDARD_GRAVITY, "si": 10.0},
}
"""A tenth of a millimetre, a gram, a millimetre of water column, or what comes near that (common practice)."""


def as_read(value: float, unit: str, units: System) -> str:
    """A length, a weight or a pressure to what a ruler, a balance or a gauge tells; anything else to two digits.

    Parameters
    ----------
    value : float
        SI.
    unit : str
        SI unit.
    units : {"trade", "si"}
    """
    if unit not in _STEPS or value != value:
        return format_value(value, unit, units, digits=2)
    step = _STEPS[unit][units]
    return format_value(round(value / step) * step + 0.0, unit, units, digits=4)


def step_of(unit: str, units: System) -> float:
    """The least that is told of a unit, SI; 0 of any other."""
    return _STEPS.get(unit, {}).get(units, 0.0)
