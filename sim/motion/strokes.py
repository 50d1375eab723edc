"""The stroke by which a note is judged."""

from __future__ import annotations

from keyaction.cases.action.strokes import Strokes
from keyaction.sim.motion import drives
from keyaction.sim.motion.drives import Drive
from keyaction.sim.motion.note import Model


def standard_stroke(model: Model, strokes: Strokes) -> Drive:
    """The standard stroke of the case."""
    depth = strokes.depth * model.train.dip
    return drives.stroke(strokes.down, strokes.hold, strokes.up, depth, stiffness=strokes.finger)
