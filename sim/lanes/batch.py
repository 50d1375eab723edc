"""Many designs at once: rest, standard stroke and repetition search, in lanes of one compiled step."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from copy import copy
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from keyaction.cases.action.strokes import Strokes
from keyaction.models.algebra.names import Name
from keyaction.models.train.structure import Structure
from keyaction.models.train.train import Train
from keyaction.sim.code.lane_kernel import load_rows
from keyaction.sim.code.layout import CHANGE
from keyaction.sim.code.watch import DRIVE, LIMITS
from keyaction.sim.figures.rates import Codes, Numbers, Quick, Rates, searched, searched_early, searched_twice
from keyaction.sim.figures.repetition import COUNT
from keyaction.sim.lanes.engines import Engine, engine_of
from keyaction.sim.lanes.laid import Laid, Places
from keyaction.sim.lanes.levels import NEARLY, Columns, Levels, OfDesigns
from keyaction.sim.lanes.plays import WATCHED, Driven, Play, Repeated, RepeatedClosely, Standard, drive_rows
from keyaction.sim.lanes.sent import Sent
from keyaction.sim.lanes.step import longest_step
from keyaction.sim.motion.changes import Change, check_taken
from keyaction.sim.motion.integrate import Floats
from keyaction.sim.motion.note import with_couplers_set

FEW, SLOW = 2, 40
"""Strokes after which most trials are decided at rates up to so many tenths of Hz: one fails, or two are alike."""


@dataclass(frozen=True)
class Rest:
    """Rest of every design: states (N, n) by name, and observables at rest (N, m)."""

    states: Floats
    seen: Floats
    settled: np.ndarray

    @cached_property
    def sent(self) -> tuple[Sent, Sent]:
        """States and observables as devices take them."""
        return Sent(self.states), Sent(self.seen)

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
        self._which: Numbers | None = None
        self._rows = Sent(self.parameters)
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
        return len(self.parameters) if self._which is None else len(self._which)

    def some(self, which: Numbers) -> Batch:
        """A batch of some of the designs, at the same step."""
        part = copy(self)
        part._which = which if self._which is None else self._which[which]
        return part

    def finer(self, share: float) -> Batch:
        """The same designs at a share of the step."""
        part = copy(self)
        part.step = share * self.h
        if self._which is not None:
            part.parameters, part._which = self.parameters[self._which], None
            part._rows = Sent(part.parameters)
        part._fill()
        return part

    def _fill(self) -> None:
        """Compute the constants of the designs; what they have in common makes code for a device shorter."""
        lengths = np.broadcast_to(np.asarray(self.step, dtype=float), (len(self.parameters),))
        self._steps = Sent(np.ascontiguousarray(lengths[:, None]))
        self._fixed, self._known = self.engine.constants(self._rows, self._steps)

    @property
    def h(self) -> Any:
        """The time step, s; (N,) of them where designs have their own."""
        assert self.step is not None
        own = isinstance(self.step, np.ndarray) and self._which is not None
        return self.step[self._which] if own else self.step  # type: ignore[index]  # an array

    def parameter(self, name: Name) -> Floats:
        """One parameter of all designs."""
        column = self.parameters[:, self.names.index(name)]
        return np.asarray(column if self._which is None else column[self._which])

    def _part(self, role: str) -> str:
        """Name of the first part of a role."""
        return next(member.name for member in self.structure if member.part.role == role)

    @cached_property
    def _columns(self) -> Columns:
        names, seen = self.names.index, self.observables.index
        return Columns(
            dip=names(Name(self._part("key"), "dip")),
            box=names(Name(self._part("box"), "p_box")),
            inputs=tuple(names(name) for name in self.layout.inputs),
            touch=seen("key_travel"),
            lift=seen("pallet_lift"),
            gap=seen("seat_gap"),
            begun=tuple(self.states.index(name) for name in self._moving()),
        )

    def _levels(self, rest: Rest | None, **more: Any) -> OfDesigns:
        """What the watch compares with, and where motions begin."""
        inputs = list(self.layout.inputs)
        changes = [(inputs.index(one.of), one) for one in self.changes]
        states, seen = (None, None) if rest is None else rest.sent
        return OfDesigns(self._columns, changes, self._rows, self._steps, self._which, states, seen, **more)

    def _laid(self, play: Play, levels: Levels, which: Numbers | None = None, tenths: Numbers | None = None) -> Laid:
        """The designs as lanes, or those that are asked for."""
        kernel, record = self.kernel, play.record
        fixed = len(DRIVE) + len(LIMITS) + len(CHANGE) * len(self.layout.inputs) + kernel.constant_count
        rows, ways = ([kernel.rows[name] for name in names] for names in (self._moving(), kernel.ways))
        places = Places(fixed, tuple(rows), fixed + len(kernel.rows), len(kernel.turning), record, tuple(ways))
        lanes = np.arange(len(self)) if which is None else which
        return Laid(play, levels, self._fixed, self._which, self._known, lanes, tenths, places)

    def _moving(self) -> list[str]:
        """States in the rows of lanes that do not begin at nought."""
        moving = zip(self.states, self.layout.kinds, strict=True)
        return [name for name, kind in moving if name in self.kernel.rows and kind != "work"]

    # -- rest ------------------------------------------------------------------------------------------
    def rest(self, sizes: Sequence[int] = ()) -> Rest:
        """Where every train rests: it relaxes without friction, stopping whatever moves against its force.

        Not on the processor `sizes` are those of parts, of which each rests as if it were alone.
        """
        slippery = self.finer(1.0) if self._which is not None else copy(self)
        off = Sent(self._drives(len(self), k_finger=0.0))
        slippery._fixed, slippery._known = self.engine.constants(slippery._rows, slippery._steps, self._rubbing())
        table, calm = self.engine.rest(slippery._laid(Driven(), slippery._levels(None, drive=off)), sizes)
        return Rest(table[:, : len(self.states)], table[:, len(self.states) :], calm)

    def _rubbing(self) -> list[int]:
        """Which parameters make the trains rub."""
        rubs = {member.name: member.part.rubs for member in self.structure}
        return [k for k, name in enumerate(self.names) if name.what in rubs.get(name.part, ())]

    # -- drives ----------------------------------------------------------------------------------------
    def _drives(self, n: int, **values: Floats | float) -> Floats:
        """Drive rows of n designs; what is not named is off."""
        return np.asarray(drive_rows(np, n, **values))

    def dip(self) -> Floats:
        """Key dip to the felt's surface, m."""
        return self.parameter(Name(self._part("key"), "dip"))

    def box(self) -> Floats:
        """Pressure of the (first) pallet box, Pa."""
        return self.parameter(Name(self._part("box"), "p_box"))

    def stroke_drive(self, strokes: Strokes, rest: Rest) -> Floats:
        """The standard stroke."""
        lanes = {"touch": self._touch(rest), "dip": self.dip()}
        return np.asarray(Standard.of(strokes).drive(np, lanes, None))

    def _touch(self, rest: Rest) -> Floats:
        return np.asarray(rest.seen[:, self._columns.touch])

    # -- motions ---------------------------------------------------------------------------------------
    def trace(self, drive: Floats, rest: Rest, duration: float, every: int = 16) -> Trace:
        """Whole motions, recorded at every `every`-th step."""
        if isinstance(self.h, np.ndarray):
            raise ValueError("whole motions are recorded at one step only")
        n, steps = len(self), int(np.ceil(duration / self.h))
        laid = self._laid(Driven(), self._levels(rest, drive=Sent(drive)))
        cut, rows = len(self.states), len(self.states) + len(self.observables)
        whole = self.engine.trace(laid, steps, every).reshape(n, -1, rows)
        times: Floats = np.arange(whole.shape[1], dtype=np.float64) * (every * self.h)
        return Trace(times, whole[:, :, :cut], whole[:, :, cut:])

    def _full(self, turns: Floats) -> Floats:
        """Widest turns as widest ways of all bodies (n, bodies): 0 for those that do not turn."""
        found = np.zeros((len(turns), len(self.kernel.ways)))
        found[:, [self.kernel.ways.index(name) for name in self.kernel.turning]] = turns
        return found

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
        levels = self._levels(rest, lifts=Sent(np.asarray(steady_lift, dtype=float)[:, None]), nearly=nearly)
        told = self.engine.play(self._laid(Standard.of(strokes, tail), levels))
        figures = {name: told[:, k] for k, name in enumerate(WATCHED)}
        return Stroke(figures, self._full(told[:, len(WATCHED) + 1 :]), told[:, len(WATCHED)] > 0)

    def repetition(self, strokes: Strokes, rest: Rest) -> Rates:
        """Repetition rate of every design, all searched side by side as one note alone is."""
        highest, exact = strokes.repetition_highest, self.judge(strokes, rest)
        if self.device == "cpu":
            return searched_early(len(self), highest, exact, self._early(strokes, rest))
        if self.real == "float32":
            return searched(len(self), highest, exact)
        return searched_twice(len(self), highest, exact, self._quickly(strokes, rest))

    def judge(self, strokes: Strokes, rest: Rest) -> Codes:
        """What tells of designs at rates in steps of 0.1 Hz what fails, by the place of the words in `WORDS`."""
        asked = self._asked(Repeated.of(strokes), rest)
        return lambda tenths, which: asked(tenths, which)[:, 0]

    def _early(self, strokes: Strokes, rest: Rest) -> Quick:
        """Whether designs pass, and where that does not rest on two strokes that were alike and not close."""
        asked = self._asked(RepeatedClosely.of(strokes), rest)

        def told(tenths: Numbers, which: Numbers) -> tuple[Numbers, NDArray[np.bool_]]:
            codes, sure, open_ = asked(tenths, which).T
            return codes, (codes != 0) | (sure == 0) | (open_ > 0)

        return told

    def _quickly(self, strokes: Strokes, rest: Rest) -> Quick:
        """The same in single precision, and of which verdicts that is enough.

        A few strokes decide most of the slow trials; all strokes of the others would hold these up.
        """
        single = copy(self)
        single.engine = engine_of(self.structure, "float32", self.device, self.jobs)
        few, all_ = (single._asked(RepeatedClosely.of(strokes, count), rest) for count in (FEW, COUNT))

        def told(tenths: Numbers, which: Numbers) -> tuple[Numbers, NDArray[np.bool_]]:
            found: NDArray[Any] = np.empty((len(tenths), 3), dtype=np.int8)
            slow = np.flatnonzero(tenths <= SLOW)
            found[slow] = few(tenths[slow], which[slow])
            open_ = np.concatenate([np.flatnonzero(tenths > SLOW), slow[found[slow, 2] > 0]])
            found[open_] = all_(tenths[open_], which[open_])
            return found[:, 0], found[:, 1] > 0

        return told

    def _asked(self, play: Repeated, rest: Rest) -> Callable[[Numbers, Numbers], NDArray[Any]]:
        """Plays designs at rates."""
        levels = self._levels(rest)

        def asked(tenths: Numbers, which: Numbers) -> NDArray[Any]:
            return (
                self.engine.play(self._laid(play, levels, which, tenths)) if len(which) else np.empty((0, 3), np.int8)
            )

        return asked
