"""The stations that a stroke passes on its way from the finger to the groove, and when it arrives at each."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from keyaction.plots.style import reading
from keyaction.plots.style.page import Floats
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
    """

    name: str
    link: str
    way: Floats
    down: float
    up: float


def stations(result: Result, row: int) -> list[Station]:
    """Finger, bodies and groove in train order.

    Raises
    ------
    ValueError
        If the result has no speed ratios for the note; the message says so.
    """
    lift = reading.events(result, row).lift
    time = np.asarray(result["time"], dtype=float)
    moved = [("finger", "", reading.curve(result, "finger_travel", row))]
    moved += _bodies(result, row)
    found = [_mechanical(name, link, way, time, lift) for name, link, way in moved]
    return [*found, _groove(result, row, time, lift)]


def _bodies(result: Result, row: int) -> list[tuple[str, str, Floats]]:
    names, known = reading.bodies(result), reading.parts(result)
    ratios = dict(zip(map(str, result["body"]), np.asarray(result["body_ratio"][row], dtype=float), strict=True))
    chosen = _chosen(names, known)
    if not all(math.isfinite(ratios[name]) and ratios[name] != 0 for name in chosen):
        raise ValueError(
            f"{result.notes[row]}: this result holds no speed ratios for the note, so that its bodies cannot be "
            "referred to the key (its train has other bodies than the other notes)."
        )
    links = ["finger's pad", *(_link(a, b, known) for a, b in pairwise(chosen))]
    return [
        (_called(name, names, known), link, reading.curve(result, f"motion_{name}", row) / ratios[name])
        for name, link in zip(chosen, links, strict=True)
    ]


def _chosen(names: list[str], known: list[str]) -> list[str]:
    """All bodies, but of a rod in pieces only the first and the last."""
    last = {reading.part_of(name, known): reading.piece(name, known) for name in names}
    return [name for name in names if reading.piece(name, known) in (0, 1, last[reading.part_of(name, known)])]


def _called(name: str, names: list[str], known: list[str]) -> str:
    part = reading.part_of(name, known)
    if reading.piece(name, known):
        count = sum(reading.part_of(other, known) == part for other in names)
        return f"{part}, mass {reading.piece(name, known)} of {count}"
    end = {f"{part}-in": "key's end", f"{part}-out": "pallet's end"}.get(name, "")
    return f"{part}, {end}" if end else name


def _link(before: str, after: str, known: list[str]) -> str:
    """The rods or shaft between two bodies."""
    first, last = (reading.part_of(name, known) for name in (before, after))
    if first == last:
        return "along the rod" if reading.piece(after, known) else "twist"
    if reading.piece(after, known) or reading.piece(before, known):
        return f"{last}, key's end" if reading.piece(after, known) else f"{first}, pallet's end"
    if first in known and last in known:
        return ", ".join(known[known.index(first) + 1 : known.index(last)])
    return ""


def _mechanical(name: str, link: str, way: Floats, time: Floats, lift: float) -> Station:
    held = value_at(time, way, lift)
    down = crossing(time, way, ARRIVED)
    up = crossing(time, way, held - ARRIVED, after=lift, rising=False)
    return Station(name, link, way, down if down < lift else math.nan, up if held > ARRIVED else math.nan)


def _groove(result: Result, row: int, time: Floats, lift: float) -> Station:
    """Pressed: from the same figure as the opening time. Released: back below half."""
    box = reading.parameter(result, "p_box", row)
    share = reading.curve(result, "groove_pressure", row) / (box if box > 0 else math.nan)
    down = reading.events(result, row).half
    up = crossing(time, share, HALF, after=lift, rising=False) if value_at(time, share, lift) > HALF else math.nan
    return Station("groove", "pallet's gap", share, down, up)
