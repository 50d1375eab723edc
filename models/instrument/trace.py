"""The path of one note, drawn from where its axes stand: rods, ends of arms, places across."""

from __future__ import annotations

import math
from collections.abc import Callable
from itertools import pairwise

from keyaction.models.instrument.path import Leg, Path, Turn
from keyaction.models.instrument.place import Place, Point
from keyaction.models.instrument.plane import Plane, added, dot, quarter, tangent, way
from keyaction.models.instrument.problem import LayoutProblem
from keyaction.models.instrument.run import ROLLER, Held, Rod, Station, senses
from keyaction.models.notes import note_name
from keyaction.models.units.quantity import format_value

__all__ = ["Rod", "Station", "trace"]

_KEYS = {"key": (1.0, 1.0), "key-hung": (-1.0, -1.0), "key-pedal": (1.0, -1.0)}
"""Of each kind of key: on which side of its pivot its arm lies (back is +1), and which way its end goes."""
_PRESSED_BEHIND = ("key-pedal",)
"""Kinds that are pressed further back than their pivot: by the toe, from a hinge at the heel."""
OBLIQUE = math.pi / 3
"""rad: a first rod that leads further than this away from the way of the key's eye is refused; it gets half of it."""
Names = Callable[[int], str]


def trace(
    note: int,
    place: Place,
    stations: tuple[Station, ...],
    rods: tuple[Rod, ...],
    offset: Plane = (0.0, 0.0),
    sideways: str = "",
    names: Names = note_name,
) -> Path:
    """Draw the path of a note.

    At rest every arm stands square to its rod, so a rod between two levers touches the circles of both arms. The key
    lies level; its eye stands fast, and so does the pallet's.

    Parameters
    ----------
    note : int
        C4 = 60.
    place : Place
        Across, at key and pallet.
    stations : tuple of Station
        Key, levers, pallet.
    rods : tuple of Rod
        ``rods[i]`` joins ``stations[i]`` to ``stations[i + 1]``.
    offset : (float, float)
        How far the roller's axis stands from the middle of its board, back and up, m.
    sideways : str
        The part that carries the motion from the key's line to the pallet's: roller, splayed rod or splayed lever. The
        roller where it is empty and there is one. Arms of a splayed lever are those of the side view: the true ones
        are longer.
    names : callable
        How notes are named in defects.

    Returns
    -------
    Path

    Raises
    ------
    LayoutProblem
        With every reason why the path cannot be.
    ValueError
        If stations and rods do not take turns, from a key to a pallet.
    """
    _check_order(stations, rods)
    carrying = sideways or next((one.part for one in stations if one.kind == ROLLER), "")
    defects = [*_missing(stations), *_astray(place, stations, rods, carrying)]
    if not defects:
        held = _held(stations, rods, offset)
        turning = senses(held)
        defects = [*_too_near(held, turning, stations, rods), *_against_the_key(held, turning, stations, rods)]
    if defects:
        raise LayoutProblem([f"{names(note)}: {defect}" for defect in defects])
    return _drawn(note, held, turning, stations, rods, _Across(place, stations, rods, carrying))


def _check_order(stations: tuple[Station, ...], rods: tuple[Rod, ...]) -> None:
    if len(rods) != len(stations) - 1 or stations[0].kind not in _KEYS or stations[-1].kind != "pallet":
        raise ValueError("a run goes from a key to a pallet, with a rod between any two stations")


def _missing(stations: tuple[Station, ...]) -> list[str]:
    """What is needed and not given."""
    found = [f"{one.part}: its axis has no place" for one in stations if one.axis is None]
    needs = [("arm", stations[0].part, stations[0].out_arm)]
    for one in stations[1:-1]:
        needs += [("in_arm", one.part, one.in_arm), ("out_arm", one.part, one.out_arm)]
    return found + [f"{part}: no path without its {name}" for name, part, arm in needs if arm is None or arm <= 0]


