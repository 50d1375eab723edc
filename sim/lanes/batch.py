"""Many designs at once: rest, standard stroke and repetition search, in lanes of one compiled step."""

from __future__ import annotations

from collections.abc import Sequence
from copy import copy
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from keyaction.cases.action.strokes import Strokes
from keyaction.models.algebra.names import Name
from keyaction.models.train.structure import TURN_LIMIT, Structure
from keyaction.models.train.train import Train
from keyaction.sim.code.lane_kernel import load_rows
from keyaction.sim.code.watch import CROSSINGS, DRIVE, LIMITS, MEASURES, OPENINGS, REPEAT_ROWS, STROKE_ROWS
from keyaction.sim.figures.limits import EMPTY, FAR, FULL, HALF, NEAR, REOPENED, SPEECH_START
from keyaction.sim.figures.repetition import BEYOND, COUNT, FAILED, STEP, WORDS, Codes, Numbers, Rates, searched
from keyaction.sim.lanes.desk import engine_of
from keyaction.sim.lanes.engines import Constants, Engine, Laid
from keyaction.sim.lanes.step import longest_step
from keyaction.sim.motion.changes import Change, check_taken
from keyaction.sim.motion.drives import FINGER_DAMPING, Drive, Piece
from keyaction.sim.motion.integrate import Floats
from keyaction.sim.motion.note import with_couplers_set

_NEVER = 1e9
assert WORDS[:4] == ("", "not full", "not empty", "not seated"), "what the lanes count as faults"
NEARLY = 0.2
"""Share by which a rebound of the pallet in lanes may be off: about a hundredth of a millimetre.

Found were 7 % at the usual step, 3 at half of it and 0.8 at a quarter, over 828 designs of five actions.
"""


@dataclass(frozen=True)
class Rest:
    """Rest of every design: states (N, n) by name, and observables at rest (N, m)."""

    states: Floats
    seen: Floats
    settled: np.ndarray

    def some(self, which: np.ndarray) -> Rest:
        """Rest of some of the designs."""
        return Rest(self.states[which], self.seen[which], self.settled[which])


def joined(parts: Sequence[Rest]) -> Rest:
    """Rests of several behind each other."""
    return Rest(*(np.concatenate([getattr(one, name) for one in parts]) for name in ("states", "seen", "settled")))


@dataclass(frozen=True)
class Trace:
    """A whole motion of every design: times (k,), states (N, k, n), observables (N, k, m)."""

    t: Floats
    y: Floats
    seen: Floats


@dataclass(frozen=True)
class Stroke:
    """What was watched in a standard stroke.

    Quantities by name, (N,) each; the widest turn of each body of each design (N, bodies), rad; and the designs whose
    number of bounces hangs on a rebound close to what counts as one, (N,).
    """

    quantities: dict[str, Floats]
    widest: Floats
    nearly: NDArray[np.bool_]

    def some(self, which: NDArray[np.int64]) -> Stroke:
        """Of some of the designs."""
        found = {name: values[which] for name, values in self.quantities.items()}
        return Stroke(found, self.widest[which], self.nearly[which])


@dataclass(frozen=True)
class Watched:
    """A watched motion: records (n, rows), the widest turn of each body of each design (n, bodies) in rad, and whether
    it stayed finite (n,)."""

    record: Floats
    widest: Floats
    bounded: NDArray[np.bool_]


