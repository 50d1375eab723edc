"""What is measured of a drawn path: lengths and angles of rods, angles between arms, extent."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence

from keyaction.models.instrument.path import Leg, Path, Turn
from keyaction.models.instrument.place import Point
from keyaction.models.instrument.plane import way
from keyaction.models.instrument.run import ROLLER
from keyaction.models.instrument.splay import splay_of


def slope(leg: Leg) -> float:
    """Angle of a rod in the side view against a level line into the case, rad; upwards above zero, to ±pi."""
    return math.atan2(leg.end[2] - leg.start[2], leg.end[1] - leg.start[1])


def splay(leg: Leg) -> float:
    """Angle between a rod and the plane of the side view, in which its levers turn, rad."""
    return splay_of(leg.end[0] - leg.start[0], math.hypot(*way(leg.start[1:], leg.end[1:])))


def rise(leg: Leg) -> float:
    """Angle of a rod from level in the side view, whichever way it leads, rad; upwards above zero, to ±pi/2."""
    return math.atan2(leg.end[2] - leg.start[2], abs(leg.end[1] - leg.start[1]))


def lean(one: Turn) -> float:
    """The greater angle of a lever's two arms out of the plane of the side view, rad."""
    ends = ((one.near, one.in_end), (one.far, one.out_end))
    arms = (tuple(to - at for at, to in zip(axis, end, strict=True)) for axis, end in ends if end is not None)
    return max((splay_of(across, math.hypot(back, up)) for across, back, up in arms), default=0.0)


def arms(one: Turn) -> tuple[float, float]:
    """True lengths of both arms, m; 0 of one that is not there."""
    ends = ((one.near, one.in_end), (one.far, one.out_end))
    return tuple(math.dist(axis, end) if end else 0.0 for axis, end in ends)  # type: ignore[return-value]


def between(one: Turn) -> float | None:
    """Angle between the two arms of a lever, 0 to pi, rad; None where it has but one."""
    if one.in_end is None or one.out_end is None:
        return None
    a = [end - axis for end, axis in zip(one.in_end, one.near, strict=True)]
    b = [end - axis for end, axis in zip(one.out_end, one.far, strict=True)]
    square = math.hypot(a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0])
    return math.atan2(square, sum(x * y for x, y in zip(a, b, strict=True)))


def extent(paths: Sequence[Path]) -> tuple[Point, Point]:
    """Least and greatest across, back and up of everything in the paths, m."""
    points = [point for path in paths for leg in path.legs for point in (leg.start, leg.end)]
    for path in paths:
        for one in path.turns:
            points += [point for point in (one.near, one.far, one.in_end, one.out_end) if point is not None]
    lows, highs = ([most(point[i] for point in points) for i in range(3)] for most in (min, max))
    return (lows[0], lows[1], lows[2]), (highs[0], highs[1], highs[2])


def figures(paths: Mapping[int, Path], splayed: str = "") -> dict[str, dict[int, float]]:
    """What fields of a train may take from its paths.

    Parameters
    ----------
    paths : mapping of int to Path
    splayed : str
        The lever that goes slantwise, if one does; of it the true arms are told too.

    Returns
    -------
    dict of str to dict of int to float
        By ``PART.length`` and ``PART.splay`` of rods, ``PART.turn`` of levers; of the lever that goes slantwise its
        ``PART.splay``, ``PART.in_arm`` and ``PART.out_arm``; by note, SI.
    """
    found: dict[str, dict[int, float]] = {}
    for note, path in paths.items():
        for name, value in _of_path(path, splayed):
            found.setdefault(name, {})[note] = value
    return found


def _of_path(path: Path, splayed: str) -> Iterator[tuple[str, float]]:
    for leg in path.legs:
        yield f"{leg.part}.length", leg.length
        yield f"{leg.part}.splay", splay(leg)
    for one in path.turns[1:-1]:
        angle = between(one)
        if angle is not None and one.kind != ROLLER:
            yield f"{one.part}.turn", angle
        if one.part == splayed:
            yield f"{one.part}.splay", lean(one)
            yield from zip((f"{one.part}.in_arm", f"{one.part}.out_arm"), arms(one), strict=True)
