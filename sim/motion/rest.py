"""Where a train rests: its motion is stopped again and again, or it sinks as in honey, until nothing moves any more."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from keyaction.models.algebra.names import Name
from keyaction.models.train.train import Train
from keyaction.sim.code.kernel import Kernel
from keyaction.sim.motion.integrate import Failed, Floats, Tolerances, followed, lsoda

_SETTLING = (0.5e-3, 2e-3, 8e-3)
"""s after which all motion is stopped, in turn."""
_NUDGE, _QUIET = 1e-9, 1e-6
"""rad or m within a longest spell of settling: of a train that rests, and of one that only a filling groove moves."""
_FILLED, _FILLING = 1e-4, 0.25
"""Pa within a spell: of a groove that is full; and s of a spell while one fills past a leak."""
_DRAG = 1e4
"""1/s by which speeds die away in honey: more than the fastest swing of a train that still moves its pallet."""
_SINKING = np.array([0.0, 1e-3, 1.0, 1e3])
"""s of sinking: by the drag over the square of its angular frequency, a key of 2.5 Hz comes down in 40 s."""
STOPPED = ("speed", "slip", "impulse", "work")
"""Kinds of state that are nothing in a train at rest."""


def settled(kernel: Kernel, parameters: Floats, drive: Floats, tolerances: Tolerances) -> Floats:
    """The state (n,) in which a train without friction rests, from all of its coordinates at nothing.

    Stopped motion is quick, but a heavy key may swing on past the place that would hold it, and throw its pallet open;
    or it is so slow that it does not arrive. Then the train sinks instead, without momentum.
    """
    y = np.zeros(len(kernel.states))
    found, calm = relaxed(kernel, y, parameters, drive, tolerances)
    if calm and not _opens(kernel, found, parameters, drive):
        return found
    return relaxed(kernel, sunk(kernel, y, parameters, drive, tolerances), parameters, drive, tolerances)[0]


def _opens(kernel: Kernel, y: Floats, parameters: Floats, drive: Floats) -> bool:
    seen = kernel.observe(np.zeros(1), y[None, :], parameters, drive)[0]
    return bool(seen[kernel.observables.index(kernel.speech[2])] > 0.0)


def sunk(
    kernel: Kernel,
    y: Floats,
    parameters: Floats,
    drive: Floats,
    tolerances: Tolerances,
    stopped: Sequence[str] = STOPPED,
) -> Floats:
    """The state to which a train sinks from `y`, every speed dragged back; `y` itself if it cannot be followed.

    States of the kinds `stopped` are nothing in it.
    """
    speeds = np.flatnonzero([kind == "speed" for kind in kernel.kinds])
    free = kernel.driven(parameters, drive)

    def dragged(t: float, state: Any) -> Floats:
        rates = np.array(free(t, state))
        rates[speeds] -= _DRAG * state[speeds]
        return rates

    try:
        path, _, _ = followed(dragged, y, _SINKING, tolerances.relative, tolerances.absolute(kernel.kinds))
    except Failed:
        return y
    still = np.array([kind in stopped for kind in kernel.kinds])
    return np.where(still, 0.0, path[-1]) if np.all(np.isfinite(path[-1])) else y


def rubbing(train: Train, names: Sequence[Name]) -> NDArray[np.bool_]:
    """Which parameters make the train rub; without them it is brought to rest."""
    kinds = {part.name: part.part.rubs for part in train.parts}
    return np.array([name.what in kinds.get(name.part, ()) for name in names], dtype=bool)


def relaxed(
    kernel: Kernel,
    y: Floats,
    parameters: Floats,
    drive: Floats,
    tolerances: Tolerances,
    pace: float = 1.0,
    stopped: Sequence[str] = STOPPED,
) -> tuple[Floats, bool]:
    """The state to which a train comes from `y`, its motion stopped again and again; whether it rests there.

    `pace` makes the times between the stops longer, for a train that has far to go; states of the kinds `stopped` are
    set to nothing each time.
    """
    ways, still = kernel.of_kind("coordinate"), np.array([kind in stopped for kind in kernel.kinds])
    pressures, absolute = kernel.of_kind("pressure"), tolerances.absolute(kernel.kinds)
    moved, filled = np.inf, 0.0
    for turn in range(240):
        slow = turn > 2 * len(_SETTLING) and moved < _QUIET and filled > _FILLED
        times = np.array([0.0, _FILLING if slow else pace * _SETTLING[turn % len(_SETTLING)]])
        try:
            path, _, _ = lsoda(kernel, y, times, parameters, drive, tolerances, absolute)
        except Failed:
            break
        if not np.all(np.isfinite(path[-1])):
            break
        moved = np.max(np.abs(path[-1] - y)[ways])
        filled = np.max(np.abs(path[-1] - y)[pressures], initial=0.0)
        y = np.where(still, 0.0, path[-1])
        longest = turn % len(_SETTLING) == len(_SETTLING) - 1 or slow
        if longest and moved < _NUDGE and filled < _FILLED and turn > 2 * len(_SETTLING):
            return y, True
    return y, False
