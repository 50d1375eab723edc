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
from keyaction.sim.figures.verdict import Fate
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


def unsound(result: Result, row: int) -> str:
    """What is wrong with a note by its verdict; empty where nothing is, or nothing is known."""
    text = str(result["verdict"][row]) if "verdict" in result else ""
    return "" if text.startswith((Fate.SPEAKS.value, Fate.UNKNOWN.value)) else text


def no_notes(result: Result) -> str:
    """Why there is nothing over the compass; empty if there is."""
    if not len(result["semitone"]):
        return "This result holds no notes."
    if all(str(status) != "ok" for status in result["status"]):
        first = f"{result.notes[0]}: {reason(result, 0)}"
        return f"None of the notes could be played ({len(result['semitone'])} tried).\n{first}"
    return ""


def curve(result: Result, name: str, row: int) -> Floats:
    """One note's curve, SI."""
    return np.asarray(result[name][row], dtype=float)


def value(result: Result, name: str, row: int) -> float:
    """One note's figure, SI; NaN where the result lacks it."""
    return float(result[name][row]) if name in result else math.nan


def written(result: Result, name: str, row: int, units: System) -> str:
    """One note's figure with its unit, for people."""
    return format_value(value(result, name, row), result.held(name).unit or "1", units)


def parameter(result: Result, role: str, what: str, row: int) -> float:
    """A parameter of the first part of a role, SI; NaN where there is none."""
    if "figure_role" not in result:
        return math.nan
    found = np.flatnonzero((result["figure_role"] == role) & (result["figure_what"] == what))
    return float(result["figures"][row, found[0]]) if len(found) else math.nan


def stroke_setting(result: Result, name: str) -> float:
    """A value of the case's strokes, SI; NaN if the result does not say."""
    return float(json.loads(result.about.get("strokes", "{}")).get(name, math.nan))


def parts(result: Result) -> list[str]:
    """Names of the parts that move, in train order."""
    return [str(name) for name in result["part"]]


def owner(result: Result, share: str) -> str:
    """The part that a share of a budget belongs to: of the masses the part itself; empty if to none."""
    if "give" in result and share in result["give"]:
        return str(result["give_part"][list(result["give"]).index(share)])
    return share if share in parts(result) else ""


@dataclass(frozen=True)
class MovingBody:
    """A moving body: its row on the axis, name, part, which of the part's bodies, and number along a rod."""

    row: int
    name: str
    part: str
    piece: str
    number: int


def bodies(result: Result) -> list[MovingBody]:
    """The moving bodies, in train order."""
    known = parts(result)
    columns = [result[name] for name in ("body", "body_part", "body_piece", "body_number")]
    found = [
        MovingBody(i, str(name), str(part), str(piece), int(number))
        for i, (name, part, piece, number) in enumerate(zip(*columns, strict=True))
    ]
    place = {part: i for i, part in enumerate(known)}
    return sorted(found, key=lambda body: (place.get(body.part, len(known)), body.number))


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
