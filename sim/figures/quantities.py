"""The trade's figures from a motion: one function, one definition each.

Every function takes the `Record` of a note and returns an SI float, NaN where the note does not have the
quantity (a pallet that never opens has no pluck point). Its docstring is the definition that people read. With its
row in `keyaction.sim.figures.columns` it is in every command, table, plot and file, and means the same everywhere.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from keyaction.models.algebra.names import FINGER
from keyaction.sim.figures.limits import (
    EMPTY,
    FAR,
    FULL,
    GAUGE,
    HALF,
    JUST_PAST,
    NEAR,
    NO_FORCE,
    REOPENED,
    SETTLED,
    SPEECH_START,
    TAKEN_UP,
)
from keyaction.sim.figures.measure import crossing, gauge, lowest, peak, spans_above, value_at

if TYPE_CHECKING:
    from keyaction.sim.figures.record import Record


# -- the slow press --------------------------------------------------------------------------------------
def key_dip(record: Record) -> float:
    """Travel of the key front from rest to the bottom felt, read when the slow press reaches the dip force there."""
    slow = record.slow
    when = crossing(slow.t, slow["key_force"], record.strokes.dip_force, after=record.bottom_time)
    return value_at(slow.t, record.travel(slow), when) if math.isfinite(record.bottom_time) else math.nan


def lost_motion(record: Record) -> float:
    """Key travel in the slow press from which on, up to the pluck, every rod carries 10 mN more than at rest."""
    slow, travel = record.slow, record.travel(record.slow)
    rods = [link.element.force for link in record.kinematics.links if link.kind == "rod"]
    if not rods or not math.isfinite(record.pluck_time):
        return math.nan
    return value_at(slow.t, travel, float(np.max([_carries_from(record, rod) for rod in rods])))


def _carries_from(record: Record, rod: str) -> float:
    """Time from which the rod carries without a break until the pluck."""
    slow = record.slow
    force = slow[rod]
    level = float(force[0]) + TAKEN_UP
    light = np.flatnonzero((force < level) & (slow.t < record.pluck_time))
    return crossing(slow.t, force, level, after=float(slow.t[light[-1]])) if len(light) else 0.0


def pluck_point(record: Record) -> float:
    """Key travel at which the pallet leaves its seat in the slow press."""
    return value_at(record.slow.t, record.travel(record.slow), record.pluck_time)


def pluck_force(record: Record) -> float:
    """Highest key force in the slow press from rest to 1 mm of key travel past the pluck point."""
    if not math.isfinite(record.pluck_time):
        return math.nan
    slow, travel = record.slow, record.travel(record.slow)
    end = crossing(slow.t, travel, pluck_point(record) + JUST_PAST, after=record.pluck_time)
    return peak(slow.t, slow["key_force"], 0.0, end if math.isfinite(end) else slow.drive.mark("bottom"))[1]


def follow_through_force(record: Record) -> float:
    """Lowest key force in the slow press between the pluck and the bottom felt.

    As a gauge of 10 ms response shows it.
    """
    if not (math.isfinite(record.pluck_time) and math.isfinite(record.bottom_time)):
        return math.nan
    slow = record.slow
    shown = gauge(slow.t, slow["key_force"], GAUGE)
    return lowest(slow.t, shown, record.pluck_time + GAUGE, record.bottom_time - GAUGE)[1]


def pluck_ratio(record: Record) -> float:
    """Pluck force divided by follow-through force, where that is 1 gf or more."""
    follow = follow_through_force(record)
    return pluck_force(record) / follow if follow >= NO_FORCE else math.nan


def loop(record: Record) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """The slow press as force down and up over one axis of key travel: (travel, down, up), 200 points."""
    slow, travel = record.slow, record.travel(record.slow)
    force, turn = slow["key_force"], slow.drive.mark("lift")
    down, up = slow.t <= slow.drive.mark("bottom"), slow.t >= turn
    end = min(np.max(travel[down]), np.max(travel[up]))
    axis = np.linspace(0.0, float(end), 200)
    rising = np.maximum.accumulate(travel[down])
    falling = np.minimum.accumulate(travel[up])
    return axis, np.interp(axis, rising, force[down]), np.interp(axis, falling[::-1], force[up][::-1])


def friction_at_key(record: Record) -> float:
    """(Down-force - up-force) / 2 at equal travel in the slow press.

    Mean over the middle half of the way from the pluck to the bottom felt.
    """
    point, dip = pluck_point(record), value_at(record.slow.t, record.travel(record.slow), record.bottom_time)
    if not (math.isfinite(point) and math.isfinite(dip)):
        return math.nan
    axis, down, up = loop(record)
    quarter = (dip - point) / 4
    inside = (axis >= point + quarter) & (axis <= dip - quarter)
    return float(np.mean(down[inside] - up[inside]) / 2) if np.any(inside) else math.nan


def loop_work(record: Record) -> float:
    """Area between the slow feel curve down and up: the work that the finger does not get back."""
    return float(np.trapezoid(record.slow["key_force"], record.travel(record.slow)))


def stored_energy(record: Record) -> float:
    """Rise of the train's stored energy from rest to the pluck in the slow press: what is let go.

    The finger pad's own is left out.
    """
    slow = record.slow
    pad = slow[record.kinematics.layout.element(FINGER).stretch]
    own = slow["energy"] - record.slow.drive.stiffness * np.maximum(pad, 0.0) ** 2 / 2
    return value_at(slow.t, own, record.pluck_time) - float(own[0])


# -- the standard stroke ---------------------------------------------------------------------------------
def _start(record: Record) -> float:
    return crossing(record.stroke.t, record.travel(record.stroke), SPEECH_START)


def _reaches(record: Record, share: float) -> float:
    stroke = record.stroke
    return crossing(stroke.t, stroke["groove_pressure"], share * record.box_pressure, after=_start(record)) - _start(
        record
    )


def opening_time(record: Record) -> float:
    """From the key passing 1 mm to the groove passing 50 % of the box pressure, in the standard stroke."""
    return _reaches(record, HALF)


def speech_delay(record: Record) -> float:
    """From the key passing 1 mm to the groove passing 90 % of the box pressure, in the standard stroke."""
    return _reaches(record, FULL)


def release_delay(record: Record) -> float:
    """From the finger's lift to the groove falling below 10 % of the box pressure, in the standard stroke."""
    stroke, lift = record.stroke, record.stroke.drive.mark("lift")
    return crossing(stroke.t, stroke["groove_pressure"], EMPTY * record.box_pressure, after=lift, rising=False) - lift


