"""What a played note pulls at the rail: its slow press, where the pallet leaves its seat and with the key held down."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from keyaction.models.frame.changes import RunRod
from keyaction.models.frame.rail import Rail
from keyaction.sim.floating.equilibrium import shifts_on_rail
from keyaction.sim.statics.press import StaticPress


@dataclass(frozen=True)
class PressedPull:
    """Force of a played note on the rail against its load, N.

    Attributes
    ----------
    pluck : float
        Where its pallet leaves the seat; NaN if it never does.
    held : float
        With the key down at the dip force.
    """

    pluck: float
    held: float


def pulls_when_pressed(rail: Rail, press: StaticPress, rods: Sequence[RunRod]) -> PressedPull:
    """Of one note by virtual work, as `keyaction.sim.floating.equilibrium.pulls_on_rail`, friction of its parts in it.

    Parameters
    ----------
    rail : Rail
    press : StaticPress
    rods : sequence of RunRod
        Of the note.
    """
    down = press.down
    forces = {
        one.part: one.force for one in down.balance.kernel.elements if one.kind == "rod" and one.place in ("", "in")
    }
    total = np.zeros(len(down.finger))
    for name, shift in shifts_on_rail(rail, rods).items():
        total += shift * down[forces[name]]
    return PressedPull(down.at(press.pluck_place, total), float(total[-1]))
