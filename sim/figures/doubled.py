"""Several pallets of one key: whether the second, as it opens, doubles the touch."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from keyaction.cases.action.strokes import Strokes
from keyaction.models.train.train import Train
from keyaction.models.units.quantity import format_value
from keyaction.sim.figures.play import NotPlayed, press_note
from keyaction.sim.motion.note import NoteModel

if TYPE_CHECKING:
    from keyaction.sim.figures.record import Pressed

DOUBLED = 1.75
"""Times the pluck of the first pallet alone from which on the touch is doubled (assumed: near enough to twice)."""
TOGETHER = 0.3e-3
"""m of key travel within which two pallets pluck as one (common practice: the play that can be set)."""
_OUT_OF_REACH = 0.05
"""m of play at which a rod never pulls."""


def own_pallets(train: Train) -> tuple[str, ...]:
    """Pallets that the key opens without a coupler, its first one first; none of a train that is coupled."""
    roles = [part.role for part in train.parts]
    if "coupler" in roles or roles.count("key") > 1:
        return ()
    return tuple(part.name for part in train.parts if part.role == "pallet")


def first_alone(train: Train, strokes: Strokes) -> Pressed:
    """The slow press with the rods to all pallets but the first left slack.

    Raises
    ------
    keyaction.sim.figures.play.NotPlayed
        When its equilibria cannot be followed.
    """
    for name in own_pallets(train)[1:]:
        at = next(i for i, part in enumerate(train.parts) if part.name == name)
        rod = next(part for part in reversed(train.parts[:at]) if part.role == "rod")
        slack = next(one for one in train.parameters if (one.part, one.what) == (rod.name, "slack"))
        train = train.with_parameter(slack, _OUT_OF_REACH, "left slack")
    return press_note(NoteModel(train), strokes)


def doubling(pressed: Pressed) -> str:
    """Of a key with several pallets: how the second doubles the touch; empty where it does not.

    The highest key force of the slow press against that of the first pallet alone.
    """
    names = own_pallets(pressed.model.train)
    if len(names) < 2:
        return ""
    try:
        alone = first_alone(pressed.model.train, pressed.strokes).press.pluck_force
    except NotPlayed:
        return ""
    press = pressed.press
    points = sorted(point for one in press.sounders if math.isfinite(point := press.leaves(one)))
    if len(points) < 2 or not alone > 0.0 or press.pluck_force < DOUBLED * alone:
        return ""
    forces = f"{format_value(press.pluck_force, 'N')} against {format_value(alone, 'N')} with {names[0]} alone"
    if points[-1] - points[0] <= TOGETHER:
        return f"{' and '.join(names)} pluck together and double the touch: {forces}"
    apart = format_value(points[-1] - points[0], "m")
    return f"{' and '.join(names)} open one after the other and double the touch: {apart} apart, {forces}"
