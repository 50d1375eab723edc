"""Everything that is played on one note, and what is kept of it."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import NamedTuple

import numpy as np

from keyaction.cases.action.strokes import Strokes
from keyaction.models.algebra.names import spelled
from keyaction.models.train.train import Train
from keyaction.sim.code.layout import Body, Layout, Recorded
from keyaction.sim.figures.budgets import compliance_budget, owners
from keyaction.sim.figures.columns import QUANTITIES, of_verdict
from keyaction.sim.figures.play import NotPlayed, Searched, play_record, press_note
from keyaction.sim.figures.possible import impossible
from keyaction.sim.figures.quantities import mass_budget
from keyaction.sim.figures.record import Pressed, Record
from keyaction.sim.figures.verdict import UNASKED, Verdict, verdict
from keyaction.sim.motion.integrate import Floats, Motion, Tolerances
from keyaction.sim.motion.note import NoteModel
from keyaction.sim.run.pallets import OfPallet, coupled_of, pallet_courses, pallets_of
from keyaction.sim.statics.press import Course

SAMPLES = 400
"""Points kept of each feel curve."""
TIME_STEP = 2e-4
"""s between the kept instants of the standard stroke."""


class Figure(NamedTuple):
    """A parameter of a note: title, whose and what it is, the part's role, SI value, unit, where it comes from."""

    title: str
    part: str
    what: str
    role: str
    value: float
    unit: str
    origin: str


@dataclass(frozen=True)
class NoteResult:
    """What is kept of one note.

    Attributes
    ----------
    note : int
    status : str
        "ok", or why the note failed and what to do.
    limit : str
        What limits the repetition rate.
    quantities : mapping of name to SI value
    compliance, masses : mapping of share or part to m, to kg
    owners : mapping of share to part
        Whose each share of the compliance is.
    curves : mapping of name to array
        Feel curves and the standard stroke.
    frequencies, shapes : arrays (m,), (m, m)
    bodies : tuple of Body
        What moves, as along the curve ``motion``.
    links : tuple of Recorded
        Rods and shafts that carry the motion on, as along the curve ``link_force``.
    ratios : (m,) array
        Way of each body per way of the key front, nothing giving way.
    played : tuple of (name, method, evaluations, audit)
        What was played.
    parameters : sequence of Figure
    warnings : tuple of str
    verdict : Verdict
        What becomes of the note; why quantities that it does not have are NaN.
    pallets : tuple of OfPallet
        Of a note that opens several, or with couplers drawn: every pallet.
    coupled : mapping of name to SI value
        Of the same: what the player feels of them together.
    joins : tuple of (str, str)
        Of the same: the bodies between which each link stands, by their titles.
    """

    note: int
    status: str
    limit: str
    quantities: Mapping[str, float]
    compliance: Mapping[str, float]
    owners: Mapping[str, str]
    masses: Mapping[str, float]
    curves: Mapping[str, Floats]
    frequencies: Floats
    shapes: Floats
    bodies: tuple[Body, ...]
    links: tuple[Recorded, ...]
    ratios: Floats
    played: tuple[tuple[str, str, int, tuple[float, ...]], ...]
    parameters: tuple[Figure, ...]
    warnings: tuple[str, ...]
    verdict: Verdict = UNASKED
    pallets: tuple[OfPallet, ...] = ()
    coupled: Mapping[str, float] = field(default_factory=dict)
    joins: tuple[tuple[str, str], ...] = ()

    @property
    def ok(self) -> bool:
        return self.status == "ok"


@dataclass(frozen=True)
class Beside:
    """What is known of a note with couplers drawn beside its own train.

    Attributes
    ----------
    alone : Train
        Of the same key without couplers.
    named : mapping of str to (str, str)
        What each pallet sounds and the couplers that reach it, by its part.
    """

    alone: Train
    named: Mapping[str, tuple[str, str]]


