"""The trade's figures from a motion: one function, one definition each.

Every function takes the `Record` of a note and returns an SI float, NaN where the note does not have the
quantity (a pallet that never opens has no pluck point). Its docstring is the definition that people read. With its
row in `keyaction.sim.figures.columns` it is in every command, table, plot and file, and means the same everywhere.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from keyaction.models.train.train import wave_time_of
from keyaction.sim.figures.limits import (
    EMPTY,
    FAR,
    FULL,
    HALF,
    NEAR,
    NO_FORCE,
    NOTHING,
    REOPENED,
    SPEECH_START,
    TAKEN_UP,
)
from keyaction.sim.figures.measure import above_seat, crossing, peak, spans_above
from keyaction.sim.figures.sideways import whips

if TYPE_CHECKING:
    from keyaction.sim.figures.record import Pressed, Record
    from keyaction.sim.motion.integrate import Floats


# -- the slow press: so slow that all forces balance at every place ------------------------------------------
def key_dip(record: Pressed) -> float:
    """Travel of the key front from rest to where the slow press reaches the dip force on the bottom felt."""
    return float(record.press.down.travel[-1])


def lost_motion(record: Pressed) -> float:
    """Key travel in the slow press from which on, up to the pluck, every rod carries 10 mN more than at rest.

    All play at the key: that of the rods' fields, by the levers, and what the resting train gives besides, as its
    rods hang on roller, seat and key; a leak past the seat and a stiff pin add to it.
    """
    down, pluck = record.press.down, record.press.pluck_place
    links = [record.kinematics.links[i] for i in record.kinematics.to(record.press.sounders[0].pallet)]
    rods = [link.element.force for link in links if link.kind == "rod"]
    if not rods or not math.isfinite(pluck):
        return math.nan
    before = slice(math.ceil(pluck) + 1)
    return max(_carries_from(down.travel[before], down[rod][before]) for rod in rods)


def _carries_from(travel: Floats, force: Floats) -> float:
    """Key travel from which on a rod carries: 0 if at once; that of the pluck if never."""
    level = float(force[0]) + TAKEN_UP
    light = np.flatnonzero(force < level)
    i = int(light[-1]) if len(light) else -1
    if i < 0 or i + 1 == len(force):
        return float(travel[i]) if i > 0 else 0.0
    return float(np.interp(level, force[i : i + 2], travel[i : i + 2]))


def pluck_point(record: Pressed) -> float:
    """Key travel at which the pallet leaves its seat in the slow press."""
    return record.press.pluck_point


def pluck_force(record: Pressed) -> float:
    """Highest key force in the slow press from rest to 1 mm past the last pluck, before the bottom felt.

    Where a key opens several pallets, its own and others by couplers, or works in stages (a relief pallet, a second
    fulcrum), the pluck force is that of them all.
    """
    return record.press.pluck_force


def follow_through_force(record: Pressed) -> float:
    """Lowest key force in the slow press between the (last) pluck and the bottom felt."""
    return record.press.follow_through_force


def pluck_ratio(record: Pressed) -> float:
    """Pluck force divided by follow-through force, where that is 1 gf or more."""
    follow = follow_through_force(record)
    return pluck_force(record) / follow if follow >= NO_FORCE else math.nan


def friction_at_key(record: Pressed) -> float:
    """(Down-force - up-force) / 2 at equal travel in the slow press.

    Mean over the middle half of the way from the pluck to the bottom felt; none where the key does not come up
    through it by itself.
    """
    press = record.press
    point, bottom = press.last_stage, press.bottom_point
    if not (math.isfinite(point) and math.isfinite(bottom)):
        return math.nan
    quarter = (bottom - point) / 4
    if press.up.travel[-1] > point + quarter:
        return math.nan
    axis = np.linspace(point + quarter, bottom - quarter, 101)
    return float(np.mean(press.down.force_at(axis) - press.up.force_at(axis)) / 2)


def loop_work(record: Pressed) -> float:
    """Area between the slow feel curve down and up: the work that the finger does not get back.

    A small difference of two large works, known to 1 uJ.
    """
    return record.press.down.work + record.press.up.work


def stored_energy(record: Pressed) -> float:
    """Rise of the train's stored energy from rest to the pluck in the slow press: what is let go.

    The finger pad's own is left out.
    """
    down = record.press.down
    own = down["energy"] - down.balance.stiffness * np.maximum(down[down.balance.pad], 0.0) ** 2 / 2
    return down.at(record.press.pluck_place, own) - float(own[0])


def steady_lift(record: Pressed) -> float:
    """Lift of the pallet above its seat, at the eye, with the key held at the bottom by the dip force."""
    down = record.press.down
    lift = float(above_seat(down["pallet_lift"], down["seat_gap"])[-1])
    return lift if down["seat_gap"][-1] > 0.0 else math.nan


def _held_open(record: Pressed) -> float:
    """The steady lift of a pallet that stays open; NaN of one that does not."""
    lift = steady_lift(record)
    return lift if lift >= REOPENED else math.nan


def groove_share(record: Pressed) -> float:
    """Pressure in the groove over the box pressure with the key held at the bottom by the dip force."""
    if record.box_pressure <= 0.0:
        return math.nan
    share = float(record.press.down["groove_pressure"][-1]) / record.box_pressure
    return share if abs(share) > NOTHING else 0.0


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


def overshoot(record: Record) -> float:
    """Highest lift of the pallet above its seat in the standard stroke divided by the steady lift.

    0 where the stroke does not open the pallet; none where the pallet does not stay at least 0.05 mm open.
    """
    highest = peak(record.stroke.t, record.lift, 0.0, record.stroke.drive.mark("lift"))[1]
    return max(highest, 0.0) / _held_open(record)


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
    """Highest pressure in the groove, over the box pressure, from where it first fell to 10 % in the standard stroke.

    Near 1 when the key's rebound makes the note speak again; 0.1, which it had there, where it rises no more. A groove
    that was emptier when the finger lifts has the highest from there on.
    """
    stroke, delay = record.stroke, release_delay(record)
    after = stroke["groove_pressure"][stroke.t >= delay + stroke.drive.mark("lift")]
    if not len(after) or record.box_pressure <= 0.0:
        return math.nan
    highest = float(np.max(after)) / record.box_pressure
    return max(highest, EMPTY) if delay > 0.0 else highest


def peak_force(record: Record) -> float:
    """Highest key force in the standard stroke while the finger goes down."""
    return peak(record.stroke.t, record.stroke["key_force"], 0.0, record.stroke.drive.mark("bottom"))[1]


def pallet_speed(record: Record) -> float:
    """Mean speed of the eye between a gap of 0.5 mm and 3 mm (or half of the steady lift) in the standard stroke.

    None where the pallet does not stay at least 0.05 mm open.
    """
    stroke, held = record.stroke, _held_open(record)
    if math.isnan(held):
        return math.nan
    far = min(FAR, held / 2)
    near = min(NEAR, far / 2)
    times = [crossing(stroke.t, stroke["seat_gap"], gap) for gap in (near, far)]
    return (far - near) / (times[1] - times[0]) if times[1] > times[0] else math.nan


def side_way(record: Record) -> float:
    """Furthest that the middle of a rod's longest span goes sideways from where it rests, in the standard stroke.

    Of the rods with side motion the furthest; none where no rod has it.
    """
    return max((one.way for one in whips(record.stroke)), default=math.nan)


def slaps(record: Record) -> float:
    """Number of times that rods with side motion come to what stands beside them, in the standard stroke.

    None where nothing stands beside a rod with side motion.
    """
    counted = [one.slaps for one in whips(record.stroke) if one.slaps >= 0]
    return float(sum(counted)) if counted else math.nan


def slap_speed(record: Record) -> float:
    """Fastest that a rod with side motion comes to what stands beside it, in the standard stroke: 0 if it never does.

    None where nothing stands beside a rod with side motion.
    """
    return max((one.speed for one in whips(record.stroke) if one.slaps >= 0), default=math.nan)


# -- repetition, effective mass, vibration -----------------------------------------------------------------
def repetition_rate(record: Record) -> float:
    """Highest rate of the repeated stroke up to which every rate tried passes: each half hertz, then tenths.

    Every stroke takes the groove above 90 %, every release takes it below 10 % with the pallet seated.
    """
    return record.repetition.rate


def effective_mass(record: Pressed) -> float:
    """Inertia of the whole train referred to the key front at rest, nothing giving way."""
    return sum(mass_budget(record).values())


def mass_budget(record: Pressed) -> dict[str, float]:
    """Effective mass at the key front by part, kg, in train order."""
    p = record.model.parameters()
    found = record.kinematics.effective_masses(record.rest, p)
    order = [part.name for part in record.model.train.parts]
    return {name: found[name] for name in order if name in found}


def closing_force(record: Pressed) -> float:
    """Force at the pallet's eye that keeps it shut with the wind off: spring less weight."""
    return record.of("pallet", "closing_no_wind")


def wave_time(record: Pressed) -> float:
    """Least time in which a pull can travel the rods of the train: sum of length over sound speed of each."""
    return wave_time_of(record.model.train.parts)


def train_frequency(record: Pressed) -> float:
    """Lowest natural frequency of the taut train, pallet seated, at 0.9 of the finger's way to the pluck."""
    return float(record.modes.frequencies[0])
