"""What rods with side motion do in a motion: how far their longest spans whip, and how they slap."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from keyaction.models.formulas.spans import REPETITION_BAND
from keyaction.models.parts.side import PIECE
from keyaction.sim.code.layout import Body, Layout, Recorded
from keyaction.sim.figures.measure import spans_above

if TYPE_CHECKING:
    from keyaction.cases.action.strokes import Strokes
    from keyaction.sim.motion.integrate import Motion
    from keyaction.sim.motion.note import NoteModel

RATES = tuple(float(rate) for rate in np.linspace(*REPETITION_BAND, 12))
"""Hz: half a hertz apart, from end to end of the band in which one key is repeated."""
_SLAPS = ("slap", "slap_back")
"""Places of a rod where it meets what stands beside it, on either side."""


@dataclass(frozen=True)
class Whip:
    """The side motion of a rod in one motion.

    Attributes
    ----------
    rod : str
    way : float
        Furthest that the middle of its longest span goes from where it rests, m.
    slaps : int
        Times that it comes to what stands beside it; -1 where nothing does.
    speed : float
        Fastest that it comes there, m/s: 0 where it never does, NaN where nothing stands there.
    """

    rod: str
    way: float
    slaps: int
    speed: float


def whips(motion: Motion) -> list[Whip]:
    """The side motion of every rod that has one, in train order."""
    layout: Layout = motion.kernel
    return [_whip(motion, body, layout) for body in layout.bodies if body.piece == PIECE]


def _whip(motion: Motion, body: Body, layout: Layout) -> Whip:
    way = motion[body.way]
    speed = motion[layout.states[len(layout.bodies) + layout.bodies.index(body)]]
    met = [list(_comes(motion, one, np.abs(speed))) for one in layout.elements
           if one.part == body.part and one.place in _SLAPS]  # fmt: skip
    speeds = [one for side in met for one in side]
    return Whip(
        body.part,
        float(np.max(np.abs(way - way[0]))),
        len(speeds) if met else -1,
        max(speeds, default=0.0) if met else math.nan,
    )


def _comes(motion: Motion, slap: Recorded, speed: np.ndarray) -> Iterator[float]:
    """Speeds at which a rod comes to one side's neighbour; lying there from the start it does not come."""
    yield from (float(speed[first - 1]) for first, _ in spans_above(motion[slap.stretch], 0.0) if first > 0)


def side_motion(
    model: NoteModel, strokes: Strokes, rates: Sequence[float] = RATES
) -> dict[float, tuple[Motion, list[Whip]]]:
    """Side motion in the standard stroke, and while the key is repeated.

    Parameters
    ----------
    model : NoteModel
    strokes : Strokes
    rates : sequence of float
        Hz; by default all through the band in which one key is repeated.

    Returns
    -------
    dict
        By rate, 0 for the standard stroke: the motion, whose ``status`` says whether it could be followed, and what
        each rod with side motion does in it.
    """
    from keyaction.sim.figures.repetition import COUNT  # here, because figures are shown where nothing is played
    from keyaction.sim.motion import drives
    from keyaction.sim.motion.strokes import standard_stroke

    depth = strokes.repetition_depth * model.train.dip
    played = {0.0: standard_stroke(model, strokes)}
    played |= {rate: drives.repeated(rate, depth, COUNT, strokes.finger) for rate in rates}
    motions = {rate: model.play(drive) for rate, drive in played.items()}
    return {rate: (motion, whips(motion)) for rate, motion in motions.items()}