def failed_note(note: int, reason: str, warnings: tuple[str, ...] = ()) -> NoteResult:
    """A note of which nothing is known but why."""
    none = np.zeros(0)
    return NoteResult(
        note, f"failed: {reason}", "", {}, {}, {}, {}, {}, none, np.zeros((0, 0)), (), (), none, (), (), warnings
    )


def play_note(
    note: int,
    train: Train,
    strokes: Strokes,
    tolerances: Tolerances | None = None,
    searched: Searched = None,
    beside: Beside | None = None,
    pressed: Pressed | None = None,
) -> NoteResult:
    """Play a note and reduce it to what is kept; a note that fails is a result with its reason.

    `searched` is a repetition rate found elsewhere, for SciPy to confirm, `beside` of a note with couplers drawn,
    `pressed` the slow press of the same train, where it is known.
    """
    model = _rested(train, tolerances or Tolerances(), pressed)
    try:
        record = play_record(model, strokes, searched, pressed)
    except NotPlayed as problem:
        return replace(failed_note(note, str(problem), _warnings(train)), verdict=problem.verdict)
    found, told = record.modes, verdict(record)
    quantities = of_verdict({name: one.compute(record) for name, one in QUANTITIES.items()}, told)
    if wrong := impossible(quantities):
        return replace(failed_note(note, wrong, _warnings(train)), verdict=told)
    several = beside is not None or len(record.press.sounders) > 1
    alone = _alone(record, beside)
    return NoteResult(
        note,
        "ok",
        record.repetition.reason if math.isfinite(quantities["repetition_rate"]) else "",
        quantities,
        compliance_budget(record),
        owners(train),
        mass_budget(record),
        _feel_curves(record) | _stroke_curves(record, several) | (_alone_curves(alone) if beside and alone else {}),
        found.frequencies,
        found.shapes,
        record.kinematics.layout.bodies,
        tuple(link.element for link in record.kinematics.links),
        record.kinematics.ratios(record.rest, model.parameters()),
        _played(record),
        _figures(train, record.kinematics.layout),
        _warnings(train),
        told,
        pallets_of(record, beside.named if beside else {}) if several else (),
        coupled_of(record, alone) if several else {},
        _joins(record) if several else (),
    )


def _rested(train: Train, tolerances: Tolerances, pressed: Pressed | None) -> NoteModel:
    """The model that was pressed, which knows its rest, where it is of this train; else a new one."""
    known = pressed.model if pressed else None
    same = isinstance(known, NoteModel) and known.train is train and known.tolerances == tolerances
    return known if same else NoteModel(train, tolerances)  # type: ignore[return-value]  # a NoteModel where same


def _alone_curves(alone: Pressed) -> dict[str, Floats]:
    """The slow press of the same key with no coupler drawn."""
    return {name.replace("feel_", "alone_"): curve for name, curve in slow_curves(alone).items()}


def _joins(record: Record) -> tuple[tuple[str, str], ...]:
    """The bodies that each link joins."""
    titles = record.kinematics.coordinates
    return tuple((titles[link.upstream], titles[link.downstream]) for link in record.kinematics.links)


def _alone(record: Record, beside: Beside | None) -> Pressed | None:
    """The same key pressed without couplers; None where that cannot be followed."""
    if beside is None:
        return record
    try:
        return press_note(NoteModel(beside.alone), record.strokes)
    except NotPlayed:
        return None


def _warnings(train: Train) -> tuple[str, ...]:
    return tuple(warned.text for warned in train.warnings)


def _figures(train: Train, layout: Layout) -> tuple[Figure, ...]:
    """Every parameter of the train, as the equations spell it."""
    known = dict(zip(layout.parameters, layout.spellings, strict=True))
    roles = {part.name: part.role for part in train.parts}
    return tuple(
        Figure(
            known.get(name, spelled(name)), name.part, name.what, roles.get(name.part, ""), d.value, d.unit, d.origin
        )
        for name, d in train.parameters.items()
    )


