"""Many designs at once: rest, standard stroke, slow press and repetition search, in lanes of one compiled step."""

from __future__ import annotations

import os
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field

import numpy as np

from keyaction.cases.strokes import Strokes
from keyaction.models.equations import Structure, derived
from keyaction.sim.drives import FINGER_DAMPING, PRESS_EASE, PRESS_HOLD
from keyaction.sim.integrate import Floats
from keyaction.sim.lane_code import CROSSINGS, DRIVE, LIMITS, MEASURES, REPEAT_ROWS, STROKE_ROWS
from keyaction.sim.lane_kernel import LaneKernel, load_lanes
from keyaction.sim.lane_lowering import TURN_LIMIT
from keyaction.sim.repetition import COUNT, EMPTY, FULL, STEP, Repetition, halving
from keyaction.sim.stiffness import longest_step

_NEVER, _AT_ONCE = 1e9, 1e-12
_FRICTION = ("tau0_", "c_", "F0_", "mu_bend_")
_FAULTS = ("", "not full", "not empty", "not seated")
RELAX_TIME, RELAX_LIMIT, RELAXED = 0.05, 40, 1e-7
"""s of relaxing between looks, how many looks, and the change (rad, m) below which a train is at rest."""
SPEECH_START, REOPENED, NEAR, FAR = 1e-3, 5e-5, 0.5e-3, 3e-3
"""m: as in `keyaction.sim.quantities`."""


@dataclass(frozen=True)
class Rest:
    """Rest of every design: states (N, n) by name, and observables at rest (N, m)."""

    states: Floats
    seen: Floats
    settled: np.ndarray


@dataclass(frozen=True)
class Trace:
    """A whole motion of every design: times (k,), states (N, k, n), observables (N, k, m)."""

    t: Floats
    y: Floats
    seen: Floats


