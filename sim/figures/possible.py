"""Figures outside what is possible: the note or design has failed, whatever the integrator said."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np
from numpy.typing import NDArray

from keyaction.models.units.quantity import format_value
from keyaction.sim.figures.columns import QUANTITIES
from keyaction.sim.figures.registry import Quantity


def impossible(figures: Mapping[str, float]) -> str:
    """What is impossible about a note's figures.

    Parameters
    ----------
    figures : mapping of name to SI value
        Of quantities of one note; NaN where it has none, which is possible.

    Returns
    -------
    str
        Each figure outside its row's `possible` range, with its value and that range; empty if there is none.
    """
    told = [_told(QUANTITIES[name], float(value)) for name, value in figures.items() if name in QUANTITIES]
    found = [text for text in told if text]
    return f"beyond what is possible: {'; '.join(found)}" if found else ""


def beyond(figures: Mapping[str, NDArray[np.float64]]) -> NDArray[np.bool_]:
    """Of which of many designs a figure is impossible.

    Parameters
    ----------
    figures : mapping of name to (N,) array
        Of quantities, SI.

    Returns
    -------
    (N,) array
    """
    found = [_outside(QUANTITIES[name], values) for name, values in figures.items() if name in QUANTITIES]
    return np.asarray(np.any(found, axis=0))


def _outside(row: Quantity, value: Any) -> Any:
    low, high = row.possible
    return (value < low) | (value > high)


def _told(row: Quantity, value: float) -> str:
    low, high = row.possible
    if not _outside(row, value):
        return ""
    side, end = ("below", low) if value < low else ("above", high)
    return f"{row.label} {format_value(value, row.unit or '1')}, {side} {format_value(end, row.unit or '1')}"
