"""Reading a motion: instants at which a recorded quantity passes a level, and values at an instant."""

from __future__ import annotations

import numpy as np

from keyaction.models.train.equations import ACCOUNTS
from keyaction.sim.motion.drives import Drive, Piece
from keyaction.sim.motion.integrate import Motion
from keyaction.sim.published.bench import tightened

__all__ = ["balance", "crossing", "hands_off", "tightened", "unseating", "value_at"]


def crossing(motion: Motion, name: str, level: float, after: float = 0.0) -> float:
    """First instant (s) after `after` at which the quantity rises through `level`, between the recorded ones."""
    values = motion[name]
    above = np.flatnonzero((values[1:] > level) & (values[:-1] <= level) & (motion.t[1:] > after))
    assert above.size, f"{name} never rises through {level:g}; its highest is {values.max():g}"
    i = int(above[0])
    share = (level - values[i]) / (values[i + 1] - values[i])
    return float(motion.t[i] + share * (motion.t[i + 1] - motion.t[i]))


def value_at(motion: Motion, name: str, t: float) -> float:
    """A recorded quantity at an instant."""
    return float(np.interp(t, motion.t, motion[name]))


def unseating(motion: Motion) -> float:
    """The instant at which the pallet leaves its seat."""
    return crossing(motion, "seat_gap", 0.0)


def balance(motion: Motion) -> np.ndarray:
    """Work in less work lost less energy stored (J) since the start, at every recorded instant."""
    finger, wind, friction, damping = (motion[f"work_{name}"] - motion[f"work_{name}"][0] for name in ACCOUNTS)
    return finger + wind - friction - damping - (motion["energy"] - motion["energy"][0])


def hands_off(duration: float) -> Drive:
    """Nothing touches the key."""
    return Drive("motion", (Piece(0.0, duration),), stiffness=0.0)
