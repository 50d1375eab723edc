"""Notes and rail before anything is played: all relax together, without friction, until the rods hold the load."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np

from keyaction.sim.floating.places import OnRail, Places
from keyaction.sim.motion.integrate import Failed, Floats
from keyaction.sim.motion.rest import STOPPED, rubbing

_SETTLING = (0.5e-3, 2e-3, 8e-3)
"""s after which all motion is stopped, in turn."""
_NUDGE, _FILLED = 2e-9, 1e-4
"""m or rad, and Pa, within a longest spell: of what rests, and of a groove that is full."""
_TURNS, _LONGER, _PACE = 300, 60, 4.0
"""Spells at most; after how many they are longer, for what has far to go, and how many times."""

Follow = Callable[[Floats, Floats], Floats]
"""States (N, n) from a state at instants (N,)."""


class NoRest(RuntimeError):
    """Notes and rail that do not come to rest together."""


def slippery(notes: Sequence[OnRail]) -> Floats:
    """The parameters of all notes, none of which rubs."""
    found = []
    for one in notes:
        names = one.model.kernel().parameters
        found.append(np.where(rubbing(one.model.train, names), 0.0, one.model.parameters()))
    return np.concatenate(found)


def begun(notes: Sequence[OnRail], places: Places) -> Floats:
    """Every note as it rests with the rail at its centre, (n,)."""
    y = np.zeros(places.size)
    for i, one in enumerate(notes):
        y[places.at[i] : places.at[i + 1]] = one.model.rest()
    return y


def rested(follow: Follow, y: Floats, places: Places) -> Floats:
    """The state (n,) in which notes and rail rest, their motion stopped again and again.

    Raises
    ------
    NoRest
        If they go on moving: a load that the rods cannot hold drives the rail on to its stop first.
    """
    still = np.array([kind in STOPPED for kind in places.kinds])
    ways = np.array([kind == "coordinate" for kind in places.kinds])
    pressures = np.array([kind == "pressure" for kind in places.kinds])
    for turn in range(_TURNS):
        pace = _PACE if turn >= _LONGER else 1.0
        spell = pace * _SETTLING[turn % len(_SETTLING)]
        try:
            last = follow(y, np.array([0.0, spell]))[-1]
        except Failed as problem:
            raise NoRest(f"notes and rail do not come to rest: {problem}") from problem
        moved, filled = np.max(np.abs(last - y)[ways]), np.max(np.abs(last - y)[pressures], initial=0.0)
        y = np.where(still, 0.0, last)
        longest = turn % len(_SETTLING) == len(_SETTLING) - 1
        if longest and moved < _NUDGE and filled < _FILLED and turn > 2 * len(_SETTLING):
            return y
    raise NoRest(f"notes and rail still move by {moved * 1e6:.3g} µm in {spell * 1e3:g} ms")