@dataclass
class Batch:
    """Designs of one structure.

    Parameters
    ----------
    structure : Structure
    parameters : (N, np) array
        One row per design, in the order of the system's parameters.
    step : float or (N,) array, optional
        Time step in s, of all or not on the processor of each; by default from the stiffest of the designs.
    jobs : int
        Threads; 0 means one per core. The compiled step runs without the interpreter.
    real : {"float64", "float32"}
        Precision of the lanes.
    changes : tuple of Change
        What changes from outside in every motion, of what the trains take as an input.
    device : {"cpu", "gpu", "cc"}
        Where it is computed: in threads of the processor, on the GPUs that CuPy finds, or by what this machine's C
        compiler makes of the text that a GPU is given.

    Raises
    ------
    ValueError
        When the trains do not take what is to change from outside, there is no such device, or a step of each is given
        on the processor.
    keyaction.sim.code.no_gpu.NoGpu
        When the device cannot be used.
    """

    structure: Structure
    parameters: Floats
    step: float | Floats | None = None
    jobs: int = 0
    real: str = "float64"
    changes: tuple[Change, ...] = ()
    device: str = "cpu"
    engine: Engine = field(init=False)

    def __post_init__(self) -> None:
        if self.device == "cpu" and isinstance(self.step, np.ndarray):
            raise ValueError("on the processor all designs of a batch have one step")
        self.engine = engine_of(self.structure, self.real, self.device, self.jobs)
        self.kernel = self.engine.rows
        self.layout = self.kernel.layout
        check_taken(self.changes, self.layout.inputs)
        self.names = list(self.layout.parameters)
        self.observables = list(self.layout.observables)
        self.states = list(self.kernel.states)
        if self.step is None:
            self.step = longest_step(self.structure, self.parameters)
        self._which = np.arange(len(self.parameters))
        self._fill()

    @classmethod
    def of(
        cls,
        trains: Sequence[Train],
        step: float | Floats | None = None,
        jobs: int = 0,
        device: str = "cpu",
    ) -> Batch:
        """A batch of trains of one structure."""
        names = load_rows(trains[0].structure).layout.parameters
        rows = np.array([with_couplers_set(train).vector(names) for train in trains])
        return cls(trains[0].structure, rows, step, jobs, device=device)

    def __len__(self) -> int:
        return len(self._which)

    def some(self, which: np.ndarray) -> Batch:
        """A batch of some of the designs, at the same step."""
        part = copy(self)
        part._which = self._which[which]
        part.step = self.h[which] if isinstance(self.h, np.ndarray) else self.h
        return part

    def finer(self, share: float) -> Batch:
        """The same designs at a share of the step."""
        part = copy(self)
        part.step, part.parameters = share * self.h, self.parameters[self._which]
        part._which = np.arange(len(self))
        part._fill()
        return part

    def _fill(self) -> None:
        """Compute the constants of the designs; what they have in common makes code for a device shorter."""
        self._fixed = Constants(self._constants(self.parameters))
        self._known = self._simple(self._fixed.values)

    @property
    def h(self) -> Any:
        """The time step, s; (N,) of them where designs have their own."""
        assert self.step is not None
        return self.step

    @property
    def _lengths(self) -> Floats:
        """The time step of every design."""
        return np.broadcast_to(np.asarray(self.h, dtype=float), (len(self),))

    def parameter(self, name: Name) -> Floats:
        """One parameter of all designs."""
        return np.asarray(self.parameters[self._which, self.names.index(name)])

    def _part(self, role: str) -> str:
        """Name of the first part of a role."""
        return next(member.name for member in self.structure if member.part.role == role)

    def _constants(self, parameters: Floats) -> Floats:
        found = np.empty((len(parameters), self.kernel.constant_count))
        if not isinstance(self.h, np.ndarray):
            self.kernel.constants(np.ascontiguousarray(parameters), self.h, found)
            return found
        for step in np.unique(self.h):
            which, part = self.h == step, np.empty((int(np.sum(self.h == step)), found.shape[1]))
            self.kernel.constants(np.ascontiguousarray(parameters[which]), float(step), part)
            found[which] = part
        return found

    def _simple(self, constants: Floats) -> dict[int, float]:
        """Rows of constants that are 0 or 1 in all designs: code for a device leaves them out."""
        if self.device == "cpu":
            return {}
        first = min(self.kernel.rows.values()) - self.kernel.constant_count
        known = {value: np.flatnonzero(np.all(constants == value, axis=0)) for value in (0.0, 1.0)}
        return {first + int(k): value for value, numbers in known.items() for k in numbers}

    def _laid(self, drive: Floats, limits: Floats, states: Floats | None, record: int) -> Laid:
        """The designs as lanes, which begin in `states` as `_begun` gives them."""
        head, rows = (
            np.concatenate([drive, limits, self._outer()], axis=1),
            [self.kernel.rows[x] for x in self._moving()],
        )
        height = head.shape[1] + self._fixed.values.shape[1] + len(self.kernel.rows) + len(self.kernel.turning) + record
        return Laid(head, self._fixed, self._which, states, rows, height, self._known, self._lengths)

    def _moving(self) -> list[str]:
        """States in the rows of lanes that do not begin at nought."""
        moving = zip(self.states, self.layout.kinds, strict=True)
        return [name for name, kind in moving if name in self.kernel.rows and kind != "work"]

    def _begun(self, rest: Rest) -> Floats:
        """What of the rest motions begin with."""
        return rest.states[:, [self.states.index(name) for name in self._moving()]]

    # -- rest ------------------------------------------------------------------------------------------
    def rest(self) -> Rest:
        """Where every train rests: it relaxes without friction, stopping whatever moves against its force."""
        slippery, n = copy(self), len(self)
        slippery.parameters, slippery._which = self.parameters[self._which], np.arange(n)
        slippery.parameters[:, self._rubbing()] = 0.0
        slippery._fill()
        laid = slippery._laid(self._drives(n, k_finger=0.0), np.zeros((n, len(LIMITS))), None, 0)
        table, calm = self.engine.rest(laid)
        return Rest(table[:, : len(self.states)], table[:, len(self.states) :], calm)

    def _rubbing(self) -> np.ndarray:
        """Which parameters make the trains rub."""
        rubs = {member.name: member.part.rubs for member in self.structure}
        return np.array([name.what in rubs.get(name.part, ()) for name in self.names], dtype=bool)

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
            "period": _NEVER,
            "frequency": 0.0,
            "end": _NEVER,
        }
        return np.stack(
            [np.broadcast_to(np.asarray(values.get(name, off[name]), dtype=float), (n,)) for name in DRIVE], axis=1
        )

    def dip(self) -> Floats:
        """Key dip to the felt's surface, m."""
        return self.parameter(Name(self._part("key"), "dip"))

    def box(self) -> Floats:
        """Pressure of the (first) pallet box, Pa."""
        return self.parameter(Name(self._part("box"), "p_box"))

    def _outer(self) -> Floats:
        """What changes from outside: for every input its value, change, begin and speed; rows of all designs."""
        drive = Drive("motion", (Piece(0.0, 1.0),), changes=self.changes)
        rows = [
            np.array([drive.course(name, float(value)) for value in self.parameter(name)])
            for name in self.layout.inputs
        ]
        return np.concatenate(rows, axis=1) if rows else np.empty((len(self), 0))

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

    # -- motions ---------------------------------------------------------------------------------------
    def trace(self, drive: Floats, rest: Rest, duration: float, every: int = 16) -> Trace:
        """Whole motions, recorded at every `every`-th step."""
        if isinstance(self.h, np.ndarray):
            raise ValueError("whole motions are recorded at one step only")
        n, steps = len(self), int(np.ceil(duration / self.h))
        laid = self._laid(drive, np.zeros((n, len(LIMITS))), self._begun(rest), 0)
        cut, rows = len(self.states), len(self.states) + len(self.observables)
        whole = self.engine.trace(laid, steps, every).reshape(n, -1, rows)
        times: Floats = np.arange(whole.shape[1], dtype=np.float64) * (every * self.h)
        return Trace(times, whole[:, :, :cut], whole[:, :, cut:])

    def _watched(
        self, motion: str, drive: Floats, limits: Floats, states: Floats, durations: Floats, record: int
    ) -> Watched:
        """Watched motions of `durations` (n,) s; the records of a design that leaves the model's range are NaN."""
        laid = self._laid(drive, limits, states, record)
        first = laid.fixed + len(self.kernel.rows)
        ways = [self.kernel.rows[name] for name in self.kernel.ways]
        steps = np.ceil(durations / self._lengths).astype(np.int64)
        wanted = [*range(first, first + len(self.kernel.turning) + record), *ways]
        found = self.engine.play(motion, laid, steps, wanted)
        turns, told, ended = np.split(found, [len(self.kernel.turning), len(wanted) - len(ways)], axis=1)
        bounded = np.all(np.isfinite(ended), axis=1)
        tame = np.all(turns <= TURN_LIMIT, axis=1) & bounded
        return Watched(np.where(tame[:, None], told, np.nan), self._full(turns), bounded)

    def _full(self, turns: Floats) -> Floats:
        """Widest turns as widest ways of all bodies (n, bodies): 0 for those that do not turn."""
        found = np.zeros((len(turns), len(self.kernel.ways)))
        found[:, [self.kernel.ways.index(name) for name in self.kernel.turning]] = turns
        return found

    def limits(self, rest: Rest, steady_lift: Floats | None = None, nearly: float = NEARLY) -> Floats:
        """Levels that the watch compares with, by design; a rebound may be off by the share `nearly`."""
        box = self.box()
        held = np.full(len(self), np.inf) if steady_lift is None else steady_lift
        far = np.minimum(FAR, np.where(held >= REOPENED, held, np.nan) / 2)
        near = np.minimum(NEAR, far / 2)
        rows = {
            "start_at": self._touch(rest) + SPEECH_START,
            "half_at": HALF * box,
            "full_at": FULL * box,
            "empty_at": EMPTY * box,
            "near_at": near,
            "far_at": far,
            "reopened_at": np.full(len(self), REOPENED),
            "surely_at": np.full(len(self), REOPENED * (1 + nearly)),
            "perhaps_at": np.full(len(self), REOPENED / (1 + nearly)),
        }
        return np.stack([rows[name] for name in LIMITS], axis=1)

    def stroke(
        self, strokes: Strokes, rest: Rest, steady_lift: Floats, tail: float = 0.22, nearly: float = NEARLY
    ) -> Stroke:
        """The standard stroke's quantities of every design.

        Parameters
        ----------
        strokes : Strokes
        rest : Rest
        steady_lift : (N,) array
            From the slow press, m.
        tail : float
            s off the key after the stroke.
        nearly : float
            Share by which a rebound of the pallet may be off at this step.

        Returns
        -------
        Stroke
            Quantities that are watched, by name: (N,) arrays, SI, NaN where a design has none or its motion left the
            range of the model.
        """
        drive, limits = self.stroke_drive(strokes, rest), self.limits(rest, steady_lift, nearly)
        durations = np.full(len(self), strokes.down + strokes.hold + strokes.up + tail)
        watched = self._watched("stroke", drive, limits, self._begun(rest), durations, STROKE_ROWS)
        lift, gap = (rest.seen[:, self.observables.index(name)] for name in ("pallet_lift", "seat_gap"))
        figures = _stroke_quantities(watched.record, limits, self.h, strokes, lift - gap, steady_lift, self.box())
        least, most = (watched.record[:, _measured(name)] for name in OPENINGS[1:])
        return Stroke(figures, watched.widest, np.asarray(least != most))

    def repetition(self, strokes: Strokes, rest: Rest) -> Rates:
        """Repetition rate of every design, all searched side by side as one note alone is."""
        return searched(len(self), strokes.repetition_highest, self.judge(strokes, rest))

    def judge(self, strokes: Strokes, rest: Rest) -> Codes:
        """What tells of designs at rates in steps of 0.1 Hz what fails, by the place of the words in `WORDS`."""
        limits, depth = self.limits(rest), strokes.repetition_depth * self.dip()
        touch, states = self._touch(rest), self._begun(rest)

        def codes(tenths: np.ndarray, which: np.ndarray) -> Numbers:
            # Designs tried at like rates share a block: a block runs as long as its slowest rate.
            order = np.argsort(tenths, kind="stable")
            chosen, rate = which[order], tenths[order] * STEP
            part = self.some(chosen)
            period = 1 / rate
            drive = part._drives(
                len(chosen),
                down_rate=4 * rate,
                lift=0.375 * period,
                up_rate=4 * rate,
                touch=touch[chosen],
                depth=depth[chosen],
                k_finger=strokes.finger,
                period=period,
                frequency=rate,
                end=COUNT * period,
            )
            durations = COUNT * period + 2 * part._lengths
            watched = part._watched("repeat", drive, limits[chosen], states[chosen], durations, REPEAT_ROWS)
            told = np.empty(len(which))
            told[order] = watched.record[:, 4]
            wide = np.empty(len(which), dtype=bool)
            wide[order] = np.any(watched.widest > TURN_LIMIT, axis=1) & watched.bounded
            none = np.where(wide, BEYOND, FAILED)
            return np.where(np.isfinite(told), np.nan_to_num(told), none).astype(np.int64)

        return codes


