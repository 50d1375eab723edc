"""One rod for all of a note: how a change of any rod's way counts at that one, and at the key."""

from __future__ import annotations

from collections.abc import Sequence

from keyaction.models.train.train import Train
from keyaction.sim.figures.sketch import rigid


def strand(train: Train) -> tuple[str, ...]:
    """The rods between the key that is played and its own pallet, key first."""
    parts = [part.name for part in train.parts]
    pallet = train.role("pallet").name
    after = {member.name: member.after for member in train.structure}
    found, here = list[str](), parts.index(pallet)
    while here > 0:
        here -= 1
        if train.parts[here].role != "rod":
            continue
        found.append(parts[here])
        led = after[parts[here]]
        if led is not None:
            here = parts.index(led[0]) + 1
    return tuple(reversed(found))


def ways(train: Train) -> dict[str, float]:
    """Way of every rod per way of the key front, nothing giving way."""
    found = rigid(train)
    every = ((part.name, found.way(part.name)) for part in train.parts if part.role == "rod")
    return {name: way for name, way in every if way}


def standing_rod(train: Train, near: Sequence[str] = ()) -> str:
    """The rod that stands for all of a note.

    Parameters
    ----------
    train : Train
    near : sequence of str
        Rods that are taken before others where the strand has them: those that meet at a floating rail.

    Returns
    -------
    str
        Of `near` the first; else the one whose play is written, and of those without any the longest.
    """
    rods = strand(train)
    chosen = [rod for rod in rods if rod in near]
    return chosen[0] if chosen else max(rods, key=lambda rod: _weight(train, rod))


def _weight(train: Train, rod: str) -> tuple[float, float]:
    values = train.part(rod).values
    return abs(train.value(rod, "slack")), values.number("length") if values.has("length") else 0.0
