"""How much the instants of a trace count, by the motion of the model: `weighed`."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from keyaction.sim.calibration.measured import Measured, TraceBlock
from keyaction.sim.calibration.presses import Shown
from keyaction.sim.calibration.traced import in_frames
from keyaction.sim.fitting.least import Floats

ROUGH = 0.05
"""Of an error: what two like steps to either side may differ by where a motion follows its unknowns smoothly."""


Pair = tuple[Shown | None, Shown | None]
"""What is shown a small step to either side; None where a train cannot be built."""


def weighed(measured: Measured, shown: Shown, instants: Sequence[float], beside: Sequence[Pair] = ()) -> Measured:
    """The same measurements, errors of traces by how the model moves within each of their frames.

    Where parts chatter, the motion jumps with the least change of an unknown: what is read from there on is left out,
    since slopes say nothing of it and the least sum of squares would be that of the luckiest jump.

    Parameters
    ----------
    measured : Measured
    shown : Shown
        What the model shows where it is weighed.
    instants : sequence of float
        Beginnings of the traces, s.
    beside : sequence of Pair
        Of each unknown.
    """
    blocks = list(measured.blocks)
    for k, block in enumerate(blocks):
        if isinstance(block, TraceBlock):
            i = measured.traces.index(block.trace)
            blocks[k] = _weighed(block, shown, [pair for pair in beside if None not in pair], i, instants[i])
    return replace(measured, blocks=tuple(blocks))


def _weighed(block: TraceBlock, shown: Shown, beside: Sequence[Pair], i: int, instant: float) -> TraceBlock:
    moved = shown.traced[i]
    if moved is None:
        return block
    mean, off = in_frames(block, moved, instant)
    errors = np.hypot(block.trace.error(block.channel), off)
    rough = np.zeros(block.count)
    for pair in beside:
        ends = [one.traced[i] for one in pair if one is not None]
        courses: list[Floats] = [in_frames(block, one, instant)[0] for one in ends if one is not None]
        if len(courses) == 2:
            rough = np.maximum(rough, np.abs(courses[0] + courses[1] - 2.0 * mean) / 2.0)
    jumps = np.flatnonzero(rough > ROUGH * errors)
    smooth = slice(0, int(jumps[0]) if len(jumps) else None)
    return replace(block, times=block.times[smooth], values=block.values[smooth], errors=errors[smooth])
