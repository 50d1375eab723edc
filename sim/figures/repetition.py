"""How a note repeats at one rate, judged stroke by stroke; `keyaction.sim.figures.rates` searches the rates."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

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
