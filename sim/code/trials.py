"""Trials of repeated strokes in the lanes of a block, in a loop that Numba compiles once for all trains."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[Any]
Numbers = NDArray[np.int64]
Rows = tuple[int, int, int, int, int]


def decided(block: Floats, j: int, rows: Rows, tame: float) -> bool:
    """Whether a stroke of a lane failed, or went as the one before and was not close, while no body turned too far."""
    turns, record, verdict, alike, away = rows
    if block[verdict, j] != 0.0:
        return True
    wide = 0.0
    for k in range(turns, record):
        wide = max(wide, block[k, j])
    return block[alike, j] == 1.0 and block[away, j] >= 1.0 and wide < tame


def give_back(block: Floats, j: int, given: Floats, lane: int) -> None:
    """Put a lane of the block back to its place among those given."""
    i, k = lane // block.shape[1], lane % block.shape[1]
    for row in range(len(block)):
        given[i, row, k] = block[row, j]


def take(block: Floats, j: int, given: Floats, lane: int) -> None:
    """Put one of the lanes given into the block."""
    i, k = lane // block.shape[1], lane % block.shape[1]
    for row in range(len(block)):
        block[row, j] = given[i, row, k]


def trials(
    played: Any,
    given: Floats,
    steps: Numbers,
    first: int,
    apart: int,
    h: float,
    look: int,
    rows: Rows,
    tame: float,
    block: Floats,
    here: Numbers,
    left: Numbers,
) -> int:
    """Play every `apart`-th of some lanes from the first, in place; the steps that the block made.

    No lane waits for its neighbours: once one is decided, the next takes its place.

    Parameters
    ----------
    played : function
        Makes so many steps of length h of a block, each lane at a time of its own.
    given : (blocks, rows, width) array
        All lanes before they are played, and afterwards.
    steps : (lanes,) array
        After which they end at the latest.
    look : int
        Steps after which it is looked who is decided.
    rows : tuple of int
        First of the turns and of the record; of the verdict, whether strokes were alike, and how close it was.
    tame : float
        Widest turn, rad, with which a stroke that went as the one before ends a lane.
    block, here, left : (rows, width), (width,) and (width,) arrays
        To work in: lanes now played, which they are (-1 is none yet), and their steps left.
    """
    following, busy, made = first, 0, 0
    flat = block.reshape(-1)
    while True:
        for j in range(len(here)):
            if here[j] >= 0 and (left[j] <= 0 or decided(block, j, rows, tame)):
                give_back(block, j, given, here[j])
                here[j] = -1
                busy -= 1
            if here[j] < 0 and following < len(steps):
                take(block, j, given, following)
                here[j], left[j] = following, steps[following]
                following += apart
                busy += 1
            left[j] -= look
        if busy == 0:
            return made
        played(look, h, flat)
        made += look
