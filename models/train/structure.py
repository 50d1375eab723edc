"""What the equations of a train depend on: which parts, of which shape, and what leads from where to where."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from keyaction.models.parts.base import Part, Shape

Outlet = tuple[str, str]
"""A part's name and the name of one of its outlets."""


@dataclass(frozen=True)
class Member:
    """One part of a structure.

    Parameters
    ----------
    part : type of Part
    name : str
    shape : tuple
        What about its values changes the equations.
    after : (str, str), optional
        The part and its outlet from which a rod leads on; by default the last body before it in the list. So a
        train may branch: a key pulls two rods, a lever two pallets. Of a coupler, where it takes hold.
    to : (str, str), optional
        Of a coupler, the part that it moves, and which end of it.
    """

    part: type[Part]
    name: str
    shape: Shape
    after: Outlet | None = None
    to: Outlet | None = None

    @property
    def kind(self) -> str:
        return self.part.kind

    def __str__(self) -> str:
        led = f" from {self.after[0]}, {self.after[1]}" if self.after else ""
        led += f" to {self.to[0]}, {self.to[1]}" if self.to else ""
        return f"{self.kind} {self.name} {self.shape}{led}"


Structure = tuple[Member, ...]
"""All that the equations depend on, in order from the finger to the wind."""

TURN_LIMIT = 0.5
"""rad: turn of a lever up to which the equations are used, by every integrator. An arm's rod is taken to keep its
direction, and sine and cosine in lanes are short polynomials (1e-6 at this angle); dead centre lies far beyond."""

_TAIL = ("pallet", "spring", "groove", "box")


def order_defects(members: Sequence[Member]) -> list[str]:
    """What is wrong with the order of parts."""
    if any(member.after for member in members):
        return _tree_defects(members) or _coupler_defects(members)
    roles = [member.part.role for member in members]
    defects = [f"{one.name}: a coupler joins two trains" for one in members if one.part.role == "coupler"]
    if not roles or roles[0] != "key":
        defects.append("the train begins with a key")
    counted = ((role, roles.count(role)) for role in ("key", *_TAIL))
    defects += [f"the train has one {role}; this one has {count}" for role, count in counted if count != 1]
    if defects:
        return defects
    if tuple(roles[-4:]) != _TAIL:
        return ["the train ends with pallet, spring, groove, box, in that order"]
    return _run_defects(members)


def _run_defects(members: Sequence[Member]) -> list[str]:
    """Rods and bodies have to take turns."""
    defects = []
    for before, after in pairwise(members):
        if after.part.role in ("lever", "pallet") and before.part.role != "rod":
            defects.append(f"{after.name}: a tracker, sticker or pull-down must lead to it from {before.name}")
        if after.part.role == "rod" and before.part.role == "rod":
            defects.append(f"{after.name}: two rods meet without a lever between {before.name} and {after.name}")
    return defects


def _fed(behind: Sequence[str]) -> bool:
    """Whether a spring, and a groove of its own or one shared with the next pallets, stand behind a pallet."""
    ends = next((role for role in behind if role in ("groove", "box", "key")), "")
    return behind[:1] == ["spring"] and behind[1:2] in (["groove"], ["rod"]) and ends == "groove"


def _tree_defects(members: Sequence[Member]) -> list[str]:
    """A train that branches: one key first, each pallet with its spring and groove, a box after them.

    Keys that couplers move begin a train of their own; the couplers stand behind all that they join.
    """
    roles, names = [member.part.role for member in members], [member.name for member in members]
    couplers = roles.count("coupler")
    one = roles.count("key") == 1 or couplers
    defects = [] if roles and roles[0] == "key" and one else ["the train begins with its one key"]
    if "coupler" in roles[: len(roles) - couplers]:
        defects.append("couplers stand last, behind all that they join")
    if not roles or roles[: len(roles) - couplers][-1:] != ["box"]:
        defects.append("the train ends with a box")
    for i, member in enumerate(members):
        if member.part.role == "pallet" and not _fed(roles[i + 1 :]):
            defects.append(f"{member.name}: its spring and its groove follow a pallet")
        if member.after and member.part.role not in ("rod", "coupler"):
            defects.append(f"{member.name}: only a tracker, sticker or pull-down leads on from an outlet")
        if member.after and member.after[0] not in names[:i]:
            defects.append(f"{member.name}: no part '{member.after[0]}' before it, from which it could lead")
    if "pallet" not in roles:
        defects.append("the train has a pallet")
    return defects or _run_defects(members)


def _coupler_defects(members: Sequence[Member]) -> list[str]:
    """Every coupler joins two parts of bodies; every key but the first is moved by one; none moves what moves it."""
    bodies = {member.name: member.part.role in ("key", "lever") for member in members}
    defects = []
    couplers = [member for member in members if member.part.role == "coupler"]
    for one in couplers:
        if one.after is None or one.to is None:
            defects.append(f"{one.name}: where it takes hold and what it moves are needed")
            continue
        ends = ((one.after, "from which it could take its way"), (one.to, "that it could move"))
        defects += [f"{one.name}: no key or lever '{end[0]}' {told}" for end, told in ends if not bodies.get(end[0])]
    if defects:
        return defects
    trains = _trains(members)
    reached = {trains[one.to[0]] for one in couplers if one.to}
    keys = [member.name for member in members if member.part.role == "key"]
    defects += [f"{key}: no coupler moves it" for key in keys[1:] if trains[key] not in reached]
    ways = [(trains[one.after[0]], trains[one.to[0]]) for one in couplers if one.after and one.to]
    return defects + (
        [f"the couplers {', '.join(c.name for c in couplers)} go round in a loop"] if _loops(ways) else []
    )


def _trains(members: Sequence[Member]) -> dict[str, str]:
    """The key at the head of the train that each part belongs to."""
    found, head = dict[str, str](), ""
    for member in members:
        head = member.name if member.part.role == "key" else head
        found[member.name] = head
    return found


def _loops(ways: Sequence[tuple[str, str]]) -> bool:
    """Whether a train would move itself, by way of the others."""
    left = set(ways)
    while left:
        ends = {start for start, _ in left}
        done = {way for way in left if way[1] not in ends}
        if not done:
            return True
        left -= done
    return False
