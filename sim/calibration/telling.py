"""What a calibration says, in sentences: what was measured, how good the fit is, where it is poor, what is not told."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from keyaction.models.readings.courses import CHANNELS
from keyaction.models.readings.figures import BY_NAME
from keyaction.models.units.quantity import System, format_value
from keyaction.sim.calibration.apart import beside_words, untold_words
from keyaction.sim.calibration.found import Calibrated, Value
from keyaction.sim.calibration.measured import CurveBlock, SheetBlock, TraceBlock
from keyaction.sim.calibration.unknowns import train_at
from keyaction.sim.fitting.goodness import ODDS

OFF = 3.0
"""Errors by which a figure of a sheet stands out."""
MOVED = 0.05
"""Share of a sum of squares by which ends of starts differ that are not one."""


def value_words(one: Value, figure: float, units: System) -> str:
    """A figure of the fit as people read it; a factor without a unit as times."""
    value = one.of.value(figure)
    if one.of.kind.unit == "1":
        return f"{value:.3g} times"
    return format_value(value, one.of.kind.unit, units)


def interval_words(one: Value, units: System) -> str:
    """The 95 % interval."""
    if one.interval is None:
        return "not told"
    low, high = end_words(one, units)
    if one.open[0]:
        return f"below {high}"
    return f"above {low}" if one.open[1] else f"{low} to {high}"


def end_words(one: Value, units: System) -> list[str]:
    """Both ends of an interval that is told."""
    assert one.interval is not None
    figures = (one.interval.low, one.interval.high)
    pairs = zip(figures, one.open, strict=True)
    return ["open" if is_open else value_words(one, figure, units) for figure, is_open in pairs]


def sentences(found: Calibrated, units: System, left: Sequence[str] = ()) -> list[str]:
    """The answer first: how good the fit is, and what it leaves open.

    Parameters
    ----------
    found : Calibrated
    units : {"trade", "si"}
    left : sequence of str
        Unknowns that would be usual and were held, because too little was measured.
    """
    told = [_goodness(found), *_left(found, left), *_levels(found, units), *_pressure(found, units)]
    told += _left_out(found, units)
    if not found.found.done:
        told.append("The search was broken off before it settled: values and intervals are not final.")
    if found.poor:
        told += _where(found, units)
        told.append("The intervals of a poor fit do not hold: something is at work that the unknowns do not have.")
        told += [
            f"Freed as well, {one.name} would take away {100 * one.share:.0f} % of what remains; name it with "
            "--unknown if there is reason to believe in it."
            for one in found.lacking[:1]
        ]
    told += untold_words(found.untold, found.asked.of, units)
    told += beside_words(found.untold, found.asked.of, _hidden(found))
    told += _wide(found)
    told += [
        f"{one.of.name} is {interval_words(one, units)}; what was measured sets no other end."
        for one in found.told
        if any(one.open) and not found.poor
    ]
    told += [
        f"{one.of.name} ends at the edge of what it may be."
        for one, edge in zip(found.values, found.found.at_bound, strict=False)
        if edge and one.of.kind.low != 0.0 and (found.poor or not any(one.open))
    ]
    return told


def _left(found: Calibrated, left: Sequence[str]) -> list[str]:
    if not left:
        return []
    names, them = ", ".join(left), "it" if len(left) == 1 else "them"
    if found.poor:
        return [
            f"For want of points {names} stayed as the case has {them}, which may be why the fit is poor: measure more "
            "first."
        ]
    return [f"Too little was measured to ask for {names} as well."]


def _left_out(found: Calibrated, units: System) -> list[str]:
    """Where instants of a trace do not count."""
    traces = [block for block in found.measured.blocks if isinstance(block, TraceBlock) and block.left]
    return [
        f"Of the {CHANNELS[one.channel][0]} the last {one.left} instants are left out, from "
        f"{format_value(one.end, 's', units)} on: parts chatter there, and the least change of an unknown throws the "
        "motion another way."
        for one in traces
    ]


def _pressure(found: Calibrated, units: System) -> list[str]:
    """What follows where nobody said how much wind there was."""
    names = [one.name for one in found.asked.of]
    unsaid = any(
        block.trace.wind and math.isnan(block.trace.pressure)
        if isinstance(block, TraceBlock)
        else block.condition.wind and math.isnan(block.condition.pressure)
        for block in found.measured.blocks
    )
    if not unsaid or "pressure" in names:
        return []
    taken = format_value(train_at(found.asked.case, found.note, {}).box_pressure, "Pa", units)
    told = f"The pressure was not stated of all that was measured; where it was not, the case's {taken} was taken."
    takes = [name for name in ("seal", "toes") if name in names]
    if takes:
        told += f" It is not told apart from {' and '.join(takes)}: what it is off by, {takes[0]} takes."
    return [f"{told} Measure it next, with a manometer in the box, and state it as a line 'pressure'."]


def _hidden(found: Calibrated) -> list[int]:
    """Unknowns that are not told because their slopes leave them open."""
    scale = found.asked.space.scale
    return [k for k, one in enumerate(found.values) if one.interval is None and found.spread.half[k] > scale[k]]


def _wide(found: Calibrated) -> list[str]:
    """Unknowns whose slopes are known, but whose interval reaches further than cases are usually off."""
    names = [one.of.name for k, one in enumerate(found.values) if one.interval is None and k not in _hidden(found)]
    return [f"{', '.join(names)}: known no better than cases are usually off."] if names else []


def _goodness(found: Calibrated) -> str:
    good, parts = found.good, list[str]()
    if math.isfinite(good.odds):
        parts.append(
            f"sum of squares {good.squares:.3g} where {good.freedom:.3g} is expected ({_odds(good.odds)} by chance)"
        )
    if math.isfinite(good.run_odds):
        runs = f"{good.runs:.0f} runs of one sign where {good.expected:.0f} are expected"
        parts.append(f"{runs} ({_odds(good.run_odds)} by chance)")
    if not parts:
        return "Whether the fit is good cannot be said: too few figures, and no error stated."
    word = "poor" if found.poor else "good"
    return f"The fit is {word}: {'; '.join(parts)}."


def _odds(odds: float) -> str:
    if odds < ODDS:
        return f"less than 1 in {1 / ODDS:.0f}"
    return f"{100 * odds:.2g} %"


def _levels(found: Calibrated, units: System) -> list[str]:
    told = list[str]()
    for block, level in zip(found.measured.blocks, found.levels, strict=True):
        if block.stated:
            continue
        if isinstance(block, CurveBlock):
            travel, force = level * block.errors
            off = f"{format_value(force, 'N', units)} and {format_value(travel, 'm', units)}"
            told.append(f"No error of the feel curve was stated; what remains is as of points off by {off}.")
        elif isinstance(block, TraceBlock):
            words, unit, _ = CHANNELS[block.channel]
            off = format_value(level * block.trace.error(block.channel), unit, units)
            told.append(f"No error of the {words} was stated; what remains is as of frames off by {off}.")
    return list(dict.fromkeys(told))


def _where(found: Calibrated, units: System) -> list[str]:
    """Where a fit is poor: figures that stand out, and the worst stretch of the courses."""
    told, start, begun = list[str](), 0, 0
    for block, level in zip(found.measured.blocks, found.levels, strict=True):
        missed = found.found.residuals[start : start + block.count]
        start += block.count
        if isinstance(block, SheetBlock):
            told += _figures_off(block, missed, units)
            continue
        worst = found.good.worst
        if worst and begun <= worst.first < begun + block.count:
            first, last = worst.first - begun, min(worst.last - begun, block.count - 1)
            told.append(_stretch(block, level, first, last, worst.mean, units))
        begun += block.count
    return told


def _figures_off(block: SheetBlock, missed: np.ndarray, units: System) -> list[str]:
    told = []
    for name, value, error, off in zip(block.figures, block.values, block.errors, missed, strict=True):
        if abs(off) > OFF:
            about = BY_NAME[name]
            read, model = (format_value(one, about.unit, units) for one in (value, value - off * error))
            told.append(f"{about.heading}: {read} was read where the model has {model}.")
    return told


def _stretch(block: CurveBlock | TraceBlock, level: float, first: int, last: int, mean: float, units: System) -> str:
    side = "above" if mean > 0 else "below"
    if isinstance(block, CurveBlock):
        ends = [format_value(float(block.points[i, 0]), "m", units) for i in (first, last)]
        by = format_value(abs(mean) * level * float(block.errors[1]), "N", units)
        way = "down" if block.down else "up"
        where = f"Worst on the way {way} from {ends[0]} to {ends[1]}"
        return f"{where}: what was measured lies by about {by} {side} the model."
    words, unit, _ = CHANNELS[block.channel]
    ends = [format_value(float(block.times[i]), "s", units) for i in (first, last)]
    by = format_value(abs(mean) * level * block.trace.error(block.channel), unit, units)
    return f"Worst from {ends[0]} to {ends[1]}: the {words} lies by about {by} {side} the model."
