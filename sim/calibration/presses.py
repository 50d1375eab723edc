"""What a model would show of the measurements: presses of many trains side by side, strokes one by one."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from scipy.interpolate import PchipInterpolator

from keyaction.cases.action.strokes import Strokes
from keyaction.models.algebra.names import Name
from keyaction.models.readings.courses import Trace
from keyaction.models.readings.figures import NAMES
from keyaction.models.train.train import Train
from keyaction.sim.calibration.measured import Block, Condition, CurveBlock, Measured, SheetBlock, TraceBlock
from keyaction.sim.calibration.near import distances, line_of
from keyaction.sim.figures.measure import above_seat
from keyaction.sim.figures.record import Pressed
from keyaction.sim.fitting.least import Floats
from keyaction.sim.measuring.computed import Read, pressed, read_row
from keyaction.sim.motion.drives import Drive, Piece, laid_mass, quintic
from keyaction.sim.motion.integrate import Motion
from keyaction.sim.motion.note import NoteModel
from keyaction.sim.weighing.weighoff import wind_off

FAR = 1e3
"""Errors by which a figure counts as missed where a model does not have it at all."""
_HELD, _PRESSED, _LOAD, _FREE = 0.35, 0.15, 5.0, 0.35
"""s, s, N, s: a key that is let go is pressed so long down, within so long, with so much; and followed so long."""
_PIECES = 60
"""Pieces of a finger's way at most."""
_STIFF = 1e4
"""N/m: a finger whose way was read at the key itself (assumed)."""


@dataclass(frozen=True)
class Shown:
    """What a train shows: presses by condition, motions by trace."""

    presses: dict[tuple[str, ...], Read]
    motions: tuple[Motion | None, ...] = ()


def show(trains: Sequence[Train], measured: Measured, strokes: Strokes, jobs: int = 0) -> list[Shown]:
    """Press and play what the measurements ask for.

    Parameters
    ----------
    trains : sequence of Train
    measured : Measured
    strokes : Strokes
        How a key is pressed where the measurements do not say.
    jobs : int
        Threads; 0 means one per core.
    """
    conditions = {
        block.condition.same: block.condition for block in measured.blocks if not isinstance(block, TraceBlock)
    }
    found: list[dict[tuple[str, ...], Read]] = [{} for _ in trains]
    for name, condition in conditions.items():
        under = [at_condition(train, condition) for train in trains]
        for one, read in zip(found, pressed(under, pressed_so(strokes, condition), jobs), strict=True):
            one[name] = read
    motions = [tuple(played(train, trace) for trace in measured.traces) for train in trains]
    return [Shown(one, more) for one, more in zip(found, motions, strict=True)]


def at_condition(train: Train, condition: Condition) -> Train:
    """The train, regulated as it is, under a condition."""
    if not condition.wind:
        return wind_off(train)
    return _at_pressure(train, condition.pressure)


def _at_pressure(train: Train, pressure: float) -> Train:
    if math.isfinite(pressure):
        for box in (part for part in train.parts if part.role == "box"):
            train = train.with_parameter(Name(box.name, "p_box"), pressure, "pressure of the measurement")
    return train


def pressed_so(strokes: Strokes, condition: Condition) -> Strokes:
    """How a key is pressed under a condition."""
    gauge = condition.gauge if math.isfinite(condition.gauge) else strokes.press_stiffness
    turn = max(condition.turn * 1.02, strokes.dip_force) if math.isfinite(condition.turn) else strokes.dip_force
    return replace(strokes, press_stiffness=gauge, dip_force=turn)


def residuals(shown: Shown, measured: Measured, instants: Sequence[float], levels: Sequence[float]) -> Floats:
    """Measured minus shown, each over its error.

    Parameters
    ----------
    shown : Shown
    measured : Measured
    instants : sequence of float
        Of every trace, when its stroke begins, s of its own time.
    levels : sequence of float
        Of every block, a factor on its errors.
    """
    found = [
        missed(block, shown, measured, instants) / level for block, level in zip(measured.blocks, levels, strict=True)
    ]
    return np.concatenate(found) if found else np.zeros(0)


def missed(block: Block, shown: Shown, measured: Measured, instants: Sequence[float]) -> Floats:
    """Of one block, over its own errors."""
    if isinstance(block, TraceBlock):
        i = measured.traces.index(block.trace)
        return _missed_in_time(block, shown.motions[i], instants[i])
    read = shown.presses[block.condition.same]
    if isinstance(block, SheetBlock):
        return (block.values - figures_of(block, read)) / block.errors
    if not isinstance(read, Pressed):
        return np.full(block.count, FAR)
    return distances(block.points, block.errors, curve_of(block, read))


