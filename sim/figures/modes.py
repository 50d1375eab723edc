"""Natural frequencies of the train with the pallet seated, and their shapes."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.linalg import eig

from keyaction.sim.figures.record import Record
from keyaction.sim.motion.drives import Drive, Piece
from keyaction.sim.motion.integrate import Floats

LOADED = 0.9
"""Share of the pluck's way at which the train is taken: taut throughout, pallet seated."""


@dataclass(frozen=True)
class Modes:
    """Frequencies (Hz), rising, and shapes: way of every coordinate, largest entry of each mode 1."""

    frequencies: Floats
    shapes: Floats
    coordinates: tuple[str, ...]


def modes(record: Record) -> Modes:
    """Small vibrations about the taut train just before the pluck, finger's force constant, no loss.

    The lowest is the train frequency. NaN where the pallet never opens.
    """
    kernel, n = record.model.kernel(), len(record.kinematics.coordinates)
    names = record.kinematics.coordinates
    if not np.isfinite(record.pluck_time):
        return Modes(np.full(n, np.nan), np.full((n, n), np.nan), names)
    slow = record.slow
    y = np.array([np.interp(LOADED * record.pluck_time, slow.t, slow.y[:, j]) for j in range(slow.y.shape[1])])
    y[kernel.of_kind("speed", "slip")] = 0.0
    free = Drive("force", (Piece(0.0, 1.0),), stiffness=0.0)
    jacobian = np.asarray(kernel.jacobian(0.0, y, record.model.parameters(), record.model.vector(free, free.pieces[0])))
    squares, vectors = eig(-jacobian[n : 2 * n, :n])
    order = np.argsort(squares.real)
    frequencies = np.sqrt(np.maximum(squares.real[order], 0.0)) / (2 * np.pi)
    shapes = vectors.real[:, order]
    largest = shapes[np.argmax(np.abs(shapes), axis=0), np.arange(n)]
    return Modes(frequencies, (shapes / largest).T, names)
