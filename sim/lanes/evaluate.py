"""Quantities of many designs at once: in lanes, and a sample judged by SciPy."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from keyaction.cases.action.strokes import Strokes
from keyaction.models.train.structure import Structure
from keyaction.models.train.train import Train
from keyaction.sim.code.kernel import Kernel, load_kernel
from keyaction.sim.code.layout import Layout
from keyaction.sim.figures.modes import modes
from keyaction.sim.figures.play import NotPlayed, play_record
from keyaction.sim.figures.quantities import QUANTITIES
from keyaction.sim.figures.record import Record
from keyaction.sim.figures.repetition import LIMITS, Repetition
from keyaction.sim.lanes.batch import Batch, Trace
from keyaction.sim.motion.drives import Drive, Piece
from keyaction.sim.motion.integrate import Floats, Motion, Status, Tolerances, audit_of
from keyaction.sim.motion.note import NoteModel
from keyaction.sim.motion.strokes import slow_press

CHUNK = 64
"""Designs whose slow presses are in memory at one time."""
ALLOWED = 0.005
"""Largest share by which a quantity of the lanes may differ from SciPy's."""
SAMPLING = 0.6e-3
"""s between the recorded instants of a slow press."""
STROKE_ONLY = ("opening_time", "speech_delay", "release_delay", "overshoot", "bounce", "peak_force", "pallet_speed")
"""Quantities that the lanes watch as they go."""
NOT_IN_LANES = ("speech_after_release",)
"""Quantities that only a whole recorded stroke gives; the lanes leave them out."""
COUNTED = ("bounce", "repetition_rate")
"""Quantities that jump: the lanes must give the count itself, or the rate to 0.1 Hz."""


@dataclass(frozen=True)
class DesignModel:
    """The part of a `NoteModel` that quantities need."""

    train: Train

    def parameters(self) -> Floats:
        """The parameter vector."""
        return np.array(self.train.vector(self.kernel().parameters))

    def kernel(self) -> Kernel:
        """The scalar equations, for the natural frequencies."""
        return load_kernel(self.train.structure)

    def vector(self, drive: Drive, piece: Piece) -> Floats:
        """The drive vector of a piece, with the train's own values of what it takes from outside."""
        return NoteModel(self.train).vector(drive, piece)


@dataclass(frozen=True)
class Check:
    """What the sample told: designs compared, the largest difference and of which quantity, the step it was at."""

    compared: int
    worst: float
    quantity: str
    design: int
    step: float
    refined: int

    @property
    def passed(self) -> bool:
        return not self.compared or self.worst <= ALLOWED

    def __str__(self) -> str:
        if not self.compared:
            return "no design was compared with SciPy"
        told = f"{self.compared} designs compared with SciPy: largest difference {self.worst:.2%} ({self.quantity}), "
        told += f"step {self.step * 1e6:.0f} us"
        return told if self.passed else f"{told}; beyond {ALLOWED:.1%} even after {self.refined} refinements"


@dataclass(frozen=True)
class Outcome:
    """Quantities by name, each (N,); what limits each repetition; a status for each design; the judged sample."""

    quantities: Mapping[str, Floats]
    limits: tuple[str, ...]
    status: tuple[str, ...]
    checks: tuple[Check, ...] = field(default=())


def available() -> tuple[str, ...]:
    """Names of the quantities that the lanes can give."""
    return tuple(name for name in (*QUANTITIES, "train_frequency") if name not in NOT_IN_LANES)


def _as_motion(layout: Layout, trace: Trace, i: int, drive: Drive, parameters: Floats) -> Motion:
    y, seen = trace.y[i], trace.seen[i]
    return Motion(
        layout, parameters, drive, trace.t, y, seen, Status(True, "lanes"), audit_of(layout, y, seen), 0, 0, 1
    )


def _slow_part(
    batch: Batch, trains: Sequence[Train], strokes: Strokes, repetitions: Sequence[Repetition], wanted: Sequence[str]
) -> dict[str, Floats]:
    """Everything that rests on the slow press or on the train alone."""
    rest = batch.rest()
    models = [DesignModel(train) for train in trains]
    drives = [slow_press(model, strokes) for model in models]
    depth = np.array([drive.pieces[2].way[0] for drive in drives])
    rows, duration = batch.press_drive(strokes, rest, depth)
    names = [name for name in wanted if name not in STROKE_ONLY]
    found = {name: np.full(len(trains), np.nan) for name in names}
    trace = batch.trace(rows, rest, duration, max(1, round(SAMPLING / batch.h)))
    for i, model in enumerate(models):
        motion = _as_motion(batch.layout, trace, i, drives[i], batch.parameters[i])
        motion = motion.until(drives[i].end)
        record = Record(model, strokes, motion, motion, {}, repetitions[i])
        for name in names:
            found[name][i] = (
                modes(record).frequencies[0] if name == "train_frequency" else QUANTITIES[name].compute(record)
            )
    return found


