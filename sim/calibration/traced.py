"""Strokes as a trace shows them: what is done to the key, how the note moves, and what is read of it in frames."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from scipy.interpolate import PchipInterpolator

from keyaction.models.readings.courses import Trace
from keyaction.models.train.train import Train
from keyaction.sim.calibration.measured import TraceBlock
from keyaction.sim.calibration.odd_trace import INSTANT
from keyaction.sim.figures.measure import above_seat
from keyaction.sim.fitting.least import Floats
from keyaction.sim.motion.drives import Drive, Piece, laid_mass, quintic
from keyaction.sim.motion.integrate import Motion, integrate
from keyaction.sim.motion.note import NoteModel
from keyaction.sim.motion.rest import sunk
from keyaction.sim.statics.balance import LET_GO

_LOAD, _LONG = 5.0, 0.1
"""N with which a key is held down that is let go, and s for which any stroke is followed at least."""
_PIECES = 60
"""Pieces of a finger's way at most."""
_PLACES, _SHARES = np.polynomial.legendre.leggauss(5)[0], np.polynomial.legendre.leggauss(5)[1] / 2
"""Places within half a frame to either side of its middle, and their shares of it."""
_STIFF = 1e4
"""N/m: a finger whose way was read at the key itself (assumed)."""


@dataclass(frozen=True)
class Traced:
    """How a note moves in a stroke.

    Attributes
    ----------
    motion : Motion
    level : float
        Key travel at rest, from which that of a trace counts, m.
    begins : float
        Time of the trace at which the motion begins, s.
    """

    motion: Motion
    level: float
    begins: float = 0.0

    def course(self, channel: str) -> tuple[Floats, Floats]:
        """Times of the trace (s) and a channel, SI."""
        time, motion = self.motion.t + self.begins, self.motion
        if channel == "key":
            return time, np.asarray(motion["key_travel"] - self.level)
        if channel == "pallet":
            return time, np.maximum(above_seat(motion["pallet_lift"], motion["seat_gap"]), 0.0)
        return time, np.asarray(motion["groove_pressure"])


def played(train: Train, trace: Trace) -> Traced | None:
    """The stroke of a trace; None where it cannot be played. The train stands under the wind of the trace."""
    model = NoteModel(train)
    rider = trace.driven == "mass"
    seen = model.kernel(rider).observables.index("key_travel")
    drive = drive_of(trace)
    start = model.vector(drive, drive.pieces[0])
    rest = model.kernel(rider).observe(np.zeros(1), model.rest(rider)[None, :], model.parameters(rider), start)
    motion = _let_go(model, drive) if trace.driven == "let go" else model.play(drive)
    begins = float(trace.time[0]) if trace.driven == "finger" else 0.0
    return Traced(motion, float(rest[0, seen]), begins) if motion.status.ok else None


def drive_of(trace: Trace) -> Drive:
    """What is done to the key from where the stroke begins."""
    long = max(float(trace.time[-1]) + INSTANT + trace.frame, _LONG)
    if trace.driven == "mass":
        return laid_mass(trace.mass, trace.within, long)
    if trace.driven == "let go":
        freed = quintic(0.0, trace.within, _LOAD, 0.0)
        pieces = Piece(0.0, freed.end, force=freed.way), Piece(freed.end, freed.end + long)
        return Drive("force", pieces, marks=(("lift", 0.0), ("free", freed.end)))
    return _by_finger(trace)


def _let_go(model: NoteModel, drive: Drive) -> Motion:
    """From the bottom, to which the key was pressed without a swing: friction holds it as a slow finger does."""
    kernel, p = model.kernel(), model.parameters()
    held = Drive("force", (Piece(0.0, 1.0, force=(_LOAD,)),))
    down = sunk(kernel, model.rest(), p, model.vector(held, held.pieces[0]), model.tolerances, LET_GO)
    return integrate(kernel, p, down, drive, model.tolerances, held=model.held())


def _by_finger(trace: Trace) -> Drive:
    """The finger's way in cubic pieces through what was read of it."""
    there = np.isfinite(trace.finger)
    time, way = trace.time[there] - trace.time[0], trace.finger[there]
    every = max(1, math.ceil(len(time) / _PIECES))
    time, way = np.append(time[::every], time[-1]), np.append(way[::every], way[-1])
    fresh = np.concatenate([[True], np.diff(time) > 1e-6])
    curve = PchipInterpolator(time[fresh], way[fresh])
    pieces = tuple(
        Piece(float(start), float(end), tuple(map(float, curve.c[::-1, i])))
        for i, (start, end) in enumerate(zip(curve.x[:-1], curve.x[1:], strict=True))
    )
    return Drive("motion", pieces, stiffness=_STIFF, marks=(("press", 0.0),))


def in_frames(block: TraceBlock, moved: Traced, instant: float) -> tuple[Floats, Floats]:
    """What is read of a motion whose times are rounded to frames: its mean over each, and the deviation from it (n,).

    A rounded time stands for any within half a frame: where a motion turns within one, neither its value in the middle
    nor its speed there says what is read.
    """
    within = block.trace.frame / 2 * _PLACES
    seen = np.interp(block.times[:, None] - instant + within, *moved.course(block.channel))
    mean = seen @ _SHARES
    return mean, np.sqrt((seen - mean[:, None]) ** 2 @ _SHARES)
