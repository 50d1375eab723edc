"""Evenness over the compass: steps between neighbours against what a finger can tell."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from keyaction.sim.figures.limits import NO_FORCE

JUST_NOTICEABLE = 0.07
"""Just-noticeable difference of force, about 7 % of the reference from 2.5 to 10 N: X. D. Pang, H. Z. Tan and
N. I. Durlach, "Manual discrimination of force using active finger motion", Perception & Psychophysics 49 (1991)."""


def neighbour_steps(notes: NDArray[np.int64], values: NDArray[np.float64], least: float = 0.0) -> NDArray[np.float64]:
    """Relative step from the note a semitone below, as a share of the mean of the two; NaN without a neighbour.

    Parameters
    ----------
    notes : (n,) array of int
        Rising semitone numbers.
    values : (n,) array
        Any positive quantity.
    least : float
        In its unit; nothing is a share of a mean that is not above it.
    """
    steps = np.full(len(values), np.nan)
    for i in range(1, len(values)):
        mean = (values[i] + values[i - 1]) / 2
        if notes[i] - notes[i - 1] == 1 and mean > least:
            steps[i] = (values[i] - values[i - 1]) / mean
    return steps


def evenness(notes: NDArray[np.int64], figures: Mapping[str, NDArray[np.float64]]) -> NDArray[np.float64]:
    """Difference of pluck force from the note a semitone below, as a share of their mean."""
    return neighbour_steps(notes, figures["pluck_force"], NO_FORCE)


def felt_steps(
    notes: NDArray[np.int64], forces: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.bool_], NDArray[np.bool_]]:
    """Steps of many designs from note to note, and which of them a finger can tell.

    Parameters
    ----------
    notes : (n,) array of int
        Rising semitone numbers.
    forces : (designs, n) array
        Pluck forces, N.

    Returns
    -------
    steps, known, felt : (designs, n) arrays
        Each from the note below, as a share of their mean, NaN without one; whether there is one, and whether it
        exceeds the just-noticeable difference.
    """
    steps = np.array([neighbour_steps(notes, row, NO_FORCE) for row in forces]).reshape(forces.shape)
    return steps, np.isfinite(steps), np.abs(steps) > JUST_NOTICEABLE
