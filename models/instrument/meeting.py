"""Whether a path meets itself in the side view."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from itertools import combinations

from keyaction.models.instrument.path import Path
from keyaction.models.instrument.plane import Plane, added, cross, dot, turn, way
from keyaction.models.instrument.run import LEADS_ON, ROLLER

CLOSE = 1e-6
"""m: what comes nearer than this meets."""


@dataclass(frozen=True)
class Meeting:
    """Two parts of one path that meet in the side view.

    Parameters
    ----------
    one, other : str
    at : Plane
        Back and up, m.
    """

    one: str
    other: str
    at: Plane


@dataclass(frozen=True)
class _Line:
    """A rod, or an arm with what it hooks on."""

    part: str
    start: Plane
    end: Plane
    place: int
    """Of rods 1, 3 ..., of key, levers and pallet 0, 2 ..., in the order of the path."""


def meetings(path: Path) -> tuple[Meeting, ...]:
    """Where a path meets itself in the side view, that is as all notes of a division are seen at once.

    Rods, arms, the key's stick and the pallet from its eye to its hinge count as lines; arms of a roller do not: they
    stand apart across, and the board keeps other notes' rods clear of them. No two may
    cross or touch, but where a rod hooks onto its own arm, and where both arms of a lever meet at its pin. The two
    rods of one lever may touch there, and cross where they lead straight on (within `LEADS_ON`), which is at their very
    ends. What stands in another line across counts as well: neighbours fill the space between.
    """
    found = [(a, b, _meet(a, b)) for a, b in combinations(_lines(path), 2) if not _joined(a, b)]
    return tuple(Meeting(a.part, b.part, at) for a, b, at in found if at is not None)


def meeting_defects(paths: Mapping[int, Path], names: Callable[[int], str]) -> list[str]:
    """Every pair of parts that meet, with the notes.

    Parameters
    ----------
    paths : mapping of int to Path
    names : callable
        How notes are named.

    Returns
    -------
    list of str
        Empty where no run meets itself.
    """
    pairs: dict[tuple[str, str], dict[int, Plane]] = {}
    for note, path in paths.items():
        for met in meetings(path):
            pairs.setdefault((met.one, met.other), {})[note] = met.at
    told = []
    for (one, other), places in pairs.items():
        note, (back, up) = next(iter(places.items()))
        notes = ", ".join(names(each) for each in places)
        told.append(
            f"the run meets itself: {one} and {other} meet in the side view, of {names(note)} at back "
            f"{1e3 * back:.0f} mm, up {1e3 * up:.0f} mm (notes: {notes})"
        )
    return told


def _lines(path: Path) -> list[_Line]:
    lines = [_Line(leg.part, leg.start[1:], leg.end[1:], 2 * i + 1) for i, leg in enumerate(path.legs)]
    key = path.turns[0]
    stick = sorted(point[1:] for point in (key.in_end, key.near, key.out_end) if point is not None)
    lines.append(_Line(key.part, stick[0], stick[-1], 0))
    for i, one in enumerate(path.turns[1:], 1):
        if one.kind == ROLLER:
            continue
        ends = ((one.near, one.in_end), (one.far, one.out_end))
        lines += [_Line(one.part, axis[1:], end[1:], 2 * i) for axis, end in ends if end is not None]
    return lines


def _joined(a: _Line, b: _Line) -> bool:
    """Whether two lines meet by right: a rod hooked onto an arm, two arms of a lever."""
    if a.place == b.place:
        return True
    if abs(a.place - b.place) == 2 and a.place % 2:
        angle = abs(turn(way(a.start, a.end), way(b.start, b.end)))
        return angle < LEADS_ON or (math.dist(a.end, b.start) < CLOSE and angle < math.pi - LEADS_ON)
    if {a.place, b.place} == {0, 1}:
        return True
    hooks = ((a.start, b.start), (a.start, b.end), (a.end, b.start), (a.end, b.end))
    return abs(a.place - b.place) == 1 and any(math.dist(*pair) < CLOSE for pair in hooks)


def _meet(a: _Line, b: _Line) -> Plane | None:
    """Where two lines cross or touch; of lines that lie on each other some place of that."""
    along, other, gap = way(a.start, a.end), way(b.start, b.end), way(a.start, b.start)
    turning = cross(along, other)
    if abs(turning) > 1e-12 * math.hypot(*along) * math.hypot(*other):
        t, u = cross(gap, other) / turning, cross(gap, along) / turning
        near = (CLOSE / math.hypot(*along), CLOSE / math.hypot(*other))
        inside = -near[0] <= t <= 1 + near[0] and -near[1] <= u <= 1 + near[1]
        return added(a.start, along, t) if inside else None
    if abs(cross(along, gap)) > CLOSE * math.hypot(*along):
        return None
    ends = sorted(dot(way(a.start, point), along) / dot(along, along) for point in (b.start, b.end))
    first = max(ends[0], 0.0)
    return added(a.start, along, first) if min(ends[1], 1.0) >= first else None
