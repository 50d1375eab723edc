"""How fast a note repeats: judged stroke by stroke; the rate below which every rate tried passes, to 0.1 Hz."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from keyaction.sim.code.layout import Layout
from keyaction.sim.figures.limits import EMPTY, FULL, LIMITS
from keyaction.sim.figures.measure import Floats
from keyaction.sim.motion import drives
from keyaction.sim.motion.drives import Drive
from keyaction.sim.motion.integrate import Enough, Motion

COUNT = 6
"""Strokes in a trial: the first starts from rest, the later ones meet what the earlier ones left behind."""
STEP = 0.1
"""Hz to which the rate is searched."""
LOWEST, GRID = 10, 5
"""Tenths of Hz: slowest rate tried, and between the rates of the first look.

A key that rebounds fails at some rates and passes at faster ones again: rates between two failing ones half a hertz
apart and passing ones on both sides would be missed.
"""
WALK = 10
"""Tenths of Hz that another integrator goes from a boundary that it does not confirm, before it looks at all rates."""


@dataclass(frozen=True)
class Trial:
    """A motion reduced to what the judge needs; any integrator can supply it."""

    t: Floats
    least: Floats
    """Pressure of the groove, or what tells of several that all are full."""
    most: Floats
    """The same, or what tells of several that all are empty."""
    gap: Floats
    fault: str = ""
    """Why it is no motion at all: ``beyond`` or ``failed``, as in `LIMITS`; empty for a sound one."""


Player = Callable[[Drive], Trial]
"""Plays a drive. The searches see no more of an integrator than this."""


@dataclass(frozen=True)
class Repetition:
    """The rate (Hz) up to which every stroke speaks and every release is silent, and what fails above it.

    `again` is the highest tried rate beyond it that passes once more, 0 where none does; `sensitive` tells, where an
    integrator does not confirm itself at another tolerance, what it finds there. `agreed` says that three steps of one
    find the same boundary, so that another need not be asked.
    """

    rate: float
    limit: str
    trials: int
    again: float = 0.0
    sensitive: str = ""
    agreed: bool = False

    @property
    def reason(self) -> str:
        """In words; empty where no rate was searched."""
        told = [LIMITS[self.limit]] if self.limit or math.isfinite(self.rate) else []
        told += [f"passes again up to {self.again:.1f} Hz"] if self.again > 0.0 else []
        return "; ".join([*told, *([self.sensitive] if self.sensitive else [])])


def trial(motion: Motion) -> Trial:
    """What the judge sees of a motion."""
    fault = "" if motion.status.ok else "beyond" if motion.status.beyond else "failed"
    least, most, gap = (motion[name] for name in motion.kernel.speech)
    return Trial(motion.t, least, most, gap, fault)


def verdict(played: Trial, drive: Drive, box: float) -> str:
    """Empty if all strokes pass, else the first thing that fails.

    Every stroke takes the groove above 90 % between its press and the next, and every release takes it
    below 10 % and seats the pallet between its lift and the next press.
    """
    if played.fault:
        return played.fault
    return next((found for i in range(drive.strokes) if (found := _of_stroke(played, drive, box, i))), "")


def _of_stroke(played: Trial, drive: Drive, box: float, stroke: int) -> str:
    """What fails in one stroke; empty if it passes."""
    press, lift, end = (drive.mark(f"{name} {stroke}") for name in ("press", "lift", "end"))
    whole = (played.t >= press) & (played.t <= end)
    after = (played.t >= lift) & (played.t <= end)
    if np.max(played.least[whole]) < FULL * box:
        return "not full"
    empty = played.most[after] < EMPTY * box
    if not np.any(empty):
        return "not empty"
    if not np.any(empty & (played.gap[after] <= 0.0)):
        return "not seated"
    return ""


def failing(layout: Layout, drive: Drive, box: float) -> Enough:
    """What ends a trial with the first stroke that fails: nothing that comes later changes its verdict."""
    columns = [layout.observables.index(name) for name in layout.speech]
    rows, stroke = np.zeros((0, 4)), 0

    def enough(t: Floats, seen: Floats) -> bool:
        nonlocal rows, stroke
        rows = np.vstack([rows, np.column_stack([t, seen[:, columns]])])
        if t[-1] < drive.mark(f"end {stroke}"):
            return False
        time, least, most, gap = rows.T
        if _of_stroke(Trial(time, least, most, gap), drive, box, stroke):
            return True
        rows, stroke = rows[-1:], stroke + 1
        return False

    return enough


Verdicts = Callable[[np.ndarray, np.ndarray], Sequence[str]]
"""Of rates in steps of 0.1 Hz and designs the outcome of a trial each; empty where a design passes."""


def search_all(count: int, highest: float, verdicts: Verdicts) -> list[Repetition]:
    """Search the repetition rates of many designs side by side.

    Every half hertz from 1 Hz to the highest is tried, and the tenths between the last that passes and the first that
    fails.

    Parameters
    ----------
    count : int
        How many designs.
    highest : float
        Highest rate tried, Hz.
    verdicts : callable
        See `Verdicts`.

    Returns
    -------
    list of Repetition
        Rate 0 where the slowest trial (1 Hz) fails.
    """
    top = int(highest / STEP + 1e-9)
    grid = np.array([*range(LOWEST, top, GRID), top])
    each = np.arange(count)
    told = _asked(verdicts, np.repeat(grid, count), np.tile(each, len(grid))).reshape(len(grid), count)
    fails = told != ""
    first = np.where(fails.any(axis=0), fails.argmax(axis=0), len(grid))
    found = [_coarse(grid, told[:, i], int(first[i])) for i in range(count)]
    open_ = [i for i in range(count) if 0 < first[i] < len(grid)]
    between = [(tenths, i) for i in open_ for tenths in range(grid[first[i] - 1] + 1, grid[first[i]])]
    if between:
        rates, which = (np.array(column) for column in zip(*between, strict=True))
        for tenths, i, outcome in zip(rates, which, _asked(verdicts, rates, which), strict=True):
            one = found[i]
            if outcome == "" and one.rate == round((tenths - 1) * STEP, 1):
                found[i] = replace(one, rate=round(float(tenths) * STEP, 1))
            elif outcome != "" and one.rate == round((tenths - 1) * STEP, 1):
                found[i] = replace(one, limit=str(outcome))
            found[i] = replace(found[i], trials=found[i].trials + 1)
    return found


def _asked(verdicts: Verdicts, tenths: np.ndarray, which: np.ndarray) -> np.ndarray:
    return np.array(verdicts(tenths, which), dtype=object)


def _coarse(grid: np.ndarray, told: np.ndarray, first: int) -> Repetition:
    """What the half hertz tell of one design; the first that fails is the `first`-th."""
    if first == len(grid):
        return Repetition(round(float(grid[-1]) * STEP, 1), "", len(grid))
    passes = [tenths for tenths, outcome in zip(grid[first:], told[first:], strict=True) if outcome == ""]
    rate = float(grid[first - 1]) * STEP if first else 0.0
    again = round(float(passes[-1]) * STEP, 1) if passes else 0.0
    return Repetition(round(rate, 1), str(told[first]), len(grid), again)


def judge(play: Player, depth: float, box: float, stiffness: float) -> Verdicts:
    """Verdicts of one note by any integrator.

    Parameters
    ----------
    play : callable
        Plays a drive and returns a `Trial`.
    depth : float
        Finger's depth, m.
    box : float
        Box pressure, Pa.
    stiffness : float
        Of the finger, N/m.
    """

    def one(tenths: int) -> str:
        drive = drives.repeated(tenths * STEP, depth, COUNT, stiffness)
        return verdict(play(drive), drive, box)

    return lambda tenths, which: [one(int(rate)) for rate in tenths]  # noqa: ARG005  one note: there is no choice


def search(verdicts: Verdicts, highest: float) -> Repetition:
    """Search the repetition rate of one note."""
    return search_all(1, highest, verdicts)[0]


def confirmed(found: Repetition, verdicts: Verdicts, highest: float) -> Repetition:
    """A rate found by one integrator, asked of another at its boundary alone.

    Where the other does not agree it goes on from there by 0.1 Hz to its own boundary; where that is more than 1 Hz
    away it looks at all rates.
    """
    top = int(highest / STEP + 1e-9)
    start = round(found.rate / STEP)

    def fails(tenths: int) -> str:
        if tenths < LOWEST:
            return ""
        return found.limit if tenths > top else verdicts(np.array([tenths]), np.array([0]))[0]

    if start < LOWEST:
        return found if fails(LOWEST) else search(verdicts, highest)
    outcome, at = fails(start), start
    if not outcome:
        while at < min(start + WALK, top) and not (outcome := fails(at + 1)):
            at += 1
        if outcome or at in (start, top):
            return replace(found, rate=round(at * STEP, 1), limit=outcome if at < top else "", again=_beyond(found, at))
        return search(verdicts, highest)
    while at > max(start - WALK, LOWEST):
        at -= 1
        below = fails(at)
        if not below:
            return replace(found, rate=round(at * STEP, 1), limit=outcome, again=_beyond(found, at))
        outcome = below
    return search(verdicts, highest)


def _beyond(found: Repetition, at: int) -> float:
    """The rate that passes again, where it still lies beyond the boundary."""
    return found.again if found.again > at * STEP + STEP / 2 else 0.0
