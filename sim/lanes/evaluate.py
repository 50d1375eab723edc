"""Quantities of many designs at once: in lanes, and a sample judged by SciPy."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from keyaction.cases.action.strokes import Strokes
from keyaction.models.train.structure import Structure
from keyaction.models.train.train import Train
from keyaction.sim.figures.columns import QUANTITIES
from keyaction.sim.figures.play import NotPlayed, play_record
from keyaction.sim.figures.record import Record
from keyaction.sim.figures.registry import Quantity
from keyaction.sim.figures.repetition import LIMITS, Repetition
from keyaction.sim.lanes.batch import Batch
from keyaction.sim.lanes.records import CHUNK, records
from keyaction.sim.motion.integrate import Floats, Tolerances, turned_too_far
from keyaction.sim.motion.note import NoteModel

ALLOWED = 0.005
"""Largest share by which a quantity of the lanes may differ from SciPy's."""


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
            return "no design was played again as a check"
        count = f"{self.compared} design{'s' * (self.compared != 1)}"
        label = QUANTITIES[self.quantity].label if self.quantity in QUANTITIES else self.quantity
        told = f"{count} played again one by one as a check (SciPy): largest difference {self.worst:.2%} ({label}), "
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
    """Names of the quantities that the lanes can give: all but those of presses at speed, which they do not play."""
    return tuple(name for name, one in QUANTITIES.items() if one.source != "presses")


def _read(record: Record, one: Quantity) -> float:
    """A quantity of a recorded design; NaN where the motion that it is read from left the range of the model."""
    played = {"stroke": record.stroke, "slow press": record.slow}.get(one.source)
    if played is not None and not played.status.ok:
        return float("nan")
    return float(one.compute(record))


@dataclass(frozen=True)
class _Chunk:
    """Figures of some designs; what limits each repetition; which body turned too far in each; the step."""

    figures: Mapping[str, Floats]
    limits: Sequence[str]
    beyond: Sequence[str]
    step: float


def _one_chunk(
    trains: Sequence[Train], strokes: Strokes, wanted: Sequence[str], jobs: int, step: float | None
) -> _Chunk:
    batch, beyond = Batch.of(trains, step, jobs), [""] * len(trains)
    rest, chosen = batch.rest(), [QUANTITIES[name] for name in wanted]
    repeats, watches = any(one.source == "repetition" for one in chosen), any(one.watched for one in chosen)
    rates = batch.repetition(strokes, rest) if repeats else [Repetition(float("nan"), "", 0)] * len(trains)
    recorded = {one.name: one for one in (QUANTITIES["steady_lift"], *chosen) if not one.watched}
    with_stroke = any(one.source == "stroke" for one in recorded.values())
    found = {name: np.full(len(trains), np.nan) for name in recorded}
    for i, record in enumerate(records(batch, trains, strokes, rest, rates, with_stroke)):
        beyond[i] = record.slow.status.message or record.stroke.status.message
        for name, one in recorded.items():
            found[name][i] = _read(record, one)
    if watches:
        watched = batch.stroke(strokes, rest, found["steady_lift"])
        found |= watched.quantities
        beyond = [far or turned_too_far(batch.layout, turns) for far, turns in zip(beyond, watched.widest, strict=True)]
    limits = [rate.reason if repeats else "" for rate in rates]
    return _Chunk({name: found[name] for name in wanted}, limits, beyond, batch.h)


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
    limits, beyond = [""] * len(trains), [""] * len(trains)
    checks = [
        _evaluate_group(members, trains, strokes, names, jobs, sample, found, limits, beyond)
        for members in _groups(trains).values()
    ]
    for values in found.values():
        values[[far != "" for far in beyond]] = np.nan
    status = tuple(_status(found, limits[i], beyond[i], i) for i in range(len(trains)))
    return Outcome(found, tuple(limits), status, tuple(checks))


def _evaluate_group(
    members: list[int],
    trains: Sequence[Train],
    strokes: Strokes,
    names: list[str],
    jobs: int,
    sample: int,
    found: dict[str, Floats],
    limits: list[str],
    beyond: list[str],
) -> Check:
    step: float | None = None
    judges = _judges(members, trains, strokes, names, sample)
    check = Check(0, float("nan"), "", -1, 0.0, 0)
    for refined in range(3):
        used = 0.0
        for k in range(0, len(members), CHUNK):
            part = members[k : k + CHUNK]
            chunk = _one_chunk([trains[i] for i in part], strokes, names, jobs, step)
            used = chunk.step
            for name in names:
                found[name][part] = chunk.figures[name]
            for i, limit, far in zip(part, chunk.limits, chunk.beyond, strict=True):
                limits[i], beyond[i] = limit, far
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
        told[i] = {name: float(QUANTITIES[name].compute(record)) for name in names}
    return told


def _compare(
    judges: Mapping[int, Mapping[str, float]], found: Mapping[str, Floats], step: float, refined: int
) -> Check:
    worst, where, which = 0.0, "none", -1
    for i, figures in judges.items():
        for name, theirs in figures.items():
            difference = QUANTITIES[name].resolution.difference(float(found[name][i]), theirs)
            if difference > worst or np.isnan(difference):
                worst, where, which = difference, name, i
    return Check(len(judges), worst, where, which, step, refined)


def _status(found: Mapping[str, Floats], limit: str, beyond: str, i: int) -> str:
    """A design has failed when a body turned too far, a figure that every sound motion has is missing, or all are."""
    if beyond:
        return f"failed: {beyond}"
    lacking = any(np.isnan(values[i]) for name, values in found.items() if QUANTITIES[name].always)
    if lacking or limit == LIMITS["failed"] or all(np.isnan(values[i]) for values in found.values()):
        return "failed: the motion left the range of the model or never settled"
    return "ok"
