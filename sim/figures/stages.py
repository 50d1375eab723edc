"""The stages of a key's way: pallets that open one after the other, and contacts that move."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from keyaction.models.units.quantity import System, format_value
from keyaction.sim.motion.sounders import stage_names

if TYPE_CHECKING:
    from keyaction.sim.figures.record import Pressed


@dataclass(frozen=True)
class Stage:
    """What changes at a place of the key's way in the slow press.

    Attributes
    ----------
    part, what : str
        Whose stage it is, and in words what it does.
    travel, force : float
        Key travel from rest (m) and key force (N) there.
    share : float
        Pressure of the first groove there over that of its box.
    """

    part: str
    what: str
    travel: float
    force: float
    share: float


def stages(pressed: Pressed) -> tuple[Stage, ...]:
    """The stages of a note's slow press, in the order of the key's way; those that it does not reach are left out."""
    down, found = pressed.press.down, list[Stage]()
    for part, what, name in stage_names(pressed.model.train, pressed.kinematics.layout):
        at = down.place(name, 0.0)
        if math.isfinite(at):
            pressure = down.at(at, down[pressed.press.sounders[0].pressure])
            share = pressure / pressed.box_pressure if pressed.box_pressure > 0.0 else math.nan
            found.append(Stage(part, what, down.at(at, down.travel), down.at(at, down.force), share))
    return tuple(sorted(found, key=lambda one: one.travel))


def several(pressed: Pressed) -> bool:
    """Whether a key works in further stages than the plucks of its pallets."""
    return len(stages(pressed)) > len(pressed.press.sounders)


def told(pressed: Pressed, units: System = "trade") -> str:
    """A sentence of the stages; empty of a key whose way has one alone."""
    found = stages(pressed)
    if len(found) < 2:
        return ""
    words = [
        f"{one.part} {one.what} at {format_value(one.travel, 'm', units)} with {format_value(one.force, 'N', units)}"
        + (f", the groove {100 * one.share:.0f} % full" if one.share >= 0.005 else "")
        for one in found
    ]
    return f"In stages: {'; '.join(words)}."
