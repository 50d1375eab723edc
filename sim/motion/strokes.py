"""The strokes by which a note is judged: the slow press and the standard stroke."""

from __future__ import annotations

from dataclasses import replace

from keyaction.cases.action.strokes import Strokes
from keyaction.models.algebra.names import Name
from keyaction.sim.motion import drives
from keyaction.sim.motion.drives import Drive
from keyaction.sim.motion.note import Model

OVERTRAVEL = 1.05
"""The slow press goes this share beyond where the dip force is expected."""


def slow_press(model: Model, strokes: Strokes) -> Drive:
    """The press that measures the touch: slow, by a stiff gauge, down to the dip force on the bottom felt."""
    train = model.train
    felt = (strokes.dip_force / train.parameters[Name(train.key.name, "K_bottom")].value) ** (2 / 3)
    depth = train.dip + OVERTRAVEL * (felt + strokes.dip_force / strokes.press_stiffness)
    drive = drives.press(
        strokes.press_speed, depth, strokes.press_stiffness, hold=drives.PRESS_HOLD, ease=drives.PRESS_EASE
    )
    return replace(drive, damping=strokes.press_damping)


def standard_stroke(model: Model, strokes: Strokes) -> Drive:
    """The standard stroke of the case."""
    depth = strokes.depth * model.train.dip
    return drives.stroke(strokes.down, strokes.hold, strokes.up, depth, stiffness=strokes.finger)
