"""What of designs the watch compares with, and where their motions begin; computed where they are played."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Protocol

import numpy as np

from keyaction.sim.code.watch import LIMITS
from keyaction.sim.figures.limits import EMPTY, FAR, FULL, HALF, NEAR, REOPENED, SPEECH_START
from keyaction.sim.lanes.sent import Numbers, Sent
from keyaction.sim.motion.changes import Change

NEARLY = 0.2
"""Share by which a rebound of the pallet in lanes may be off: about a hundredth of a millimetre.

Found were 7 % at the usual step, 3 at half of it and 0.8 at a quarter, over 728 designs of four actions.
"""


@dataclass(frozen=True)
class Columns:
    """Where figures stand: of the parameters, what is recorded, and the states with which motions begin."""

    dip: int
    box: int
    inputs: tuple[int, ...]
    touch: int
    lift: int
    gap: int
    begun: tuple[int, ...]


class Levels(Protocol):
    """Figures of designs by name, (N,) or (N, k)."""

    def at(self, machine: Any) -> Mapping[str, Any]:
        """On a device."""


@dataclass(frozen=True)
class OfDesigns:
    """Levels of designs from their parameters and rest.

    Attributes
    ----------
    columns : Columns
    changes : sequence of (int, Change)
        What changes from outside, with the place of its input.
    parameters, steps : Sent
        (M, np), and (M, 1) in s; `base` says which rows are those of the N designs, if not all.
    states, seen : Sent, optional
        (N, n) and (N, m): where they rest.
    lifts : Sent, optional
        (N, 1): steady lift, m.
    drive : Sent, optional
        (N, k): how they are driven, where it is given; nothing is watched then.
    nearly : float
        See `NEARLY`.
    """

    columns: Columns
    changes: Sequence[tuple[int, Change]]
    parameters: Sent
    steps: Sent
    base: Numbers | None
    states: Sent | None = None
    seen: Sent | None = None
    lifts: Sent | None = None
    drive: Sent | None = None
    nearly: float = NEARLY

    def at(self, machine: Any) -> dict[str, Any]:
        arrays, columns = machine.arrays, self.columns
        p, h = (one.at(machine, "float64", self.base) for one in (self.parameters, self.steps))
        found = {"h": h[:, 0], "outer": self._outer(arrays, p), "limits": arrays.zeros((len(p), len(LIMITS)))}
        if self.states is not None:
            found["begun"] = self.states.at(machine, "float64")[:, list(columns.begun)]
        if self.drive is not None:
            return found | {"drive": self.drive.at(machine, "float64")}
        assert self.seen is not None
        seen = self.seen.at(machine, "float64")
        found |= {"box": p[:, columns.box], "dip": p[:, columns.dip], "touch": seen[:, columns.touch]}
        found["seat"] = seen[:, columns.lift] - seen[:, columns.gap]
        none = arrays.full(len(p), np.inf)
        found["steady"] = none if self.lifts is None else self.lifts.at(machine, "float64")[:, 0]
        return found | {"limits": limits(arrays, found["touch"], found["box"], found["steady"], self.nearly)}

    def _outer(self, arrays: Any, p: Any) -> Any:
        """What changes from outside: of every input its value, change, begin and speed."""
        changes, rows = dict(self.changes), []
        for k, column in enumerate(self.columns.inputs):
            value, one = p[:, column], changes.get(k)
            after = value if one is None else one.after
            start, speed = (0.0, 1.0) if one is None else (one.start, 1 / (one.end - one.start))
            rows += [value, after - value, arrays.full(len(p), start), arrays.full(len(p), speed)]
        return arrays.stack(rows, axis=1) if rows else arrays.empty((len(p), 0))


def limits(arrays: Any, touch: Any, box: Any, held: Any, nearly: float) -> Any:
    """Levels that the watch compares with, (n, k); `held` is the steady lift, in m."""
    far = arrays.minimum(FAR, arrays.where(held >= REOPENED, held, np.nan) / 2)
    near = arrays.minimum(NEAR, far / 2)
    rows = {
        "start_at": touch + SPEECH_START,
        "half_at": HALF * box,
        "full_at": FULL * box,
        "empty_at": EMPTY * box,
        "near_at": near,
        "far_at": far,
        "reopened_at": arrays.full(len(touch), REOPENED),
        "surely_at": arrays.full(len(touch), REOPENED * (1 + nearly)),
        "perhaps_at": arrays.full(len(touch), REOPENED / (1 + nearly)),
    }
    return arrays.stack([rows[name] for name in LIMITS], axis=1)
