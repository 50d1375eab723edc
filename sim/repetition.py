"""How fast a note repeats: judged stroke by stroke, searched to 0.1 Hz."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from keyaction.sim import drives
from keyaction.sim.drives import Drive
from keyaction.sim.integrate import Motion
from keyaction.sim.measure import Floats

COUNT = 6
"""Strokes in a trial: the first starts from rest, the later ones meet what the earlier ones left behind."""
STEP = 0.1
"""Hz to which the rate is searched."""
FULL, EMPTY = 0.9, 0.1
"""Shares of the box pressure above which the groove is full and below which it is empty."""

LIMITS = {
    "": "within the tried range",
    "not full": "the groove did not fill",
    "not empty": "the groove did not empty",
    "not seated": "the pallet did not seat",
    "failed": "the motion could not be integrated",
}
"""What can limit a repetition rate, in words."""


@dataclass(frozen=True)
class Trial:
    """A motion reduced to what the judge needs; any integrator can supply it."""

    t: Floats
    groove: Floats
    gap: Floats
    ok: bool = True


Player = Callable[[Drive], Trial]
"""Plays a drive. The searches see no more of an integrator than this."""


@dataclass(frozen=True)
class Repetition:
    """Highest rate (Hz) at which every stroke speaks and every release is silent, and what fails above it."""

    rate: float
    limit: str
    trials: int

    @property
    def reason(self) -> str:
        return LIMITS[self.limit]


def trial(motion: Motion) -> Trial:
    """What the judge sees of a motion."""
    return Trial(motion.t, motion["groove_pressure"], motion["seat_gap"], motion.status.ok)


def verdict(played: Trial, drive: Drive, box: float) -> str:
    """Empty if all strokes pass, else the first thing that fails.

    Every stroke takes the groove above 90 % between its press and the next, and every release takes it
    below 10 % and seats the pallet between its lift and the next press.
    """
    if not played.ok:
        return "failed"
    count = sum(name.startswith("press ") for name, _ in drive.marks)
    for i in range(count):
        press, lift, end = (drive.mark(f"{name} {i}") for name in ("press", "lift", "end"))
        whole = (played.t >= press) & (played.t <= end)
        after = (played.t >= lift) & (played.t <= end)
        if np.max(played.groove[whole]) < FULL * box:
            return "not full"
        empty = played.groove[after] < EMPTY * box
        if not np.any(empty):
            return "not empty"
        if not np.any(empty & (played.gap[after] <= 0.0)):
            return "not seated"
    return ""


def search(play: Player, depth: float, box: float, highest: float, stiffness: float) -> Repetition:
    """Search the repetition rate by halving between a rate that passes and one that fails.

    Parameters
    ----------
    play : callable
        Plays a drive and returns a `Trial`.
    depth : float
        Finger's depth, m.
    box : float
        Box pressure, Pa.
    highest : float
        Highest rate tried, Hz.
    stiffness : float
        Of the finger, N/m.

    Returns
    -------
    Repetition
        Rate 0 where even the slowest trial (1 Hz) fails. Between two tried rates the outcome is taken to
        change once; the rate is the highest that passed next to one that failed.
    """
    seen: dict[int, str] = {}

    def fails(tenths: int) -> str:
        if tenths not in seen:
            drive = drives.repeated(tenths * STEP, depth, COUNT, stiffness)
            seen[tenths] = verdict(play(drive), drive, box)
        return seen[tenths]

    low, high = round(1 / STEP), int(highest / STEP + 1e-9)
    if fails(low):
        return Repetition(0.0, fails(low), len(seen))
    if not fails(high):
        return Repetition(high * STEP, "", len(seen))
    while high - low > 1:
        middle = (low + high) // 2
        if fails(middle):
            high = middle
        else:
            low = middle
    return Repetition(round(low * STEP, 1), fails(high), len(seen))
