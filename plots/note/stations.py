"""The stations that a stroke passes on its way from the finger to the groove, and when it arrives at each."""

from __future__ import annotations

import math
from collections.abc import Container, Mapping
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from keyaction.models.parts.side import PIECE
from keyaction.plots.note.courses import own_pallet, several_pallets
from keyaction.plots.note.strands import Strand, strands
from keyaction.plots.style import reading
from keyaction.plots.style.page import Floats
from keyaction.plots.style.reading import MovingBody
from keyaction.plots.style.trains import COUPLERS, joined_trains
from keyaction.sim.figures.limits import HALF, SPEECH_START
from keyaction.sim.figures.measure import crossing, value_at
from keyaction.sim.figures.pallets import figure, pallets, pallets_of
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
    before : int
        Number of the station from which the motion comes; -1 of the finger.
    strand : str
        Of the first station of a branch: what is called so that begins here.
    full, silent : float
        Of a groove: when it passes 90 % pressed and 10 % released, s from the press; NaN if it doesn't.
    """

    name: str
    link: str
    way: Floats
    down: float
    up: float
    part: str = ""
    before: int = -1
    strand: str = ""
    full: float = math.nan
    silent: float = math.nan

    @property
    def groove(self) -> bool:
        """Whether it is a groove, of which a share of the pressure is drawn."""
        return self.link == GAP


GAP = "pallet's gap"
"""What carries the motion from a pallet to its groove."""


def stations(result: Result, row: int) -> list[Station]:
    """Finger, bodies and groove in train order; of a key that moves several trains each as a branch behind it.

    Raises
    ------
    ValueError
        If the result has no speed ratios for the note; the message says so.
    """
    lift = reading.events(result, row).lift
    time = np.asarray(result["time"], dtype=float)
    found = [_mechanical("finger", "", reading.curve(result, "finger_travel", row), time, lift)]
    bodies, known = _there(result, row), reading.parts(result)
    twists = {part for part, kind in zip(result["link_part"], result["link_kind"], strict=True) if kind == "twist"}
    bare = {part: one.bare(part) for one in joined_trains(result) for part in one.parts}
    grooves = _grooves(result, row)
    number: dict[int, int] = {}
    for strand in strands(result, bodies):
        before = number[strand.start.row] if strand.start else 0
        for i, (body, link) in enumerate(zip(strand.bodies, _links(strand, known, twists), strict=True)):
            way = _at_the_key(result, row, body)
            one = _mechanical(_called(body, bodies, bare), _bare(link, bare), way, time, lift)
            branch = _begins(result, strand) if strand.start and i == 0 else ""
            found.append(replace(one, part=body.part, before=before, strand=branch))
            before = number[body.row] = len(found) - 1
        if groove := grooves.get(strand.bodies[-1].part):
            found.append(replace(groove, before=before))
    return found


def _at_the_key(result: Result, row: int, body: MovingBody) -> Floats:
    """The motion of a body divided by its speed ratio; of one that no lever moves, as high as the key goes."""
    motion = np.asarray(result["motion"][row, body.row], dtype=float)
    ratio = float(result["body_ratio"][row, body.row])
    if ratio == 0.0:
        ratio = float(np.max(np.abs(motion)) / np.max(np.abs(reading.curve(result, "key_travel", row)))) or 1.0
    return motion / ratio


def _links(strand: Strand, known: list[str], twists: Container[str]) -> list[str]:
    """What carries the motion to each body of a strand."""
    first = "finger's pad"
    if strand.start:
        first = "" if strand.link == strand.bodies[0].part else strand.link
    return [first, *(_link(*pair, known, twists) for pair in pairwise(strand.bodies))]


def _bare(link: str, bare: Mapping[str, str]) -> str:
    """Names of parts as their own division's case has them."""
    return ", ".join(bare.get(name, name) for name in link.split(", "))


def _there(result: Result, row: int) -> list[MovingBody]:
    """The chosen bodies that the note has and its key moves."""
    bodies = [one for one in reading.bodies(result) if np.any(np.isfinite(result["motion"][row, one.row]))]
    ratios = np.asarray(result["body_ratio"][row], dtype=float)
    chosen = _chosen(bodies)
    tree = "link_from" in result
    if not all(math.isfinite(ratios[body.row]) for body in chosen):
        raise ValueError(
            f"{result.notes[row]}: this result holds no speed ratios for the note, so that its bodies cannot be "
            "referred to the key (its train has other bodies than the other notes)."
        )
    kept = [body for body in chosen if ratios[body.row] != 0 or not tree]
    places = {body.part: i for i, body in reversed([*enumerate(kept)])}
    return sorted(kept, key=lambda body: (places[body.part], ratios[body.row] == 0))  # what levers move comes first


def _begins(result: Result, strand: Strand) -> str:
    """What a branch is called: the train or pallet it ends in, or a coupler that moves what another moves already."""
    last = strand.bodies[-1].part
    found = [one.label for one in joined_trains(result) if last in one.parts and one.label != COUPLERS]
    found += [one.label for one in pallets(result) if one.name == last]
    return next(iter(found), f"beside: {last}")


def _grooves(result: Result, row: int) -> dict[str, Station]:
    """The groove of each pallet of a note, by the pallet's part."""
    lift, time = reading.events(result, row).lift, np.asarray(result["time"], dtype=float)
    own, several = own_pallet(result), several_pallets(result, row)
    found = {own: _groove(result, row, time, lift)}
    start = reading.events(result, row).start
    places = {one.name: one.place for one in pallets_of(result, row)} if several else {}
    for one in several:
        if one.name != own:
            opened, full, silent = (
                float(figure(result, name)[row, places[one.name]])
                for name in ("pallet_opening_time", "pallet_speech_delay", "pallet_release_delay")
            )
            up = _emptied(time, one.share, lift)
            groove = Station("groove", GAP, one.share, start + opened, up)
            found[one.name] = replace(groove, full=start + full, silent=lift + silent)
    return found


def _chosen(bodies: list[MovingBody]) -> list[MovingBody]:
    """All bodies on the way to the pallet, but of a rod in pieces only the first and the last."""
    bodies = [body for body in bodies if body.piece != PIECE]
    last = {body.part: body.number for body in bodies}
    return [body for body in bodies if body.number in (0, 1, last[body.part])]


_ENDS = {"in": "key's end", "out": "pallet's end"}


def _called(body: MovingBody, bodies: list[MovingBody], bare: Mapping[str, str]) -> str:
    part = bare.get(body.part, body.part)
    if body.number:
        count = max(other.number for other in bodies if other.part == body.part)
        return f"{part}, mass {body.number} of {count}"
    if body.piece in _ENDS:
        return f"{part}, {_ENDS[body.piece]}"
    if body.piece and any(other.part == body.part and not other.piece for other in bodies):
        return f"{part}'s {body.piece}, seen from it"
    return body.name.removeprefix(body.part.removesuffix(part))


def _link(before: MovingBody, after: MovingBody, known: list[str], twists: Container[str]) -> str:
    """The rods or shaft between two bodies; of one part's, what else joins them."""
    if before.part == after.part:
        if after.number or after.part in twists:
            return "along the rod" if after.number else "twist"
        return "wind" if after.piece else "felt"
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
    when = reading.events(result, row)
    up = _emptied(time, share, lift)
    return Station("groove", GAP, share, when.half, up, full=when.full, silent=when.silent)


def _emptied(time: Floats, share: Floats, lift: float) -> float:
    """When a groove falls back below half; NaN of one that was not above it."""
    return crossing(time, share, HALF, after=lift, rising=False) if value_at(time, share, lift) > HALF else math.nan
