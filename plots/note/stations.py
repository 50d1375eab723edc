"""The stations that a stroke passes on its way from the finger to the groove, and when it arrives at each."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from keyaction.models.parts.side import PIECE
from keyaction.plots.style import reading
from keyaction.plots.style.page import Floats
from keyaction.plots.style.reading import MovingBody
from keyaction.sim.figures.limits import HALF, SPEECH_START
from keyaction.sim.figures.measure import crossing, value_at
from keyaction.sim.files.labelled import Result

ARRIVED = SPEECH_START
"""m at the key: a stroke has arrived at a station when it has moved it by what starts the opening time."""


@dataclass(frozen=True)
class Station:
    """One place of the train.

    Attributes
    ----------
    name : str
    link : str
        What carries the motion to it from the station before.
    way : (t,) array
        Its motion, m at the key front; of the groove the share of the box pressure.
    down, up : float
        When press and release arrive, s from the press; NaN if they don't.
    part : str
        The part that it is of; empty for finger and groove.
    """

    name: str
    link: str
    way: Floats
    down: float
    up: float
    part: str = ""


def stations(result: Result, row: int) -> list[Station]:
    """Finger, bodies and groove in train order.

    Raises
    ------
    ValueError
        If the result has no speed ratios for the note; the message says so.
    """
    lift = reading.events(result, row).lift
    time = np.asarray(result["time"], dtype=float)
    finger = _mechanical("finger", "", reading.curve(result, "finger_travel", row), time, lift)
    moved = [
        replace(_mechanical(name, link, way, time, lift), part=part) for name, link, way, part in _bodies(result, row)
    ]
    return [finger, *moved, _groove(result, row, time, lift)]


def _bodies(result: Result, row: int) -> list[tuple[str, str, Floats, str]]:
    bodies, known = reading.bodies(result), reading.parts(result)
    ratios, motion = (np.asarray(result[name][row], dtype=float) for name in ("body_ratio", "motion"))
    chosen = _chosen(bodies)
    if not all(math.isfinite(ratios[body.row]) and ratios[body.row] != 0 for body in chosen):
        raise ValueError(
            f"{result.notes[row]}: this result holds no speed ratios for the note, so that its bodies cannot be "
            "referred to the key (its train has other bodies than the other notes)."
        )
    links = ["finger's pad", *(_link(a, b, known) for a, b in pairwise(chosen))]
    return [
        (_called(body, bodies), link, motion[body.row] / ratios[body.row], body.part)
        for body, link in zip(chosen, links, strict=True)
    ]


def _chosen(bodies: list[MovingBody]) -> list[MovingBody]:
    """All bodies on the way to the pallet, but of a rod in pieces only the first and the last."""
    bodies = [body for body in bodies if body.piece != PIECE]
    last = {body.part: body.number for body in bodies}
    return [body for body in bodies if body.number in (0, 1, last[body.part])]


_ENDS = {"in": "key's end", "out": "pallet's end"}


def _called(body: MovingBody, bodies: list[MovingBody]) -> str:
    if body.number:
        count = sum(other.part == body.part for other in bodies)
        return f"{body.part}, mass {body.number} of {count}"
    return f"{body.part}, {_ENDS[body.piece]}" if body.piece in _ENDS else body.name


def _link(before: MovingBody, after: MovingBody, known: list[str]) -> str:
    """The rods or shaft between two bodies."""
    if before.part == after.part:
        return "along the rod" if after.number else "twist"
    if after.number or before.number:
        return f"{after.part}, key's end" if after.number else f"{before.part}, pallet's end"
    if before.part in known and after.part in known:
        return ", ".join(known[known.index(before.part) + 1 : known.index(after.part)])
    return ""


def _mechanical(name: str, link: str, way: Floats, time: Floats, lift: float) -> Station:
    held = value_at(time, way, lift)
    down = crossing(time, way, ARRIVED)
    up = crossing(time, way, held - ARRIVED, after=lift, rising=False)
    return Station(name, link, way, down if down < lift else math.nan, up if held > ARRIVED else math.nan)


def _groove(result: Result, row: int, time: Floats, lift: float) -> Station:
    """Pressed: from the same figure as the opening time. Released: back below half."""
    box = reading.parameter(result, "box", "p_box", row)
    share = reading.curve(result, "groove_pressure", row) / (box if box > 0 else math.nan)
    down = reading.events(result, row).half
    up = crossing(time, share, HALF, after=lift, rising=False) if value_at(time, share, lift) > HALF else math.nan
    return Station("groove", "pallet's gap", share, down, up)