def figures_of(block: SheetBlock, read: Read) -> Floats:
    """The figures of a block as they would be read; far off where the model does not have one."""
    row = read_row(read) if block.condition.wind else read_row(None, read)
    shown = np.array([row[NAMES.index(name)] for name in block.figures])
    return np.where(np.isfinite(shown), shown, block.values - FAR * block.errors)


def curve_of(block: CurveBlock, read: Pressed) -> Floats:
    """The model's way down or up, (m, 2) of travel and force."""
    return line_of(read.press.down if block.down else read.press.up)


# -- strokes -------------------------------------------------------------------------------------------------
def played(train: Train, trace: Trace) -> Motion | None:
    """The stroke of a trace, its time 0 where the drive begins; None where it cannot be played."""
    train = wind_off(train) if not trace.wind else _at_pressure(train, trace.pressure)
    motion = NoteModel(train).play(drive_of(trace))
    return motion if motion.status.ok else None


def drive_of(trace: Trace) -> Drive:
    """What was done to the key; time 0 is that of `begins`."""
    long = float(trace.time[-1] - trace.time[0]) + 0.1
    if trace.driven == "mass":
        return laid_mass(trace.mass, trace.within, max(long, 0.1))
    if trace.driven == "let go":
        return let_go(trace.within, max(long, _FREE))
    return _by_finger(trace)


def let_go(within: float, free: float = _FREE) -> Drive:
    """A key held at the bottom and let go at time `begins`, nothing left on it."""
    down, freed = quintic(0.0, _PRESSED, 0.0, _LOAD), quintic(_HELD, _HELD + within, _LOAD, 0.0)
    pieces = (
        Piece(0.0, _PRESSED, force=down.way),
        Piece(_PRESSED, _HELD, force=(_LOAD,)),
        Piece(_HELD, freed.end, force=freed.way),
        Piece(freed.end, freed.end + free),
    )
    return Drive("force", pieces, marks=(("press", 0.0), ("lift", _HELD), ("free", freed.end)))


def begins(trace: Trace) -> float:
    """Time of the drive that is 0 of the stroke: where a mass is laid, a key let go, a finger begins, s."""
    return _HELD if trace.driven == "let go" else 0.0


def _by_finger(trace: Trace) -> Drive:
    """The finger's way in cubic pieces through what was read of it."""
    there = np.isfinite(trace.finger)
    time, way = trace.time[there] - trace.time[0], trace.finger[there]
    every = max(1, math.ceil(len(time) / _PIECES))
    time, way = np.append(time[::every], time[-1]), np.append(way[::every], way[-1])
    fresh = np.concatenate([[True], np.diff(time) > 1e-6])
    curve = PchipInterpolator(time[fresh], way[fresh])
    pieces = tuple(
        Piece(float(start), float(end), tuple(map(float, curve.c[::-1, i])))
        for i, (start, end) in enumerate(zip(curve.x[:-1], curve.x[1:], strict=True))
    )
    return Drive("motion", pieces, stiffness=_STIFF, marks=(("press", 0.0),))


def channel_of(motion: Motion, trace: Trace, channel: str) -> tuple[Floats, Floats]:
    """Times from the stroke's own 0 (s) and a channel, SI."""
    time = motion.t - begins(trace)
    if channel == "key":
        return time, np.asarray(motion["key_travel"] - motion["key_travel"][0])
    if channel == "pallet":
        return time, np.maximum(above_seat(motion["pallet_lift"], motion["seat_gap"]), 0.0)
    return time, np.asarray(motion["groove_pressure"])


def _missed_in_time(block: TraceBlock, motion: Motion | None, instant: float) -> Floats:
    if motion is None:
        return np.full(block.count, FAR)
    time, values = channel_of(motion, block.trace, block.channel)
    missed = block.values - np.interp(block.times - instant, time, values)
    return np.asarray(missed / errors_in_time(block))


def errors_in_time(block: TraceBlock) -> Floats:
    """Standard deviations of a trace: what moves fast is off by the rounding of its times as well."""
    speed = np.gradient(block.values, block.times) if block.count > 1 else np.zeros(block.count)
    return np.asarray(np.hypot(block.trace.error(block.channel), speed * block.trace.instant))
