"""What members carry: axes of parts, hooks of rods, the key's surface."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from keyaction.cases.seasons.fields import CARRIES
from keyaction.cases.seasons.ground import AXES, Ground, TableRead
from keyaction.cases.text.defects import Place
from keyaction.cases.text.near import hint
from keyaction.models.frame.member import FLOOR, KEY_FRONT, Member
from keyaction.models.frame.places import chain
from keyaction.models.frame.rods import END_FAR, END_START


def carried_by(
    ground: Ground, place: Place, named: Mapping[str, Sequence[str]], drafts: Sequence[TableRead]
) -> dict[str, tuple[str, ...]]:
    """Of every member what it carries; what there is not, and what two carry, is recorded."""
    keys = {f"{key}.front": KEY_FRONT for key in ground.of_role("key")}
    axes = ground.of_role(*AXES)
    hooks = [f"{rod}.{end}" for rod in ground.of_role("rod") for end in (END_START, END_FAR)]
    known, holder, found = [*axes, KEY_FRONT, *hooks], dict[str, str](), dict[str, tuple[str, ...]]()
    for one in drafts:
        here = place.at(one.table)
        carries = [keys.get(name, name) for name in named[one.name]]
        for name in carries:
            if name not in known:
                here.defect(CARRIES, _not_carried(ground, name, known), name)
            elif name in holder:
                here.defect(CARRIES, f"the member '{holder[name]}' carries it already; one member carries a part", name)
            holder.setdefault(name, one.name)
        found[one.name] = tuple(carries)
    return found


def _not_carried(ground: Ground, name: str, known: Sequence[str]) -> str:
    part = ground.part(name)
    if part is None:
        return f"no part of the train has this name{hint(name, known)}"
    if part.part.role == "rod":
        ends = f"{name}.{END_START} or {name}.{END_FAR}"
        return f"a rod has no axis; {ends} is its hook nearer the key or nearer the pallet"
    return f"a {part.part.role} has no axis of its own{hint('', known)}"


def own_hooks(ground: Ground, place: Place, members: Sequence[Member]) -> tuple[Member, ...]:
    """Members with those that carry hooks or the key's surface counted from the part that these go with.

    Such a member stands on its part: what carries the part moves it too, and is not counted twice.
    """
    return tuple(_own(ground, place, members, one) for one in members)


def _own(ground: Ground, place: Place, members: Sequence[Member], one: Member) -> Member:
    small = [name for name in one.carries if _part_of(ground, name)]
    if not small:
        return one
    here = place.at(f"[[member]] {one.name}")
    if len(small) < len(one.carries):
        other = next(name for name in one.carries if name not in small)
        told = f"goes with its own part, and this member carries the axis of {other}; give each a member of its own"
        here.defect(CARRIES, told, small[0])
        return one
    below = next(iter(list(chain(members, one.name))[1:]), None)
    if below is None or (all(_part_of(ground, name) for name in below.carries) and below.carries):
        return one
    for name in small:
        part = _part_of(ground, name)
        holder = next((other for other in members if part in other.carries), None)
        if holder is None or below.name not in [under.name for under in chain(members, holder.name)]:
            told = f"goes with {part}, which '{below.name}' does not carry: leave `on` out, and it stands on its part"
            here.defect("on", told, one.on)
    return replace(one, on=FLOOR)


def _part_of(ground: Ground, name: str) -> str:
    """The part that a hook or the key's surface goes with; empty of an axis."""
    if name == KEY_FRONT:
        return next(iter(ground.of_role("key")), "")
    rod, _, end = name.rpartition(".")
    if end not in (END_START, END_FAR) or rod not in ground.of_role("rod"):
        return ""
    before, behind = ground.ends(rod)
    return before if end == END_START else behind