def _astray(place: Place, stations: tuple[Station, ...], rods: tuple[Rod, ...], carrying: str) -> list[str]:
    """Motion that nothing carries sideways."""
    parts = [one.part for one in stations[1:-1]] + [rod.part for rod in rods]
    if carrying and carrying not in parts:
        return [f"{carrying}: no rod, lever or roller of the run, which is {', '.join(parts)}"]
    if carrying or place.side == "straight":
        return []
    aside = format_value(abs(place.sideways), "m")
    return [f"its pallet stands {aside} to the {place.side} of its key, and neither roller nor fan leads there"]


def _held(stations: tuple[Station, ...], rods: tuple[Rod, ...], offset: Plane) -> Held:
    """Points and arms of a run of which nothing is missing."""
    points = [_given(one.axis) for one in stations]
    arms = [(one.in_arm or 0.0, one.out_arm or 0.0) for one in stations]
    points = [added(at, offset) if one.kind == ROLLER else at for at, one in zip(points, stations, strict=True)]
    points[0] = added(points[0], (_KEYS[stations[0].kind][0], 0.0), arms[0][1])
    arms[0] = arms[-1] = (0.0, 0.0)
    return Held(tuple(points), tuple(arms), tuple(rod.sign for rod in rods), tuple(one.side for one in stations))


def _given(axis: Plane | None) -> Plane:
    if axis is None:
        raise ValueError("an axis without a place")
    return axis


def _too_near(held: Held, turning: tuple[int, ...], stations: tuple[Station, ...], rods: tuple[Rod, ...]) -> list[str]:
    """Axes that stand nearer than the arms between them allow."""
    found = []
    for i, (rod, (near, far)) in enumerate(zip(rods, held.ends(turning), strict=True)):
        a, b = held.points[i], held.points[i + 1]
        if tangent(a, b, far - near) is None:
            told = _of_arms(i, turning, stations)
            found.append(
                f"{rod.part}: {stations[i].part} and {stations[i + 1].part} stand {_mm(math.dist(a, b))} apart; "
                f"with {told} it needs more than {_mm(abs(far - near))}"
            )
    return found


def _of_arms(i: int, turning: tuple[int, ...], stations: tuple[Station, ...]) -> str:
    """What keeps the i-th rod from its place."""
    one, other = stations[i], stations[i + 1]
    if not turning[i] and not turning[i + 1]:
        return "no lever between them"
    if not turning[i]:
        return f"an arm of {_mm(other.in_arm)}"
    if not turning[i + 1]:
        return f"an arm of {_mm(one.out_arm)}"
    told = f"arms of {_mm(one.out_arm)} and {_mm(other.in_arm)}"
    return f"{told} that turn in {'one sense' if turning[i] == turning[i + 1] else 'opposite senses'}"


def _mm(size: float | None) -> str:
    return format_value(size or 0.0, "m")


def _degrees(angle: float) -> str:
    return f"{math.degrees(angle):.0f}°"


def _against_the_key(
    held: Held, turning: tuple[int, ...], stations: tuple[Station, ...], rods: tuple[Rod, ...]
) -> list[str]:
    """A first rod that would have to pull where the key's end pushes, or leads away from its way."""
    near, far = held.ends(turning)[0]
    found = tangent(held.points[0], held.points[1], far - near)
    rod, goes = rods[0], _KEYS[stations[0].kind][1]
    share = 1.0 if found is None else -rod.sign * goes * found[0][1]
    if share >= math.cos(OBLIQUE):
        return []
    eye = f"{rod.part}: the eye of {stations[0].part} goes {'up' if goes > 0 else 'down'} when it is played"
    if share > 0:
        return [
            f"{eye}, and the rod leads {_degrees(math.acos(share))} away from that; allowed: up to {_degrees(OBLIQUE)}"
        ]
    does, leads = "push" if rod.pushes else "pull", "up" if (goes > 0) == rod.pushes else "down"
    risen = found[1] * found[0][1] if found else 0.0
    return [
        f"{eye}; to {does}, the rod must lead {leads}, but its end at {stations[1].part} stands {_mm(abs(risen))} "
        f"{'above' if risen > 0 else 'below'} it"
    ]


