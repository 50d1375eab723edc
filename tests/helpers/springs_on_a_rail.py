"""Notes made in closed form for a floating rail: springs that only pull."""

import numpy as np

from keyaction.models.frame.rail import Rail
from keyaction.sim.floating.equilibrium import Held
from keyaction.sim.tightening.tightness import Tightness

KNOWN = np.linspace(-5e-3, 5e-3, 201)
"""m; nought is a node, so that the springs are exact."""
G = 9.80665


def rail(load=20.0, **others):
    """A rail that hangs, between stops of 5 mm."""
    return Rail(("square",), "down", others.pop("mass", load / G), load, **others)


def note(number, way=0.65, opens=2e-3):
    """A note of which the rail needs no more than this; its pallet leaves its seat at a stretch (m)."""
    nought = np.zeros(len(KNOWN))
    settled = np.ones(len(KNOWN), dtype=bool)
    return Tightness(number, None, "rod", way, KNOWN, nought, KNOWN - opens, nought, nought, {}, settled)


def springs(on, k, gains=None, weight=0.0, way=0.65, opens=2e-3, slack=0.0):
    """A rail and its notes: rod of rate k (N/m) each, taut above a stretch (m), pulling no less than its weight (N)."""
    k = np.atleast_1d(np.asarray(k, dtype=float))
    gains = np.ones(len(k)) if gains is None else np.asarray(gains, dtype=float)
    numbers = range(60, 60 + len(k))
    return Held.of(
        on,
        {i: note(i, way, opens) for i in numbers},
        dict(zip(numbers, gains.tolist(), strict=True)),
        {
            i: weight + g * np.maximum(0.0, one * (KNOWN - slack))
            for i, one, g in zip(numbers, k.tolist(), gains.tolist(), strict=True)
        },
    )
