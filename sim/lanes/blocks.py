"""Designs packed into blocks of lanes and back."""

from __future__ import annotations

import math
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from typing import Any

import numpy as np
from numpy.typing import NDArray

from keyaction.sim.motion.integrate import Floats
from keyaction.sim.processes.count import workers

LINE = 64
"""Bytes of a line of the processor's cache, and of its longest vectors."""


def packed(rows: Floats, width: int) -> Floats:
    """(n, r) rows of designs as (blocks, r, width); the last block repeats the last design in its empty lanes."""
    n, r = rows.shape
    blocks = -(-n // width)
    filled = rows if n == blocks * width else np.concatenate([rows, np.repeat(rows[-1:], blocks * width - n, axis=0)])
    return filled.reshape(blocks, width, r).transpose(0, 2, 1)


def unpacked(blocks: Floats, n: int) -> Floats:
    """(blocks, r, width) back to (n, r)."""
    return np.ascontiguousarray(blocks.transpose(0, 2, 1)).reshape(-1, blocks.shape[1])[:n]


def aligned_zeros(shape: tuple[int, ...], real: str) -> NDArray[Any]:
    """Zeros that begin with a line of the processor's cache: else every vector of lanes lies across two of them."""
    size = math.prod(shape)
    raw = np.zeros(size * np.dtype(real).itemsize + LINE, dtype=np.uint8)
    first = -raw.ctypes.data % LINE
    return raw[first : first + size * np.dtype(real).itemsize].view(real).reshape(shape)


def each_block(work: Callable[[int], None], blocks: int, jobs: int) -> None:
    """Call `work` for every block, by threads: the compiled step lets go of the interpreter."""
    count = min(workers(jobs), blocks)
    if count <= 1:
        for block in range(blocks):
            work(block)
        return
    with ThreadPoolExecutor(count) as pool:
        list(pool.map(work, range(blocks)))
