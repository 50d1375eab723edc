"""Packing of designs into blocks of lanes."""

from functools import partial
from threading import Barrier

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from keyaction.sim.lanes.beside import side_by_side, who_asks
from keyaction.sim.lanes.blocks import each_block, packed, unpacked


@given(st.integers(1, 70), st.integers(1, 5), st.sampled_from([4, 16, 32]))
def test_packing_and_unpacking_give_the_rows_back(n, r, width):
    rows = np.arange(n * r, dtype=float).reshape(n, r)
    blocks = packed(rows, width)
    assert blocks.shape == (-(-n // width), r, width)
    assert np.array_equal(unpacked(blocks, n), rows)


def test_empty_lanes_repeat_the_last_design():
    blocks = packed(np.array([[1.0], [2.0], [3.0]]), 4)
    assert blocks.ravel().tolist() == [1.0, 2.0, 3.0, 3.0]


def test_every_block_is_worked_once_whatever_the_number_of_threads():
    for jobs in (1, 3):
        seen = []
        each_block(seen.append, 7, jobs)
        assert sorted(seen) == list(range(7))


def test_what_is_handed_in_side_by_side_comes_back_in_order_and_is_known_again():
    """On a device at one time, each always as the same one; on the processor one after the other."""
    meet = Barrier(3, timeout=30)

    def work(k):
        meet.wait()
        return k, who_asks()

    first, again = (side_by_side([partial(work, k) for k in range(3)], "gpu") for _ in range(2))
    assert first == again and [k for k, _ in first] == [0, 1, 2]
    assert len({who for _, who in first}) == 3
    assert side_by_side([who_asks, who_asks], "cpu") == [who_asks()] * 2
