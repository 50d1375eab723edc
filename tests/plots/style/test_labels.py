"""Labels that give way to each other."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from keyaction.plots.style.labels import spread


def test_labels_with_room_stay_where_they_belong():
    assert spread([1.0, 4.0, 8.0], [1.0, 2.0, 1.0], 0.0, 10.0) == pytest.approx([1.0, 4.0, 8.0])


def test_two_labels_on_one_place_part_evenly():
    assert spread([5.0, 5.0], [2.0, 2.0], 0.0, 10.0) == pytest.approx([4.0, 6.0])


def test_the_edge_pushes_back():
    assert spread([0.1, 0.2], [2.0, 2.0], 0.0, 10.0) == pytest.approx([1.0, 3.0])
    assert spread([9.9, 10.0], [2.0, 2.0], 0.0, 10.0) == pytest.approx([7.0, 9.0])


@given(st.lists(st.tuples(st.floats(0, 10), st.floats(0.01, 1.0)), min_size=1, max_size=10))
def test_labels_never_overlap_nor_leave_the_row(labels):
    wanted = sorted(at for at, _ in labels)
    sizes = np.array([size for _, size in labels])
    places = spread(wanted, list(sizes), 0.0, 10.0)
    assert np.all(np.diff(places) >= (sizes[1:] + sizes[:-1]) / 2 - 1e-9)
    assert places[0] - sizes[0] / 2 >= -1e-9
    assert places[-1] + sizes[-1] / 2 <= 10 + 1e-9
