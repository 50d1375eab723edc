"""What a model would show of the measurements: presses of many trains side by side, strokes one by one."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from keyaction.cases.action.strokes import Strokes
from keyaction.models.algebra.names import Name
from keyaction.models.readings.courses import Trace
from keyaction.models.readings.figures import NAMES
from keyaction.models.train.train import Train
from keyaction.sim.calibration.measured import Block, Condition, CurveBlock, Measured, SheetBlock, TraceBlock
from keyaction.sim.calibration.near import distances, line_of
from keyaction.sim.calibration.traced import Traced, in_frames, played
from keyaction.sim.figures.record import Pressed
from keyaction.sim.fitting.least import Floats
from keyaction.sim.measuring.computed import Read, pressed, read_row
from keyaction.sim.weighing.weighoff import wind_off

FAR = 1e3
"""Errors by which a figure counts as missed where a model does not have it at all."""


@dataclass(frozen=True)
class Shown:
    """What a train shows: presses by condition, motions by trace."""

    presses: dict[tuple[str, ...], Read]
    traced: tuple[Traced | None, ...] = ()


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
    traced = [tuple(played(blown(train, trace), trace) for trace in measured.traces) for train in trains]
    return [Shown(one, more) for one, more in zip(found, traced, strict=True)]


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


def blown(train: Train, trace: Trace) -> Train:
    """The train, regulated as it is, under the wind of a trace."""
    return at_condition(train, Condition(trace.wind, trace.pressure))


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
        return _missed_in_time(block, shown.traced[i], instants[i])
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


def _missed_in_time(block: TraceBlock, moved: Traced | None, instant: float) -> Floats:
    if moved is None:
        return np.full(block.count, FAR)
    return np.asarray((block.values - in_frames(block, moved, instant)[0]) / block.errors)
