"""Members of a case, each against its material and the train."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import cast

from keyaction.cases.seasons.carried import carried_by, own_hooks
from keyaction.cases.seasons.drafts import names_of
from keyaction.cases.seasons.ground import Ground, TableRead
from keyaction.cases.text.defects import Place
from keyaction.cases.text.near import hint
from keyaction.models.climate.finishes import FINISHES
from keyaction.models.frame.member import FLOOR, GRAINS, Direction, Member
from keyaction.models.frame.places import chain
from keyaction.models.frame.strain import lacking, swells
from keyaction.models.materials.types import Material

SOLID = ("wood", "composite", "metal")
"""Kinds of material of which a member may be."""
_SLOW = ("thickness", "lag")


def read_members(ground: Ground, place: Place, drafts: Sequence[TableRead]) -> tuple[Member, ...]:
    """Members out of their tables; everything that is wrong with them goes into the log of `place`."""
    before = len(place.log)
    carried = carried_by(ground, place, {one.name: names_of(place, one) for one in drafts}, drafts)
    found = [_member(ground, place.at(one.table), one, carried[one.name]) for one in drafts]
    _check_standing(place, drafts)
    return own_hooks(ground, place, [one for one in found if one]) if len(place.log) == before else ()


def _member(ground: Ground, place: Place, read: TableRead, carries: tuple[str, ...]) -> Member | None:
    before = len(place.log)
    for needed in ("length", "material", "towards"):
        if not read.courses.get(needed) and needed not in read.data:
            place.defect(needed, "missing")
    check_finish(place, read, "finish")
    named = read.text("material")
    material = ground.context.library.get(named) if named else None
    if material is not None:
        _grain(place, read, material)
        _thickness(place, read, material)
    if len(place.log) > before or material is None:
        return None
    lengths = {note: float(one.value) for note, one in read.courses.get("length", {}).items() if note in ground.notes}
    lag = read.get("lag")
    return Member(
        read.name,
        material,
        lengths,
        cast(Direction, read.text("towards")),
        read.text("grain") if swells(material) else "",
        read.text("on"),
        carries,
        read.number("thickness"),
        read.text("finish"),
        int(read.number("faces")),
        None if lag is None else float(lag),
        read.number("breadth"),
    )


def check_finish(place: Place, read: TableRead, field: str) -> None:
    """Record a finish that is not known."""
    finish = read.text(field)
    if finish and finish not in FINISHES:
        place.defect(field, f"unknown finish{hint(finish, FINISHES)}; allowed: {', '.join(FINISHES)}", finish)


def _grain(place: Place, read: TableRead, material: Material) -> None:
    grain = read.get("grain")
    if material.kind not in SOLID:
        told = f"{material.name} is of the kind '{material.kind}', and a member is of {', '.join(SOLID)}"
        place.defect("material", told, read.data.get("material"))
    elif swells(material) and grain is None and "grain" not in read.data:
        ways = ", ".join(GRAINS)
        place.defect("grain", f"missing; wood moves far more across its grain than along it; allowed: {ways}")
    elif not swells(material) and grain is not None:
        place.defect("grain", f"{material.name} is no wood and has no grain; leave it out", grain)


def _thickness(place: Place, read: TableRead, material: Material) -> None:
    if swells(material) and not any(name in read.data or read.courses.get(name) for name in _SLOW):
        place.defect("thickness", "missing; how slowly wood follows the air hangs on it; give it, or else a lag")


def _check_standing(place: Place, drafts: Sequence[TableRead]) -> None:
    """Record what members cannot stand on, and circles of them."""
    names, on = [one.name for one in drafts], {one.name: one.text("on") for one in drafts}
    for one in drafts:
        if on[one.name] not in (*names, FLOOR):
            known = hint(on[one.name], (*names, FLOOR))
            place.at(one.table).defect("on", f"no member of this name to stand on{known}", on[one.name])
    for circle in _circles(on):
        table = next(one.table for one in drafts if one.name == circle[0])
        round_ = " on ".join((*circle, circle[0]))
        place.at(table).defect("on", f"stands on itself in a circle: {round_}; one of them stands on the floor")


def _circles(on: Mapping[str, str]) -> Iterator[tuple[str, ...]]:
    """Every circle of members that stand on each other, once, from its first member on."""
    done = set[str]()
    for name in on:
        walk = list[str]()
        while name in on and name not in walk and name not in done:
            walk.append(name)
            name = on[name]
        if name in walk:
            yield tuple(walk[walk.index(name) :])
        done.update(walk)


def member_warnings(file: str, members: Sequence[Member]) -> Iterator[str]:
    """Members that do nothing, and materials that do not tell what is asked of them."""
    stood_on = {below.name for one in members for below in list(chain(members, one.name))[1:]}
    for one in members:
        where = f"{file}: [[member]] {one.name}"
        if not one.carries and one.name not in stood_on:
            yield f"{where}: carries nothing, and no member stands on it: it changes nothing"
        if missing := lacking(one.material, one.grain):
            told = ", ".join(f"'{name}'" for name in missing)
            yield f"{where}: material '{one.material.name}' has no {told}: taken to change nothing"
