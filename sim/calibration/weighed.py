"""How much the instants of a trace count, by the motion of the model: `weighed`."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from keyaction.sim.calibration.measured import Measured, TraceBlock
from keyaction.sim.calibration.presses import Shown
from keyaction.sim.calibration.traced import in_frames
from keyaction.sim.fitting.least import Floats

ROUGH = 1e-2
"""Of an error: a sixteenth of the fourth difference along a line of unknowns that a motion follows smoothly."""
_FEWEST = 3
"""Instants of a trace that always count."""
PLACES = (-1.0, -0.5, 0.5, 1.0)
"""Of a line, to either side of where a trace is weighed."""

Line = Sequence[tuple[Shown | None, Sequence[float]]]
"""What is shown at the `PLACES` of a line, None where no train can be built, and the beginnings of traces there, s."""


def weighed(measured: Measured, shown: Shown, instants: Sequence[float], lines: Sequence[Line] = ()) -> Measured:
    """The same measurements, errors of traces by how the model moves within each of their frames.

    Where parts chatter, the motion jumps with the least change of an unknown: what is read from there on is left out,
    since slopes say nothing of it and the least sum of squares would be that of the luckiest jump.

    Parameters
    ----------
    measured : Measured
    shown : Shown
        What the model shows where it is weighed.
    instants : sequence of float
        Beginnings of the traces there, s.
    lines : sequence of Line
        About as long as what is known of the unknowns.
    """
    blocks = list(measured.blocks)
    for k, block in enumerate(blocks):
        if isinstance(block, TraceBlock):
            i = measured.traces.index(block.trace)
            blocks[k] = _weighed(block, shown, instants, lines, i)
    return replace(measured, blocks=tuple(blocks))


def _weighed(block: TraceBlock, shown: Shown, instants: Sequence[float], lines: Sequence[Line], i: int) -> TraceBlock:
    moved = shown.traced[i]
    if moved is None:
        return block
    mean, off = in_frames(block, moved, instants[i])
    errors = np.hypot(block.trace.error(block.channel), off)
    rough = np.zeros(block.count)
    for line in lines:
        read = [_read(block, one, begun, i) for one, begun in line]
        if all(len(one) for one in read):
            fourth = read[0] - 4.0 * read[1] + 6.0 * mean - 4.0 * read[2] + read[3]
            rough = np.maximum(rough, np.abs(fourth) / 16.0)
    jumps = np.flatnonzero(rough > ROUGH * errors)
    smooth = slice(0, max(int(jumps[0]), _FEWEST) if len(jumps) else None)
    return replace(block, times=block.times[smooth], values=block.values[smooth], errors=errors[smooth])


def _read(block: TraceBlock, shown: Shown | None, instants: Sequence[float], i: int) -> Floats:
    """What is read of a trace there; nothing where it cannot be played."""
    moved = None if shown is None else shown.traced[i]
    return np.zeros(0) if moved is None else in_frames(block, moved, instants[i])[0]