class _Across:
    """Where everything stands across: before what carries sideways in the key's line, behind it in the pallet's."""

    def __init__(self, place: Place, stations: tuple[Station, ...], rods: tuple[Rod, ...], carrying: str) -> None:
        self.place = place
        names = [name for one, rod in zip(stations, rods, strict=False) for name in (one.part, rod.part)]
        self.at = names.index(carrying) if carrying else len(names)

    def ends(self, where: int) -> tuple[float, float]:
        """Of the part at that place of the row key, rod, lever, rod ...: nearer the key and nearer the pallet."""
        key, pallet = self.place.key, self.place.pallet
        return (key if where <= self.at else pallet), (key if where < self.at else pallet)


def _drawn(
    note: int,
    held: Held,
    turning: tuple[int, ...],
    stations: tuple[Station, ...],
    rods: tuple[Rod, ...],
    across: _Across,
) -> Path:
    legs, hooks = [], []
    for i, (rod, (near, far)) in enumerate(zip(rods, held.ends(turning), strict=True)):
        along, _ = _found(held.points[i], held.points[i + 1], far - near)
        left = quarter(along)
        start, end = added(held.points[i], left, near), added(held.points[i + 1], left, far)
        x = across.ends(2 * i + 1)
        legs.append(Leg(rod.part, rod.kind, (x[0], *start), (x[1], *end), rod.pushes))
        hooks.append((start, end))
    turns = [_key(stations[0], hooks[0][0], across.ends(0)[0])]
    for i, ((_, end), (start, _)) in enumerate(pairwise(hooks), 1):
        turns.append(_lever(stations[i], held.points[i], (end, start), across.ends(2 * i)))
    turns.append(_pallet(stations[-1], hooks[-1], across.ends(2 * len(rods))[0]))
    return Path(note, tuple(turns), tuple(legs))


def _found(near: Plane, far: Plane, aside: float) -> tuple[Plane, float]:
    found = tangent(near, far, aside)
    if found is None:
        raise ValueError("a rod that cannot be")
    return found


def _key(key: Station, eye: Plane, x: float) -> Turn:
    pivot = _given(key.axis)
    sign = 1.0 if key.kind in _PRESSED_BEHIND else -1.0
    front: Point | None = (x, pivot[0] + sign * key.in_arm, pivot[1]) if key.in_arm else None
    return Turn(key.part, key.kind, (x, *pivot), (x, *pivot), front, (x, *eye))


def _lever(one: Station, axis: Plane, hooks: tuple[Plane, Plane], x: tuple[float, float]) -> Turn:
    """A roller's shaft reaches from line to line; the axis of a splayed lever divides the way as its arms do."""
    ends = (x[0], *hooks[0]), (x[1], *hooks[1])
    if one.kind == ROLLER:
        return Turn(one.part, one.kind, (x[0], *axis), (x[1], *axis), *ends)
    before, after = one.in_arm or 0.0, one.out_arm or 0.0
    middle: Point = (x[0] + (x[1] - x[0]) * before / (before + after), *axis)
    return Turn(one.part, one.kind, middle, middle, *ends)


def _pallet(pallet: Station, rod: tuple[Plane, Plane], x: float) -> Turn:
    """Its hinge stands square to the rod, further back unless its side says otherwise (common practice)."""
    eye = rod[1]
    hinge = eye
    if pallet.in_arm:
        along = way(*rod)
        square = quarter((along[0] / math.hypot(*along), along[1] / math.hypot(*along)))
        left = pallet.side == "left" or (pallet.side == "" and dot(square, (1.0, 0.0)) > 0)
        hinge = added(eye, square, pallet.in_arm if left else -pallet.in_arm)
    return Turn(pallet.part, pallet.kind, (x, *hinge), (x, *hinge), (x, *eye), None)