def _one_chunk(
    structure: Structure,
    trains: Sequence[Train],
    strokes: Strokes,
    wanted: Sequence[str],
    jobs: int,
    step: float | None,
) -> tuple[dict[str, Floats], list[str], float]:
    parameters = np.array([DesignModel(train).parameters() for train in trains])
    batch = Batch(structure, parameters, step, jobs)
    rest = batch.rest()
    needs_rate = "repetition_rate" in wanted
    rates = batch.repetition(strokes, rest) if needs_rate else [Repetition(float("nan"), "", 0)] * len(trains)
    slow = _slow_part(batch, trains, strokes, rates, [*wanted, *({"steady_lift"} - set(wanted))])
    found = {name: slow[name] for name in wanted if name in slow}
    if any(name in STROKE_ONLY for name in wanted):
        found |= {
            name: values for name, values in batch.stroke(strokes, rest, slow["steady_lift"]).items() if name in wanted
        }
    return found, [rate.reason if needs_rate else "" for rate in rates], batch.h


def _groups(trains: Sequence[Train]) -> dict[Structure, list[int]]:
    groups: dict[Structure, list[int]] = {}
    for i, train in enumerate(trains):
        groups.setdefault(train.structure, []).append(i)
    return groups


def evaluate(
    trains: Sequence[Train], strokes: Strokes, wanted: Iterable[str] | None = None, jobs: int = 0, sample: int = 3
) -> Outcome:
    """Quantities of many trains at once.

    Parameters
    ----------
    trains : sequence of Train
        In any mixture of structures; each structure is one batch.
    strokes : Strokes
    wanted : iterable of str, optional
        Names of quantities; all that the lanes can give by default.
    jobs : int
        Threads; 0 means one per core.
    sample : int
        How many designs of each structure are also played by SciPy; where a quantity differs by more than
        0.5 %, the step is halved, at most twice, and the outcome says what was reached.

    Returns
    -------
    Outcome

    Raises
    ------
    KeyError
        When a quantity is not known.
    """
    names = list(wanted if wanted is not None else available())
    unknown = [name for name in names if name not in available()]
    if unknown:
        raise KeyError(f"no such quantity: {', '.join(unknown)}; there are {', '.join(available())}")
    found = {name: np.full(len(trains), np.nan) for name in names}
    limits, checks = [""] * len(trains), []
    for structure, members in _groups(trains).items():
        check = _evaluate_group(structure, members, trains, strokes, names, jobs, sample, found, limits)
        checks.append(check)
    return Outcome(found, tuple(limits), tuple(_status(found, limits[i], i) for i in range(len(trains))), tuple(checks))


def _evaluate_group(
    structure: Structure,
    members: list[int],
    trains: Sequence[Train],
    strokes: Strokes,
    names: list[str],
    jobs: int,
    sample: int,
    found: dict[str, Floats],
    limits: list[str],
) -> Check:
    step: float | None = None
    judges = _judges(members, trains, strokes, names, sample)
    check = Check(0, float("nan"), "", -1, 0.0, 0)
    for refined in range(3):
        used = 0.0
        for k in range(0, len(members), CHUNK):
            part = members[k : k + CHUNK]
            values, told, used = _one_chunk(structure, [trains[i] for i in part], strokes, names, jobs, step)
            for name in names:
                found[name][part] = values[name]
            for i, limit in zip(part, told, strict=True):
                limits[i] = limit
        check = _compare(judges, found, used, refined)
        if check.passed:
            break
        step = used / 2
    return check


def _judges(
    members: Sequence[int], trains: Sequence[Train], strokes: Strokes, names: Sequence[str], sample: int
) -> dict[int, dict[str, float]]:
    """SciPy's figures of a sample spread evenly over the members; a design that it cannot play is no judge."""
    chosen = (
        [members[i] for i in np.unique(np.linspace(0, len(members) - 1, min(sample, len(members))).astype(int))]
        if sample
        else []
    )
    told = {}
    for i in chosen:
        try:
            record = play_record(NoteModel(trains[i], Tolerances()), strokes)
        except NotPlayed:
            continue
        told[i] = {
            name: float(modes(record).frequencies[0]) if name == "train_frequency" else QUANTITIES[name].compute(record)
            for name in names
        }
    return told


def _difference(name: str, ours: float, theirs: float) -> float:
    if np.isnan(ours) and np.isnan(theirs):
        return 0.0
    if name == "repetition_rate":
        return 0.0 if abs(ours - theirs) < 0.11 else abs(ours - theirs) / max(theirs, 0.1)
    if name in COUNTED:
        return 0.0 if ours == theirs else float("inf")
    if name == "lost_motion":
        return abs(ours - theirs) / 1e-2  # against the key's whole way: a threshold on a force that rings
    return abs(ours - theirs) / max(abs(theirs), 1e-12)


def _compare(
    judges: Mapping[int, Mapping[str, float]], found: Mapping[str, Floats], step: float, refined: int
) -> Check:
    worst, where, which = 0.0, "none", -1
    for i, figures in judges.items():
        for name, theirs in figures.items():
            difference = _difference(name, float(found[name][i]), theirs)
            if difference > worst or np.isnan(difference):
                worst, where, which = difference, name, i
    return Check(len(judges), worst, where, which, step, refined)


ALWAYS = ("key_dip", "peak_force")
"""Quantities that every sound motion has, one of the slow press and one of the stroke."""


def _status(found: Mapping[str, Floats], limit: str, i: int) -> str:
    """A design has failed when a figure that every sound motion has is missing, or every figure is."""
    lacking = any(name in found and np.isnan(found[name][i]) for name in ALWAYS)
    if lacking or limit == LIMITS["failed"] or all(np.isnan(values[i]) for values in found.values()):
        return "failed: the motion left the range of the model or never settled"
    return "ok"