def _played(record: Record) -> tuple[tuple[str, str, int, tuple[float, ...]], ...]:
    played = {"standard stroke": record.stroke}
    played |= {f"press at {speed * 1e3:g} mm/s": motion for speed, motion in record.fast.items()}
    return tuple(
        (
            name,
            m.status.method,
            m.evaluations,
            (
                m.audit.finger,
                m.audit.wind,
                m.audit.friction,
                m.audit.damping,
                m.audit.stored,
                m.audit.residual,
            ),
        )
        for name, m in played.items()
    )


def _samples(course: Course) -> Floats:
    """Places along what a finger meets that only goes on: all of it and others between, `SAMPLES` in all.

    Where it jumps there is nothing between: from one place straight to the other.
    """
    met, jumps = course.met, dict(course.jumps)
    ends = np.array([jumps.get(int(i), float(i)) for i in met[:-1]])  # from where the way to the next goes on
    landed = np.array(sorted(jumps.values()))
    spare = SAMPLES - len(met) - len(landed)
    if spare <= 0:
        whole = np.sort(np.concatenate([met, landed]))
        return np.asarray(whole[np.linspace(0, len(whole) - 1, SAMPLES).astype(int)], dtype=float)
    along = np.arange(len(course.finger))
    way = np.abs(course.finger[met[1:]] - np.interp(ends, along, course.finger))
    upto = np.round(np.cumsum(way) / np.sum(way) * spare).astype(int)
    more = np.diff(upto, prepend=0)
    steps = [np.linspace(0.0, 1.0, count + 1, endpoint=False) for count in more]
    places = [start + share * (j - start) for start, j, share in zip(ends, met[1:], steps, strict=True)]
    return np.sort(np.concatenate([*places, np.array(sorted(jumps), dtype=float), met[-1:]]))


def slow_curves(record: Pressed) -> dict[str, Floats]:
    """Key travel and force of the slow press, down and up, `SAMPLES` points each."""
    curves: dict[str, Floats] = {}
    for way, course in (("down", record.press.down), ("up", record.press.up)):
        places, along = _samples(course), np.arange(len(course.finger))
        for what, values in (("travel", course.travel), ("force", course.force)):
            curves[f"feel_{way}_{what}"] = np.interp(places, along, values)
    return curves


def _pressed_at_speed(record: Record, motion: Motion) -> tuple[Floats, Floats]:
    times = np.linspace(0.0, motion.drive.mark("bottom"), SAMPLES)
    return np.interp(times, motion.t, record.travel(motion)), np.interp(times, motion.t, motion["key_force"])


def _feel_curves(record: Record) -> dict[str, Floats]:
    curves = slow_curves(record)
    fast = [_pressed_at_speed(record, motion) for motion in record.fast.values()]
    curves["feel_speed_travel"] = np.array([travel for travel, _ in fast])
    curves["feel_speed_force"] = np.array([force for _, force in fast])
    return curves


def _stroke_curves(record: Record, several: bool) -> dict[str, Floats]:
    stroke = record.stroke
    times: Floats = np.arange(0.0, math.floor(stroke.drive.end / TIME_STEP + 1e-9) + 1) * TIME_STEP

    def kept(course: Floats) -> Floats:
        return np.asarray(np.interp(times, stroke.t, course), dtype=float)

    finger = np.array([next(p for p in stroke.drive.pieces if t <= p.end + 1e-12).way_at(t) for t in times])
    curves = {
        "time": times,
        "finger_travel": finger - stroke["key_travel"][0],
        "key_travel": kept(record.travel(stroke)),
    }
    for name in ("key_force", "pallet_lift", "seat_gap", "groove_pressure", "flow_in"):
        curves[name] = kept(stroke[name])
    curves["pallet_lift"] = curves["pallet_lift"] - stroke["pallet_lift"][0]
    ways = [stroke[body.way] for body in record.kinematics.layout.bodies]
    curves["motion"] = np.array([kept(way - way[0]) for way in ways])
    curves |= pallet_courses(record, times) if several else {}
    curves["link_force"] = np.array([kept(stroke[link.element.force]) for link in record.kinematics.links])
    return curves
