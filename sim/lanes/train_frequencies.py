"""Train frequencies of many designs at once: the lowest vibration of each about a state of its own."""

from __future__ import annotations

import numpy as np

from keyaction.models.train.structure import Structure
from keyaction.sim.code.kernel import Kernel, load_kernel
from keyaction.sim.lanes.blocks import each_block
from keyaction.sim.motion.drives import HANDS_OFF, Drive
from keyaction.sim.motion.integrate import Floats
from keyaction.sim.statics.compiled import slopes_of_many

PART = 256
"""Designs that a thread takes at a time."""


def drives_of_many(kernel: Kernel, drive: Drive, parameters: Floats) -> Floats:
    """Drive vectors (N, nd) of the first piece of a drive that changes nothing from outside, for rows of parameters."""
    inputs = [kernel.parameters.index(name) for name in kernel.inputs]
    first = drive.vector(drive.pieces[0], [(name, 0.0) for name in kernel.inputs])
    found = np.tile(first, (len(parameters), 1))
    each = (len(first) - len(drive.vector(drive.pieces[0]))) // max(len(inputs), 1)
    for k, place in enumerate(inputs):
        found[:, len(first) - each * (len(inputs) - k)] = parameters[:, place]
    return found


def train_frequencies(structure: Structure, parameters: Floats, states: Floats, jobs: int = 0) -> Floats:
    """Lowest natural frequencies of designs, as `keyaction.sim.figures.modes.modes` finds that of one.

    Parameters
    ----------
    structure : Structure
    parameters, states : (N, np) and (N, n) arrays
        Of designs, and where they are; NaN where a design has no such state. Speeds and slips are taken as zero.
    jobs : int
        Threads; 0 means one per core. The compiled loop and LAPACK run without the interpreter.

    Returns
    -------
    (N,) array
        Hz.
    """
    kernel = load_kernel(structure)
    n = len(kernel.bodies)
    found, which = np.full(len(states), np.nan), np.flatnonzero(np.all(np.isfinite(states), axis=1))
    slopes = slopes_of_many(kernel.compiled)

    def work(block: int) -> None:
        part = which[block * PART : (block + 1) * PART]
        rows, still = np.ascontiguousarray(parameters[part]), np.ascontiguousarray(states[part])
        still[:, kernel.of_kind("speed", "slip")] = 0.0
        tables = np.empty((len(part), n, n))
        slopes(kernel.fill_jacobian, still, rows, drives_of_many(kernel, HANDS_OFF, rows), n, tables)
        sound = np.all(np.isfinite(tables), axis=(1, 2))
        squares = np.linalg.eigvals(tables[sound])
        found[part[sound]] = np.sqrt(np.maximum(np.min(squares.real, axis=1), 0.0)) / (2 * np.pi)

    each_block(work, -(-len(which) // PART), jobs)
    return found