def _crossing(record: Floats, event: str, level: Floats, h: Floats | float) -> Floats:
    k = CROSSINGS.index(event) * 4
    happened, when, before, after = record[:, k : k + 4].T
    with np.errstate(divide="ignore", invalid="ignore"):
        share = np.where(after != before, (after - level) / (after - before), 0.0)
    return np.where(happened > 0, when - h * np.clip(share, 0.0, 1.0), np.nan)


def _measured(name: str) -> int:
    return len(CROSSINGS) * 4 + MEASURES.index(name)


def _stroke_quantities(
    record: Floats, limits: Floats, h: Floats | float, strokes: Strokes, seat: Floats, steady: Floats, box: Floats
) -> dict[str, Floats]:
    """Of the records; `seat` is the lift at the seat's surface."""
    level = {name: limits[:, i] for i, name in enumerate(LIMITS)}
    start = _crossing(record, "start", level["start_at"], h)
    near, far = _crossing(record, "near", level["near_at"], h), _crossing(record, "far", level["far_at"], h)
    lift = strokes.down + strokes.hold
    measures = {name: record[:, _measured(name)] for name in MEASURES}
    steady = np.where(steady >= REOPENED, steady, np.nan)
    seated, silent = (record[:, CROSSINGS.index(event) * 4] > 0 for event in ("seated", "empty"))
    with np.errstate(divide="ignore", invalid="ignore"):
        return {
            # What is beyond its level where the search begins has passed it there, not within the step before.
            "opening_time": np.maximum(_crossing(record, "half", level["half_at"], h) - start, 0.0),
            "speech_delay": np.maximum(_crossing(record, "full", level["full_at"], h) - start, 0.0),
            "release_delay": np.maximum(_crossing(record, "empty", level["empty_at"], h) - lift, 0.0),
            "overshoot": np.maximum(measures["lift_top"] - seat, 0.0) / steady,
            "bounce": np.where(seated, measures["openings"], np.nan),
            "peak_force": measures["force_top"],
            "speech_after_release": np.where(silent & (box > 0), measures["left_over"] / box, np.nan),
            "pallet_speed": np.where(far > near, (level["far_at"] - level["near_at"]) / (far - near), np.nan),
        }
