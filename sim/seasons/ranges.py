"""Least and greatest of a figure in two columns of a sheet."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from keyaction.models.units.quantity import System
from keyaction.sim.motion.integrate import Floats
from keyaction.sim.seasons.result import span
from keyaction.sim.tables.sheet import Column, in_units, value

LEAST, MOST = "least", "most"


def pair(short: str, full: str, si: str, units: System, places: int) -> list[Column]:
    """Columns for the least and the most of a quantity, with a short heading and one that stands by itself."""
    return [replace(in_units(f"{short}\n{end}", si, units, places), full=f"{full}, {end}") for end in (LEAST, MOST)]


def ends(values: Floats, si: str, units: System) -> tuple[float, float]:
    """Least and greatest of SI values of any shape, in the reader's unit; NaN where there are none."""
    if not np.size(values):
        return float("nan"), float("nan")
    low, high = span(np.asarray(values, dtype=float).ravel()[None, :])
    return value(float(low[0]), si, units), value(float(high[0]), si, units)
