"""The smooth law of control points against SciPy's own, to the last bit."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.interpolate import PchipInterpolator

from keyaction.cases.fields.cubic import monotone_cubic

VALUES = st.floats(-1e6, 1e6, allow_subnormal=False)


@settings(max_examples=300, deadline=None)
@given(st.lists(st.tuples(st.integers(0, 96), VALUES), min_size=2, max_size=8, unique_by=lambda point: point[0]))
def test_any_control_points_over_semitones(points):
    x, y = (np.array(column, dtype=float) for column in zip(*sorted(points), strict=True))
    at = np.arange(x[0], x[-1] + 1)
    with np.errstate(over="ignore"):  # SciPy divides by slopes near the smallest number there is
        reference = PchipInterpolator(x, y)(at)
    assert np.array_equal(monotone_cubic(x, y, at), reference)


def test_the_smallest_slopes_there_are():
    x, y = np.array([0.0, 1.0, 3.0]), np.array([0.0, 0.0, np.finfo(float).tiny])
    assert np.all(np.abs(monotone_cubic(x, y, np.arange(4.0))) <= np.finfo(float).tiny)


@pytest.mark.parametrize(
    "y", [[1, 1, 1, 1], [0, 1, 0, 1], [3, 2, 2, 1], [0, 10, 10.1, 40], [5, 1, 9, 2], [0, 1, -8, 3]]
)
def test_flat_turning_and_steep_ends_between_the_semitones(y):
    x, y, at = np.array([36.0, 48.0, 51.0, 91.0]), np.array(y, dtype=float), np.linspace(36, 91, 1001)
    assert np.array_equal(monotone_cubic(x, y, at), PchipInterpolator(x, y)(at))