@dataclass
class Batch:
    """Designs of one structure.

    Parameters
    ----------
    structure : Structure
    parameters : (N, np) array
        One row per design, in the order of the system's parameters.
    step : float, optional
        Time step in s; by default from the stiffest of the designs.
    jobs : int
        Threads; 0 means one per core. The compiled step runs without the interpreter.
    """

    structure: Structure
    parameters: Floats
    step: float | None = None
    jobs: int = 0
    kernel: LaneKernel = field(init=False)

    def __post_init__(self) -> None:
        self.kernel = load_lanes(self.structure)
        self.system = derived(self.structure)
        self.names = [p.symbol.name for p in self.system.params]
        self.observables = [o.name for o in self.system.observables]
        self.states = [row.symbol.name for row in self.system.states]
        if self.step is None:
            self.step = longest_step(self.structure, self.parameters)
        self._fixed = self._constants(self.parameters)

    def __len__(self) -> int:
        return len(self.parameters)

    @property
    def h(self) -> float:
        """The time step, s."""
        assert self.step is not None
        return self.step

    def parameter(self, name: str) -> Floats:
        """One parameter of all designs."""
        return np.asarray(self.parameters[:, self.names.index(name)])

    def _constants(self, parameters: Floats) -> Floats:
        found = np.empty((len(parameters), self.kernel.constant_count))
        self.kernel.constants(np.ascontiguousarray(parameters), self.h, found)
        return found

    # -- blocks ----------------------------------------------------------------------------------------
    def _blocks(self, count: int) -> list[np.ndarray]:
        w = self.kernel.width
        order = np.arange(count)
        return [
            np.resize(order[i : i + w], w) if len(order[i : i + w]) < w else order[i : i + w]
            for i in range(0, count, w)
        ]

    def _each(self, work: Callable[[np.ndarray], None], count: int) -> None:
        blocks = self._blocks(count)
        jobs = min(self.jobs or os.cpu_count() or 1, len(blocks))
        if jobs <= 1:
            for block in blocks:
                work(block)
            return
        with ThreadPoolExecutor(jobs) as pool:
            list(pool.map(work, blocks))

    def _array(
        self, drive: Floats, limits: Floats, fixed: Floats, states: Floats | None, record: int, lanes: np.ndarray
    ) -> Floats:
        """The flat array of one block: drive, limits, constants, states, record."""
        kernel = self.kernel
        rows = min(kernel.rows.values()) + len(kernel.rows) + record
        made = np.zeros((rows, kernel.width))
        made[: len(DRIVE)] = drive[lanes].T
        made[len(DRIVE) : len(DRIVE) + len(LIMITS)] = limits[lanes].T
        made[len(DRIVE) + len(LIMITS) : len(DRIVE) + len(LIMITS) + fixed.shape[1]] = fixed[lanes].T
        if states is not None:
            for name, row in kernel.rows.items():
                if name in self.states and not name.startswith("work_"):
                    made[row] = states[lanes, self.states.index(name)]
        return made.ravel()

    # -- rest ------------------------------------------------------------------------------------------
    def rest(self) -> Rest:
        """Where every train rests: it relaxes without friction, stopping whatever moves against its force."""
        slippery = self.parameters.copy()
        slippery[:, [i for i, name in enumerate(self.names) if name.startswith(_FRICTION)]] = 0.0
        fixed, n = self._constants(slippery), len(self)
        drive = self._drives(n, k_finger=0.0)
        limits = np.zeros((n, len(LIMITS)))
        states, settled = np.zeros((n, len(self.states))), np.zeros(n, dtype=bool)
        seen = np.zeros((n, len(self.observables)))
        steps = max(int(round(RELAX_TIME / self.h)), 1)

        def work(lanes: np.ndarray) -> None:
            array = self._array(drive, limits, fixed, None, 0, lanes)
            scratch = np.empty((len(self.states) + len(self.observables)) * self.kernel.width)
            table = array.reshape(-1, self.kernel.width)
            ways = [row for name, row in self.kernel.rows.items() if name.startswith("q_")]
            before = np.full((len(ways), self.kernel.width), np.inf)
            for _ in range(RELAX_LIMIT):
                self.kernel.trace(steps, steps, self.h, 1.0, array, scratch)
                calm = np.max(np.abs(table[ways] - before), axis=0) < RELAXED
                if np.all(calm):
                    break
                before = table[ways].copy()
            moving = [row for name, row in self.kernel.rows.items() if not name.startswith(("q_", "p_"))]
            table[moving] = 0.0
            self.kernel.trace(1, 1, self.h, 1.0, array.copy(), scratch)
            told = scratch.reshape(-1, self.kernel.width)
            states[lanes] = told[: len(self.states)].T
            seen[lanes] = told[len(self.states) :].T
            settled[lanes] = calm

        self._each(work, n)
        return Rest(states, seen, settled)

    # -- drives ----------------------------------------------------------------------------------------
    def _drives(self, n: int, **values: Floats | float) -> Floats:
        """Drive rows of n designs; what is not named is off."""
        off = {
            "down_rate": 1.0,
            "lift": _NEVER,
            "up_rate": 1.0,
            "touch": 0.0,
            "depth": 0.0,
            "k_finger": 0.0,
            "alpha_finger": FINGER_DAMPING,
            "smooth": 1.0,
            "period": _NEVER,
            "frequency": 0.0,
            "end": _NEVER,
            "ease": _AT_ONCE,
            "ease_rate": 0.5 / _AT_ONCE,
        }
        return np.stack(
            [np.broadcast_to(np.asarray(values.get(name, off[name]), dtype=float), (n,)) for name in DRIVE], axis=1
        )

    def _key(self) -> str:
        return self.structure[0][1].replace("-", "_")

    def dip(self) -> Floats:
        """Key dip to the felt's surface, m."""
        return self.parameter(f"dip_{self._key()}")

    def box(self) -> Floats:
        """Box pressure, Pa."""
        return self.parameter("p_box")

    def stroke_drive(self, strokes: Strokes, rest: Rest) -> Floats:
        """The standard stroke."""
        return self._drives(
            len(self),
            down_rate=1 / strokes.down,
            lift=strokes.down + strokes.hold,
            up_rate=1 / strokes.up,
            touch=self._touch(rest),
            depth=strokes.depth * self.dip(),
            k_finger=strokes.finger,
        )

    def _touch(self, rest: Rest) -> Floats:
        return np.asarray(rest.seen[:, self.observables.index("key_travel")])

    def press_drive(self, strokes: Strokes, rest: Rest, depth: Floats) -> tuple[Floats, float]:
        """The slow press to `depth` (N,), and how long the longest takes (s)."""
        down = depth / strokes.press_speed
        drive = self._drives(
            len(self),
            down_rate=1 / down,
            lift=down + PRESS_EASE / 2 + PRESS_HOLD,
            up_rate=1 / down,
            touch=self._touch(rest),
            depth=depth,
            k_finger=strokes.press_stiffness,
            alpha_finger=strokes.press_damping,
            smooth=0.0,
            ease=PRESS_EASE,
            ease_rate=0.5 / PRESS_EASE,
        )
        return drive, float(np.max(2 * down)) + PRESS_EASE / 2 + PRESS_HOLD

    # -- runs ------------------------------------------------------------------------------------------
    def trace(self, drive: Floats, rest: Rest, duration: float, every: int = 16) -> Trace:
        """Whole motions, recorded at every `every`-th step."""
        n, steps = len(self), int(np.ceil(duration / self.h))
        kept = (steps + every - 1) // every
        y, seen = np.empty((n, kept, len(self.states))), np.empty((n, kept, len(self.observables)))
        limits = np.zeros((n, len(LIMITS)))
        rows = len(self.states) + len(self.observables)

        def work(lanes: np.ndarray) -> None:
            array = self._array(drive, limits, self._fixed, rest.states, 0, lanes)
            told = np.empty(kept * rows * self.kernel.width)
            self.kernel.trace(steps, every, self.h, 0.0, array, told)
            table = told.reshape(kept, rows, self.kernel.width)
            y[lanes] = table[:, : len(self.states)].transpose(2, 0, 1)
            seen[lanes] = table[:, len(self.states) :].transpose(2, 0, 1)

        self._each(work, n)
        return Trace(np.arange(kept) * every * self.h, y, seen)

    def _watched(
        self,
        run: Callable[..., None],
        drive: Floats,
        limits: Floats,
        rest: Rest,
        steps: Callable[[np.ndarray], int],
        record: int,
        only: np.ndarray | None = None,
    ) -> Floats:
        """Records (n, rows) of a watched run; `steps` tells how many a block needs."""
        chosen = np.arange(len(self)) if only is None else only
        records = np.empty((len(chosen), record))

        def work(places: np.ndarray) -> None:
            lanes = chosen[places]
            array = self._array(drive, limits, self._fixed, rest.states, record, lanes)
            run(steps(lanes), self.h, array)
            table = array.reshape(-1, self.kernel.width)
            turns = [row for name, row in self.kernel.rows.items() if name.startswith("q_")]
            told = table[-record:].T.copy()
            wild = ~np.all(np.abs(table[turns]) < TURN_LIMIT, axis=0)
            told[wild] = np.nan
            records[places] = told

        self._each(work, len(chosen))
        return records

    def limits(self, rest: Rest, steady_lift: Floats | None = None) -> Floats:
        """Levels that the watch compares with, by design."""
        box = self.box()
        far = np.minimum(FAR, (np.full(len(self), np.inf) if steady_lift is None else steady_lift) / 2)
        near = np.minimum(NEAR, far / 2)
        rows = {
            "start_at": self._touch(rest) + SPEECH_START,
            "half_at": 0.5 * box,
            "full_at": FULL * box,
            "empty_at": EMPTY * box,
            "near_at": near,
            "far_at": far,
            "reopened_at": np.full(len(self), REOPENED),
        }
        return np.stack([rows[name] for name in LIMITS], axis=1)

    def stroke(self, strokes: Strokes, rest: Rest, steady_lift: Floats, tail: float = 0.22) -> dict[str, Floats]:
        """The standard stroke's quantities of every design.

        Parameters
        ----------
        strokes : Strokes
        rest : Rest
        steady_lift : (N,) array
            From the slow press, m.
        tail : float
            s off the key after the stroke.

        Returns
        -------
        dict
            ``opening_time``, ``speech_delay``, ``release_delay``, ``overshoot``, ``bounce``, ``peak_force``,
            ``pallet_speed``: (N,) arrays, SI, NaN where a design has none or its motion left the range of the model.
        """
        drive, limits = self.stroke_drive(strokes, rest), self.limits(rest, steady_lift)
        steps = int(round((strokes.down + strokes.hold + strokes.up + tail) / self.h))
        record = self._watched(self.kernel.stroke, drive, limits, rest, lambda _: steps, STROKE_ROWS)
        return _stroke_quantities(
            record, limits, self.h, strokes, rest.seen[:, self.observables.index("pallet_lift")], steady_lift
        )

    def repetition(self, strokes: Strokes, rest: Rest) -> list[Repetition]:
        """Repetition rate of every design, all searched side by side by the same halving as one note alone."""
        limits, depth = self.limits(rest), strokes.repetition_depth * self.dip()

        def verdicts(tenths: np.ndarray, which: np.ndarray) -> list[str]:
            rate = np.ones(len(self))
            rate[which] = tenths * STEP
            period = 1 / rate
            drive = self._drives(
                len(self),
                down_rate=4 * rate,
                lift=0.375 * period,
                up_rate=4 * rate,
                touch=self._touch(rest),
                depth=depth,
                k_finger=strokes.finger,
                period=period,
                frequency=rate,
                end=COUNT * period,
            )
            order = which[np.argsort(tenths)]
            record = self._watched(
                self.kernel.repeat,
                drive,
                limits,
                rest,
                lambda lanes: int(np.ceil(COUNT * np.max(period[lanes]) / self.h)) + 2,
                REPEAT_ROWS,
                order,
            )
            fault = dict(zip(order.tolist(), record[:, 4], strict=True))
            return [_FAULTS[int(fault[i])] if np.isfinite(fault[i]) else "failed" for i in which.tolist()]

        return halving(len(self), strokes.repetition_highest, verdicts)


