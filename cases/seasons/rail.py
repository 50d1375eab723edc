"""The floating rail of a case: what rides on it, and whether its load draws the right way."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import cast

from keyaction.cases.seasons.drafts import names_of
from keyaction.cases.seasons.fields import CARRIES
from keyaction.cases.seasons.ground import Ground, TableRead
from keyaction.cases.text.defects import Place
from keyaction.cases.text.near import hint
from keyaction.models.frame.changes import RunRod, shift_of
from keyaction.models.frame.member import DIRECTIONS, VECTORS, Direction
from keyaction.models.frame.rail import Rail
from keyaction.models.units.names import STANDARD_GRAVITY
from keyaction.models.units.quantity import format_value

RIDES = ("square", "backfall")
"""Kinds of lever that may ride on a floating rail."""
_STILL = 1e-9
"""Share of the rail's way below which a rod is not moved."""


def read_rail(ground: Ground, place: Place, read: TableRead) -> Rail | None:
    """The rail out of its table; None where anything is wrong with it, which goes into the log of `place`."""
    before, here = len(place.log), place.at(read.table)
    riders = [one.name for one in ground.parts if one.part.kind in RIDES]
    names = names_of(place, read, f"a rail carries the levers that ride on it{hint('', riders)}")
    if not riders:
        here.defect(CARRIES, "the train has no square and no backfall: a rail without any square carries nothing")
    for name in names:
        _check_rider(ground, here, name, riders)
    for needed in ("towards", "mass"):
        if needed not in read.data and read.get(needed) is None:
            here.defect(needed, "missing")
    towards, load = read.text("towards"), read.get("load")
    if load is None and "load" not in read.data and towards not in ("", "down"):
        told = f"missing; a rail that goes {towards} is not drawn there by its weight, but by a weight or a spring"
        here.defect("load", told)
    if len(place.log) > before:
        return None
    _check_way(ground, here, names, cast(Direction, towards))
    if len(place.log) > before:
        return None
    mass = read.number("mass")
    plain = ("rate", "friction", "ahead", "behind", "stop_stiffness", "damping")
    return Rail(
        tuple(names),
        cast(Direction, towards),
        mass,
        mass * STANDARD_GRAVITY if load is None else float(load),
        **{name: read.number(name) for name in plain},
        fixed=bool(read.get("fixed")),
    )


def _check_rider(ground: Ground, place: Place, name: str, riders: Sequence[str]) -> None:
    part = ground.part(name)
    if part is None:
        place.defect(CARRIES, f"no part of the train has this name{hint(name, riders)}", name)
    elif name not in riders:
        told = f"is a {part.part.title}; only squares and backfalls ride on a floating rail{hint('', riders)}"
        place.defect(CARRIES, told, name)


def _check_way(ground: Ground, place: Place, names: Sequence[str], towards: Direction) -> None:
    """Record a load that would slacken rods of notes, or leave them as they are."""
    if not ground.sound:
        return
    drawn = {note: tightened(ground, names, note) for note in ground.notes}
    wrong = [note for note, ways in drawn.items() if ways[towards] <= _STILL]
    if not wrong:
        return
    right = [way for way in DIRECTIONS if all(ways[way] > _STILL for ways in drawn.values())]
    does = "slackens" if any(drawn[note][towards] < -_STILL for note in wrong) else "does not draw at"
    other = " or ".join(right)
    told = f"drawn that way it {does} the rods of {ground.context.compass.ranges(wrong)}; "
    told += f"it takes up their slack towards: {other}" if right else "no direction takes up the slack of all notes"
    place.defect("towards", told, towards)


def tightened(ground: Ground, names: Sequence[str], note: int) -> Mapping[Direction, float]:
    """How much a note's run is drawn tighter per way of the rail in every direction, counted at its first rod."""
    rods = ground.rods(note)
    ways = _ways(ground, rods, note)
    return {
        towards: sum(change / ways[rod.name] for rod, change in _changes(rods, names, towards))
        for towards in DIRECTIONS
    }


def _changes(rods: Sequence[RunRod], names: Sequence[str], towards: Direction) -> Iterator[tuple[RunRod, float]]:
    """Rods that the rail's levers join, each with how much it is drawn tighter."""
    for lever in names:
        before = next((rod for rod in rods if rod.behind == lever), None)
        behind = next((rod for rod in rods if rod.before == lever), None)
        near, far = shift_of(VECTORS[towards], before, behind)
        yield from ((rod, change) for rod, change in ((before, near), (behind, far)) if rod is not None)


def _ways(ground: Ground, rods: Sequence[RunRod], note: int) -> dict[str, float]:
    """Way of every rod over that of the first, by the arms of the levers between them; equal where a lever has none."""
    by_lever, ways = dict[str, float](), dict[str, float]()
    for rod in rods:
        ways[rod.name] = by_lever.get(rod.before, 1.0)
        arms = [ground.number(rod.behind, arm, note) for arm in ("in_arm", "out_arm")]
        by_lever[rod.behind] = ways[rod.name] * (arms[1] / arms[0] if arms[0] and arms[1] else 1.0)
    return ways


def rail_warnings(file: str, rail: Rail | None) -> Iterator[str]:
    """Loads that are used up before a stop."""
    if rail is not None and rail.load <= rail.rate * rail.ahead:
        left = format_value(rail.load / rail.rate, "m")
        yield f"{file}: [rail], field 'rate': the load is used up {left} from its centre, before the stop ahead"
