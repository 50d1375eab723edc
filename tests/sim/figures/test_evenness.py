"""Steps between neighbours: closed forms."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from keyaction.sim.figures.evenness import JUST_NOTICEABLE, evenness, neighbour_steps


@given(st.floats(0.5, 3.0), st.floats(0.9, 1.1), st.integers(2, 20))
def test_a_geometric_row_has_even_steps(first, ratio, count):
    steps = neighbour_steps(np.arange(36, 36 + count), first * ratio ** np.arange(count))
    assert np.isnan(steps[0])
    assert steps[1:] == pytest.approx(np.full(count - 1, 2 * (ratio - 1) / (ratio + 1)), abs=1e-12)


@given(st.floats(0.5, 3.0), st.floats(0.5, 3.0))
def test_the_sign_tells_the_direction_and_the_unit_does_not_matter(low, high):
    there = neighbour_steps(np.array([60, 61]), np.array([low, high]))[1]
    back = neighbour_steps(np.array([60, 61]), np.array([high, low]))[1]
    assert there == -back
    assert there == pytest.approx(neighbour_steps(np.array([60, 61]), 101.97 * np.array([low, high]))[1])
    assert there == pytest.approx((high - low) / ((high + low) / 2))


def test_no_neighbour_no_step():
    steps = neighbour_steps(np.array([36, 37, 39, 40, 41]), np.array([1.0, 1.1, 1.2, np.nan, 1.3]))
    assert steps[1] == pytest.approx(0.1 / 1.05)
    assert np.isnan(steps[[0, 2, 3, 4]]).all()
    assert np.isnan(neighbour_steps(np.array([36, 37]), np.zeros(2))).all()
    assert np.isnan(evenness(np.array([36, 37]), {"pluck_force": np.array([1e-9, 3e-3])})).all()
    assert len(neighbour_steps(np.array([36]), np.array([1.0]))) == 1


def test_what_a_finger_can_tell():
    assert 0.05 < JUST_NOTICEABLE < 0.1  # Pang, Tan and Durlach (1991): 5 to 10 %, about 7 %
