"""Fastest vibration of a train from its masses and stiffnesses, and the time step that it allows."""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from keyaction.models.train.structure import Structure
from keyaction.models.train.train import Train
from keyaction.sim.code.kernel import generated_module, load_kernel, load_module
from keyaction.sim.lanes.blocks import each_block
from keyaction.sim.motion.integrate import Floats

SHARE = 0.75
"""Step times fastest angular frequency. The leapfrog is stable up to 2; its phase error is a 24th of the square."""
LONGEST, SHORTEST = 150e-6, 5e-6
"""s: bounds of the step, whatever the train."""
FASTEST = SHARE / SHORTEST
"""rad/s: the fastest vibration that the shortest step follows; a train that has a faster one is not played."""
TOGETHER = 256
"""Designs whose vibrations a thread finds at a time."""

_FAST = (
    "its fastest vibration, {:.3g} Hz, is beyond the "
    f"{FASTEST / (2 * np.pi):.0f} Hz that motions are followed to: a part is absurdly stiff or light; look at its "
    "sizes and measured figures with `keyaction check`"
)


def _text(structure: Structure) -> str:
    from keyaction.models.train.equations import derived
    from keyaction.sim.code.taut import taut_text

    return taut_text(derived(structure))


@lru_cache(maxsize=32)
def _taut(structure: Structure) -> Any:
    """The generated module of a train all taut."""
    path, text = generated_module(structure, "taut", lambda: _text(structure))
    return load_module(path, text)


def fastest(structure: Structure, parameters: Floats, jobs: int = 1) -> Floats:
    """Highest angular frequency (rad/s) of each design, every rod taut and every felt squeezed by half a millimetre.

    Parameters
    ----------
    structure : Structure
    parameters : (N, np) array
    jobs : int
        Threads; 0 means one per core.

    Returns
    -------
    (N,) array
        Infinite where it leaves the range of numbers.
    """
    module, found = _taut(structure), np.full(len(parameters), np.inf)
    rows = np.asarray(parameters)

    def work(k: int) -> None:
        part = slice(k * TOGETHER, (k + 1) * TOGETHER)
        _fastest(module, rows[part], found[part])

    each_block(work, -(-len(rows) // TOGETHER), jobs)
    return found


def _fastest(module: Any, parameters: Floats, found: Floats) -> None:
    columns, count = parameters.T, len(parameters)
    m, k = (_rows(one, count) for one in (module.inertias(columns), module.stiffnesses(columns)))
    n = math.isqrt(k.shape[1])
    matrices = _by_inertia(k.reshape(-1, n, n), m)
    sound = np.all(np.isfinite(matrices), axis=(1, 2))
    found[sound] = np.sqrt(np.linalg.eigvalsh(matrices[sound])[:, -1])


def _by_inertia(k: Floats, m: Floats) -> Floats:
    """Stiffness matrices (N, n, n) whose eigenvalues are squares of frequencies, by inertias (N, n) or (N, n * n)."""
    if m.shape[1] == k.shape[1]:
        scale = 1 / np.sqrt(m)
        return np.asarray(k * scale[:, :, None] * scale[:, None, :])
    root = np.linalg.inv(np.linalg.cholesky(m.reshape(k.shape)))
    return np.asarray(root @ k @ root.transpose(0, 2, 1))


def _rows(found: list[Any], count: int) -> Floats:
    """What a generated function gives, as (N, ...); what does not depend on the design stands in it once."""
    rows = np.empty((count, len(found)))
    for k, one in enumerate(found):
        rows[:, k] = one
    return rows


def too_fast(frequencies: Floats) -> dict[int, str]:
    """Why designs of such fastest vibrations (rad/s) cannot be played, by their place."""
    return {i: _FAST.format(frequencies[i] / (2 * np.pi)) for i in np.flatnonzero(frequencies > FASTEST).tolist()}


def too_fast_trains(trains: Sequence[Train]) -> list[str]:
    """Why each train, all of one structure, cannot be played for its fastest vibration; empty where it can."""
    structure = trains[0].structure
    names = load_kernel(structure).parameters
    told = too_fast(fastest(structure, np.array([train.vector(names) for train in trains])))
    return [told.get(i, "") for i in range(len(trains))]


def longest_step(structure: Structure, parameters: Floats) -> float:
    """Time step (s) for a batch: a set share of the shortest vibration of its stiffest design, rounded down to 1 us."""
    return step_for(fastest(structure, parameters))


def step_for(frequencies: Floats) -> float:
    """Time step (s) for designs of such fastest vibrations, rad/s."""
    return float(steps_for(np.max(frequencies)))


def steps_for(frequencies: ArrayLike) -> Floats:
    """Time step (s) for each fastest vibration, rad/s."""
    return np.asarray(np.clip(np.floor(SHARE / np.asarray(frequencies) * 1e6) * 1e-6, SHORTEST, LONGEST))


def steps_of_parts(
    frequencies: Floats, parts: NDArray[np.int64]
) -> tuple[NDArray[np.int64], NDArray[np.int64], Floats]:
    """Where each part of designs begins, how many it has, and its time step (s).

    Parameters
    ----------
    frequencies : (N,) array
        Fastest vibration of each design, rad/s; at least one.
    parts : (N,) array of int
        The part that each is of, part after part.
    """
    first = np.flatnonzero(np.diff(parts, prepend=-1))
    return first, np.diff(first, append=len(parts)), steps_for(np.maximum.reduceat(frequencies, first))
