"""What is played on designs in lanes, and what is read of it: one text for NumPy and for the arrays of a device."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, ClassVar, Protocol, Self

import numpy as np

from keyaction.cases.action.strokes import Strokes
from keyaction.models.train.structure import TURN_LIMIT
from keyaction.sim.code.watch import (
    ALIKE_ROW,
    CLOSE_ROWS,
    CROSSINGS,
    DRIVE,
    LIMITS,
    MEASURES,
    OPENINGS,
    REPEAT_ROWS,
    STROKE_ROWS,
    WILD,
)
from keyaction.sim.figures.limits import EMPTY, REOPENED
from keyaction.sim.figures.rates import BEYOND, FAILED
from keyaction.sim.figures.repetition import COUNT, STEP
from keyaction.sim.motion.drives import FINGER_DAMPING

_NEVER = 1e9
_OFF = {
    "down_rate": 1.0,
    "lift": _NEVER,
    "up_rate": 1.0,
    "touch": 0.0,
    "depth": 0.0,
    "k_finger": 0.0,
    "alpha_finger": FINGER_DAMPING,
    "period": _NEVER,
    "frequency": 0.0,
    "end": _NEVER,
}
VERDICT, CLOSENESS = REPEAT_ROWS - 1, CLOSE_ROWS - 1
"""Rows of the record of repeated strokes."""
WATCHED = (
    "opening_time",
    "speech_delay",
    "release_delay",
    "overshoot",
    "bounce",
    "peak_force",
    "speech_after_release",
    "pallet_speed",
)
"""Figures of a standard stroke in their order; behind them whether a bounce is nearly another, and the widest turns."""

Lanes = Mapping[str, Any]
"""What is known of the design of each lane, by name: arrays (lanes,) or (lanes, k)."""


def drive_rows(arrays: Any, n: int, **values: Any) -> Any:
    """Drive rows of n lanes, (n, k); what is not named is off."""
    rows = [arrays.asarray(values.get(name, _OFF[name]), dtype="float64") for name in DRIVE]
    return arrays.stack([arrays.broadcast_to(row, (n,)) for row in rows], axis=1)


class Play(Protocol):
    """A motion of lanes.

    Attributes
    ----------
    motion : str
        The function that plays it.
    record : int
        Rows of its record.
    """

    motion: ClassVar[str]
    record: ClassVar[int]

    def drive(self, arrays: Any, lanes: Lanes, tenths: Any) -> Any:
        """How lanes are driven, (lanes, k); repeated strokes at rates in steps of 0.1 Hz."""

    def seconds(self, lanes: Lanes, tenths: Any) -> Any:
        """How long lanes are played: s."""

    def told(self, arrays: Any, watched: Watched, lanes: Lanes) -> Any:
        """What is read of it, (lanes, k)."""


@dataclass(frozen=True)
class Watched:
    """What lanes kept: widest turns of what turns (lanes, k), the record (lanes, rows), ways at the end (lanes, m)."""

    turns: Any
    record: Any
    ended: Any

    def tame(self, arrays: Any) -> tuple[Any, Any]:
        """The record, NaN where a lane left the range of the model, and which lanes stayed finite."""
        bounded = arrays.all(arrays.isfinite(self.ended), axis=1)
        tame = arrays.all(self.turns <= TURN_LIMIT, axis=1) & bounded
        return arrays.where(tame[:, None], self.record, np.nan), bounded


@dataclass(frozen=True)
class Driven:
    """Lanes whose drive is given."""

    motion: ClassVar[str] = "trace"
    record: ClassVar[int] = 0

    def drive(self, arrays: Any, lanes: Lanes, tenths: Any) -> Any:  # noqa: ARG002  there is no choice
        return lanes["drive"]

    def seconds(self, lanes: Lanes, tenths: Any) -> Any:  # noqa: ARG002  whoever asks says so
        return lanes["h"]

    def told(self, arrays: Any, watched: Watched, lanes: Lanes) -> Any:  # noqa: ARG002
        return watched.turns


@dataclass(frozen=True)
class Standard:
    """The standard stroke: down, held and up in s; how deep as a share of the dip; the finger in N/m; s after it."""

    down: float
    hold: float
    up: float
    depth: float
    finger: float
    tail: float

    motion: ClassVar[str] = "stroke"
    record: ClassVar[int] = STROKE_ROWS

    @classmethod
    def of(cls, strokes: Strokes, tail: float = 0.22) -> Standard:
        """As a case says."""
        return cls(strokes.down, strokes.hold, strokes.up, strokes.depth, strokes.finger, tail)

    def drive(self, arrays: Any, lanes: Lanes, tenths: Any) -> Any:  # noqa: ARG002  there is one stroke
        return drive_rows(
            arrays,
            len(lanes["touch"]),
            down_rate=1 / self.down,
            lift=self.down + self.hold,
            up_rate=1 / self.up,
            touch=lanes["touch"],
            depth=self.depth * lanes["dip"],
            k_finger=self.finger,
        )

    def seconds(self, lanes: Lanes, tenths: Any) -> Any:  # noqa: ARG002
        return (self.down + self.hold + self.up + self.tail) + 0.0 * lanes["touch"]

    def told(self, arrays: Any, watched: Watched, lanes: Lanes) -> Any:
        record, _ = watched.tame(arrays)
        figures = self._figures(arrays, record, lanes)
        least, most = (record[:, _measured(name)] for name in OPENINGS[1:])
        columns = [figures[name] for name in WATCHED]
        return arrays.concatenate(
            [arrays.stack([*columns, (least != most).astype("float64")], axis=1), watched.turns], axis=1
        )

    def _figures(self, arrays: Any, record: Any, lanes: Lanes) -> dict[str, Any]:
        h, box, limits = lanes["h"], lanes["box"], lanes["limits"]
        level = {name: limits[:, i] for i, name in enumerate(LIMITS)}

        def crossing(event: str, at: str) -> Any:
            return _crossing(arrays, record, event, level[at], h)

        start, near, far = (crossing(*pair) for pair in (("start", "start_at"), ("near", "near_at"), ("far", "far_at")))
        measures = {name: record[:, _measured(name)] for name in MEASURES}
        steady = arrays.where(lanes["steady"] >= REOPENED, lanes["steady"], np.nan)
        seated, silent = (record[:, CROSSINGS.index(event) * 4] > 0 for event in ("seated", "empty"))
        fell = record[:, CROSSINGS.index("empty") * 4 + 2] > level["empty_at"]  # and was not empty at the lift
        with np.errstate(divide="ignore", invalid="ignore"):
            released = crossing("empty", "empty_at") - (self.down + self.hold)
            speed = (level["far_at"] - level["near_at"]) / (far - near)
            left = measures["left_over"] / box
            left = arrays.where(fell, arrays.maximum(left, EMPTY), left)
            return {
                # What is beyond its level where the search begins has passed it there, not within the step before.
                "opening_time": arrays.maximum(crossing("half", "half_at") - start, 0.0),
                "speech_delay": arrays.maximum(crossing("full", "full_at") - start, 0.0),
                "release_delay": arrays.maximum(released, 0.0),
                "overshoot": arrays.maximum(measures["lift_top"] - lanes["seat"], 0.0) / steady,
                "bounce": arrays.where(seated, measures["openings"], np.nan),
                "peak_force": measures["force_top"],
                "speech_after_release": arrays.where(silent & (box > 0), left, np.nan),
                "pallet_speed": arrays.where(far > near, speed, np.nan),
            }


@dataclass(frozen=True)
class Repeated:
    """Repeated strokes: how deep as a share of the dip; the finger in N/m; how many of the strokes are played at most.

    Told is the place of the verdict's word: a stroke that fails is the last.
    """

    depth: float
    finger: float
    count: int = COUNT

    motion: ClassVar[str] = "repeat"
    record: ClassVar[int] = REPEAT_ROWS

    @classmethod
    def of(cls, strokes: Strokes, count: int = COUNT) -> Self:
        """As a case says."""
        return cls(strokes.repetition_depth, strokes.finger, count)

    def drive(self, arrays: Any, lanes: Lanes, tenths: Any) -> Any:
        rate = tenths * STEP
        period = 1 / rate
        return drive_rows(
            arrays,
            len(rate),
            down_rate=4 * rate,
            lift=0.375 * period,
            up_rate=4 * rate,
            touch=lanes["touch"],
            depth=self.depth * lanes["dip"],
            k_finger=self.finger,
            period=period,
            frequency=rate,
            end=COUNT * period,
        )

    def seconds(self, lanes: Lanes, tenths: Any) -> Any:
        period = 1 / (tenths * STEP)
        return self.count * period + 2 * lanes["h"]

    def told(self, arrays: Any, watched: Watched, lanes: Lanes) -> Any:  # noqa: ARG002
        return self._codes(arrays, watched)[:, None].astype("int8")

    def _codes(self, arrays: Any, watched: Watched) -> Any:
        record, bounded = watched.tame(arrays)
        fault = record[:, VERDICT]
        wide = arrays.any(watched.turns > TURN_LIMIT, axis=1) & bounded
        return arrays.where(arrays.isfinite(fault), fault, arrays.where(wide, float(BEYOND), float(FAILED)))


@dataclass(frozen=True)
class RepeatedClosely(Repeated):
    """The same, where a lane ends once a stroke failed or went as the one before (on the processor if none was close).

    Told are also whether the verdict is so clear that less precision is enough, and whether it is still open after so
    many strokes.
    """

    motion: ClassVar[str] = "repeat_closely"
    record: ClassVar[int] = CLOSE_ROWS

    def told(self, arrays: Any, watched: Watched, lanes: Lanes) -> Any:  # noqa: ARG002
        codes, away = self._codes(arrays, watched), watched.record[:, CLOSENESS]
        widest, verdict = arrays.max(watched.turns, axis=1), watched.record[:, VERDICT]
        wild = (verdict == 0) & (widest > WILD[0]) & (widest < WILD[1])
        sure = (away >= 1.0) & ~wild & (codes != FAILED)  # and no NaN is sure
        alike = watched.record[:, ALIKE_ROW] == 1.0
        open_ = ~((verdict > 0) | (alike & (widest < WILD[0])))  # and what is no number is open
        return arrays.stack([codes, sure, open_], axis=1).astype("int8")


def _crossing(arrays: Any, record: Any, event: str, level: Any, h: Any) -> Any:
    k = CROSSINGS.index(event) * 4
    happened, when, before, after = (record[:, k + i] for i in range(4))
    with np.errstate(divide="ignore", invalid="ignore"):
        share = arrays.where(after != before, (after - level) / (after - before), 0.0)
    return arrays.where(happened > 0, when - h * arrays.clip(share, 0.0, 1.0), np.nan)


def _measured(name: str) -> int:
    return len(CROSSINGS) * 4 + MEASURES.index(name)
