"""What the pictures read from a result: rows, curves, figures of the case, events of the standard stroke."""

from __future__ import annotations

import json
import math
from dataclasses import dataclass

import numpy as np

from keyaction.models.units.quantity import System, format_value
from keyaction.plots.style.page import Floats
from keyaction.sim.figures.limits import SPEECH_START
from keyaction.sim.figures.measure import crossing
from keyaction.sim.files.labelled import Result

NEVER_PLUCKS = "The pallet never leaves its seat in the slow press: there is no pluck point."


def reason(result: Result, row: int) -> str:
    """Why a note failed and what to do."""
    return str(result["status"][row]).removeprefix("failed: ")


def missing(result: Result, row: int, *curves: str) -> str:
    """Why a note cannot be drawn; empty if it can."""
    status = str(result["status"][row])
    if status != "ok":
        return f"{result.notes[row]} could not be played: {reason(result, row)}"
    absent = [name for name in curves if name not in result]
    return f"This result holds no {', '.join(absent)}." if absent else ""


def curve(result: Result, name: str, row: int) -> Floats:
    """One note's curve, SI."""
    return np.asarray(result[name][row], dtype=float)


def value(result: Result, name: str, row: int) -> float:
    """One note's figure, SI; NaN where the result lacks it."""
    return float(result[name][row]) if name in result else math.nan


def written(result: Result, name: str, row: int, units: System) -> str:
    """One note's figure with its unit, for people."""
    return format_value(value(result, name, row), result.variables[name].unit or "1", units)


def parameter(result: Result, name: str, row: int) -> float:
    """A parameter of the note's equations, SI; NaN where it has none of that name."""
    found = np.flatnonzero(result["figure"] == name)
    return float(result["figures"][row, found[0]]) if len(found) else math.nan


def stroke_setting(result: Result, name: str) -> float:
    """A value of the case's strokes, SI; NaN if the result does not say."""
    return float(json.loads(result.about.get("strokes", "{}")).get(name, math.nan))


def parts(result: Result) -> list[str]:
    """Names of the parts that move, in train order."""
    return [str(name) for name in result["part"]]


def part_of(name: str, known: list[str]) -> str:
    """The part that a body, rod or share of a budget belongs to; empty if to none."""
    fitting = [part for part in known if name == part or name.startswith((f"{part}-", f"{part} "))]
    return max(fitting, key=len, default="")


def piece(name: str, known: list[str]) -> int:
    """Number of a mass along a rod in pieces; 0 for any other body."""
    part = part_of(name, known)
    rest = name[len(part) + 1 :]
    return int(rest) if part and rest.isdigit() else 0


def bodies(result: Result) -> list[str]:
    """Names of the moving bodies, in train order."""
    known = parts(result)
    names = [str(name) for name in result["body"]]
    place = {name: known.index(part_of(name, known)) for name in names if part_of(name, known)}
    return sorted(names, key=lambda name: (place.get(name, len(known)), piece(name, known)))


@dataclass(frozen=True)
class Events:
    """Instants of a standard stroke, s from the press; NaN for what does not happen.

    Attributes
    ----------
    start : float
        The key passes 1 mm, from where opening time and speech delay count.
    half, full : float
        The groove passes 50 % and 90 % of the box pressure.
    lift : float
        The finger begins to lift.
    silent : float
        The groove falls below 10 %.
    """

    start: float
    half: float
    full: float
    lift: float
    silent: float


def events(result: Result, row: int) -> Events:
    """The events of a note's standard stroke, from the same figures that every table gives."""
    time = result["time"]
    start = crossing(time, curve(result, "key_travel", row), SPEECH_START)
    lift = stroke_setting(result, "down") + stroke_setting(result, "hold")
    if not math.isfinite(lift):
        finger = curve(result, "finger_travel", row)
        lift = float(time[np.flatnonzero(finger >= np.max(finger))[-1]])
    return Events(
        start,
        start + value(result, "opening_time", row),
        start + value(result, "speech_delay", row),
        lift,
        lift + value(result, "release_delay", row),
    )
