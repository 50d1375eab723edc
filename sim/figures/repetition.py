"""How fast a note repeats: judged stroke by stroke, searched to 0.1 Hz."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from keyaction.sim.figures.limits import EMPTY, FULL
from keyaction.sim.figures.measure import Floats
from keyaction.sim.motion import drives
from keyaction.sim.motion.drives import Drive
from keyaction.sim.motion.integrate import Motion

COUNT = 6
"""Strokes in a trial: the first starts from rest, the later ones meet what the earlier ones left behind."""
STEP = 0.1
"""Hz to which the rate is searched."""
LOWEST, USUAL = 10, 40
"""Tenths of Hz: slowest rate tried, and the rate tried first below the highest."""

LIMITS = {
    "": "within the tried range",
    "not full": "the groove did not fill",
    "not empty": "the groove did not empty",
    "not seated": "the pallet did not seat",
    "beyond": "a body turned further than the equations hold",
    "failed": "the motion could not be integrated",
}
"""What can limit a repetition rate, in words."""


@dataclass(frozen=True)
class Trial:
    """A motion reduced to what the judge needs; any integrator can supply it."""

    t: Floats
    groove: Floats
    gap: Floats
    fault: str = ""
    """Why it is no motion at all: ``beyond`` or ``failed``, as in `LIMITS`; empty for a sound one."""


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
    fault = "" if motion.status.ok else "beyond" if motion.status.beyond else "failed"
    return Trial(motion.t, motion["groove_pressure"], motion["seat_gap"], fault)


def verdict(played: Trial, drive: Drive, box: float) -> str:
    """Empty if all strokes pass, else the first thing that fails.

    Every stroke takes the groove above 90 % between its press and the next, and every release takes it
    below 10 % and seats the pallet between its lift and the next press.
    """
    if played.fault:
        return played.fault
    for i in range(drive.strokes):
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


def halving(
    count: int, highest: float, verdicts: Callable[[np.ndarray, np.ndarray], Sequence[str]]
) -> list[Repetition]:
    """Search the repetition rates of many designs side by side: halving between a rate that passes and one that fails.

    Parameters
    ----------
    count : int
        How many designs.
    highest : float
        Highest rate tried, Hz.
    verdicts : callable (tenths, which)
        Outcome of one trial each: rates in steps of 0.1 Hz, and which designs; empty where a design passes.

    Returns
    -------
    list of Repetition
        Rate 0 where even the slowest trial (1 Hz) fails. Between two tried rates the outcome is taken to
        change once; the rate is the highest that passed next to one that failed.
    """
    low, high = np.full(count, LOWEST), np.full(count, int(highest / STEP + 1e-9))
    limit, trials = [""] * count, np.zeros(count, dtype=int)

    def ask(tenths: np.ndarray, which: np.ndarray) -> np.ndarray:
        told = verdicts(tenths, which)
        trials[which] += 1
        for i, verdict_i in zip(which.tolist(), told, strict=True):
            limit[i] = verdict_i or limit[i]
        return np.array([verdict_i == "" for verdict_i in told], dtype=bool)

    everyone = np.arange(count)
    done = ask(high, everyone)
    searched = everyone[~done]
    if len(searched):
        usual = np.minimum(USUAL, high[searched] - 1)
        passed = ask(usual, searched)
        low[searched] = np.where(passed, usual, low[searched])
        high[searched] = np.where(passed, high[searched], usual)
    slow = everyone[~done & (low == LOWEST)]
    hopeless = slow[~ask(low[slow], slow)] if len(slow) else slow
    open_ = np.setdiff1d(searched, hopeless)
    while len(open_ := open_[high[open_] - low[open_] > 1]):
        middle = (low[open_] + high[open_]) // 2
        passed = ask(middle, open_)
        low[open_] = np.where(passed, middle, low[open_])
        high[open_] = np.where(passed, high[open_], middle)
    low[hopeless] = 0
    return [
        Repetition(round(float(high[i] if done[i] else low[i]) * STEP, 1), "" if done[i] else limit[i], int(trials[i]))
        for i in range(count)
    ]


def search(play: Player, depth: float, box: float, highest: float, stiffness: float) -> Repetition:
    """Search the repetition rate of one note with any integrator.

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
    """

    def verdicts(tenths: np.ndarray, which: np.ndarray) -> list[str]:  # noqa: ARG001  one note: there is no choice
        drive = drives.repeated(float(tenths[0]) * STEP, depth, COUNT, stiffness)
        return [verdict(play(drive), drive, box)]

    return halving(1, highest, verdicts)[0]