def steady_lift(record: Record) -> float:
    """Lift of the pallet at the eye with the key held at the bottom: mean over the flat of the slow press."""
    slow = record.slow
    held = (slow.t > slow.drive.mark("bottom") + SETTLED) & (slow.t <= slow.drive.mark("lift"))
    return float(np.mean(slow["pallet_lift"][held]) - slow["pallet_lift"][0])


def overshoot(record: Record) -> float:
    """Highest pallet lift in the standard stroke divided by the steady lift."""
    stroke, lift = record.stroke, steady_lift(record)
    top = peak(stroke.t, stroke["pallet_lift"], 0.0, stroke.drive.mark("lift"))[1] - stroke["pallet_lift"][0]
    return float(top / lift) if lift > 0 else math.nan


def bounce(record: Record) -> float:
    """Number of times the pallet opens again after it first reseats in the standard stroke.

    Openings of more than 0.05 mm at the eye count.
    """
    stroke = record.stroke
    seated = crossing(stroke.t, stroke["seat_gap"], 0.0, after=stroke.drive.mark("lift"), rising=False)
    if not math.isfinite(seated):
        return math.nan
    return float(len(spans_above(stroke["seat_gap"][stroke.t > seated], REOPENED)))


def speech_after_release(record: Record) -> float:
    """Highest pressure in the groove, over the box pressure, after it first fell below 10 % in the standard stroke.

    Near 1 when the key's rebound makes the note speak again.
    """
    stroke = record.stroke
    silent = release_delay(record) + stroke.drive.mark("lift")
    after = stroke["groove_pressure"][stroke.t >= silent] if math.isfinite(silent) else np.zeros(0)
    return float(np.max(after)) / record.box_pressure if len(after) and record.box_pressure > 0 else math.nan


def peak_force(record: Record) -> float:
    """Highest key force in the standard stroke while the finger goes down."""
    return peak(record.stroke.t, record.stroke["key_force"], 0.0, record.stroke.drive.mark("bottom"))[1]


def pallet_speed(record: Record) -> float:
    """Mean speed of the eye between a gap of 0.5 mm and 3 mm (or half of the steady lift) in the standard stroke."""
    stroke, far = record.stroke, min(FAR, steady_lift(record) / 2)
    near = min(NEAR, far / 2)
    times = [crossing(stroke.t, stroke["seat_gap"], gap) for gap in (near, far)]
    return (far - near) / (times[1] - times[0]) if times[1] > times[0] else math.nan


def groove_share(record: Record) -> float:
    """Pressure in the groove over the box pressure with the key held at the bottom, slow press."""
    slow = record.slow
    held = (slow.t > slow.drive.mark("bottom") + SETTLED) & (slow.t <= slow.drive.mark("lift"))
    return float(np.mean(slow["groove_pressure"][held])) / record.box_pressure if record.box_pressure > 0 else math.nan


# -- repetition, effective mass, vibration -----------------------------------------------------------------
def repetition_rate(record: Record) -> float:
    """Highest rate of the repeated stroke at which every stroke speaks and every release is silent.

    Every stroke takes the groove above 90 %, every release takes it below 10 % with the pallet seated.
    """
    return record.repetition.rate


def effective_mass(record: Record) -> float:
    """Inertia of the whole train referred to the key front at rest, nothing giving way."""
    return sum(mass_budget(record).values())


def mass_budget(record: Record) -> dict[str, float]:
    """Effective mass at the key front by part, kg, in train order."""
    p = record.model.parameters()
    found = record.kinematics.effective_masses(record.coordinates(record.slow, 0), p)
    order = [part.name for part in record.model.train.parts]
    return {name: found[name] for name in order if name in found}


def closing_force(record: Record) -> float:
    """Force at the pallet's eye that keeps it shut with the wind off: spring less weight."""
    return record.of("pallet", "closing_no_wind")


def wave_time(record: Record) -> float:
    """Least time in which a pull can travel the rods of the train: sum of length over sound speed of each."""
    times = [
        part.values.derived["wave_time"].value
        for part in record.model.train.parts
        if "wave_time" in part.values.derived
    ]
    return sum(times) if times else math.nan


def train_frequency(record: Record) -> float:
    """Lowest natural frequency of the taut train, pallet seated."""
    return float(record.modes.frequencies[0])