def _crossing(record: Floats, event: str, level: Floats, h: float) -> Floats:
    k = CROSSINGS.index(event) * 4
    happened, when, before, after = record[:, k : k + 4].T
    with np.errstate(divide="ignore", invalid="ignore"):
        share = np.where(after != before, (after - level) / (after - before), 0.0)
    return np.where(happened > 0, when - h * np.clip(share, 0.0, 1.0), np.nan)


def _stroke_quantities(
    record: Floats, limits: Floats, h: float, strokes: Strokes, rest_lift: Floats, steady: Floats
) -> dict[str, Floats]:
    level = {name: limits[:, i] for i, name in enumerate(LIMITS)}
    start = _crossing(record, "start", level["start_at"], h)
    near, far = _crossing(record, "near", level["near_at"], h), _crossing(record, "far", level["far_at"], h)
    m = len(CROSSINGS) * 4
    measures = {name: record[:, m + i] for i, name in enumerate(MEASURES)}
    seated = record[:, CROSSINGS.index("seated") * 4] > 0
    with np.errstate(divide="ignore", invalid="ignore"):
        return {
            "opening_time": _crossing(record, "half", level["half_at"], h) - start,
            "speech_delay": _crossing(record, "full", level["full_at"], h) - start,
            "release_delay": _crossing(record, "empty", level["empty_at"], h) - strokes.down - strokes.hold,
            "overshoot": np.where(steady > 0, (measures["lift_top"] - rest_lift) / steady, np.nan),
            "bounce": np.where(seated, measures["openings"], np.nan),
            "peak_force": measures["force_top"],
            "pallet_speed": np.where(far > near, (level["far_at"] - level["near_at"]) / (far - near), np.nan),
        }


def parameter_rows(trains: Sequence[object]) -> Floats:
    """Parameter vectors of trains of one structure as rows."""
    return np.array([train.vector(train.system()) for train in trains])  # type: ignore[attr-defined]
