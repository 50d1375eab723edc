"""Reading figures off samples: against closed forms, whatever the samples."""

import math
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from keyaction.sim.figures.measure import crossing, peak, spans_above, value_at

size = st.floats(-50.0, 50.0)
walk = st.lists(size, min_size=2, max_size=40).map(np.array)


@st.composite
def sampled(draw):
    """A walk on rising, uneven instants."""
    x = draw(walk)
    steps = draw(st.lists(st.floats(1e-3, 2.0), min_size=len(x), max_size=len(x)))
    return np.cumsum(steps), x


# -- crossing --------------------------------------------------------------------------------------------
@given(st.floats(0.1, 10.0), st.floats(-5.0, 5.0), st.floats(0.01, 0.99))
def test_a_straight_line_crosses_where_it_should(slope, start, share):
    t = np.array([0.0, 0.3, 0.7, 1.0, 1.9, 2.0])
    level = start + slope * 2.0 * share
    assert crossing(t, start + slope * t, level) == pytest.approx(2.0 * share, abs=1e-9)
    assert crossing(t, -start - slope * t, -level, rising=False) == pytest.approx(2.0 * share, abs=1e-9)


@given(st.floats(0.0, 1.9), st.booleans())
def test_what_is_beyond_the_level_at_the_start_has_passed_it_there_and_not_at_the_next_sample(after, rising):
    t, x = np.array([0.0, 0.3, 0.7, 1.0, 1.9, 2.0]), np.full(6, 1.0 if rising else -1.0)
    assert crossing(t, x, 0.0, after=after, rising=rising) == after


@given(sampled(), size)
def test_the_first_crossing_is_on_the_line_and_nothing_was_beyond_before(samples, level):
    t, x = samples
    found = crossing(t, x, level)
    if math.isnan(found):
        assert np.all(x < level)
    else:
        assert t[0] <= found <= t[-1]
        assert np.all(x[t < found] < level)
        if found > t[0]:
            assert np.interp(found, t, x) == pytest.approx(level, abs=1e-6)


@given(sampled(), size)
def test_falling_is_rising_upside_down(samples, level):
    t, x = samples
    assert crossing(t, x, level, rising=False) == pytest.approx(crossing(t, -x, -level), nan_ok=True)


@given(sampled(), size, st.integers(0, 39))
def test_nothing_before_the_search_counts(samples, level, start):
    t, x = samples
    start = min(start, len(t) - 1)
    found = crossing(t, x, level, after=t[start])
    assert math.isnan(found) or found >= t[start]
    assert found == pytest.approx(crossing(t[start:], x[start:], level), nan_ok=True)


def test_beyond_at_the_start_counts_there_and_never_is_nan():
    t, x = np.array([0.0, 1.0, 2.0]), np.array([5.0, 4.0, 3.0])
    assert crossing(t, x, 2.0) == 0.0
    assert crossing(t, x, 2.0, after=0.5) == 0.5
    assert math.isnan(crossing(t, x, 6.0))
    assert math.isnan(crossing(t, x, 2.0, after=2.5))
    assert math.isnan(crossing(t, x, 2.0, after=math.nan))


def test_a_value_between_instants():
    t, x = np.array([0.0, 1.0, 3.0]), np.array([0.0, 2.0, -2.0])
    assert value_at(t, x, 0.25) == 0.5
    assert value_at(t, x, 2.0) == 0.0
    assert math.isnan(value_at(t, x, math.nan))


# -- peak ------------------------------------------------------------------------------------------------
@given(st.floats(0.1, 5.0), st.floats(0.11, 0.89), st.floats(-3.0, 3.0), st.integers(20, 200))
def test_the_top_of_a_parabola_is_exact(bend, top_at, height, count):
    t = np.linspace(0.0, 1.0, count + 1)
    when, top = peak(t, height - bend * (t - top_at) ** 2, 0.0, 1.0)
    assert when == pytest.approx(top_at, abs=1e-7)
    assert top == pytest.approx(height, abs=1e-9)


def test_the_top_of_a_sine_is_met_to_the_fourth_order():
    errors = []
    for count in (50, 100, 200):
        t = np.linspace(0.0, 1.0, count + 1)
        errors.append(abs(peak(t, np.sin(3.1 * t), 0.0, 1.0)[1] - 1.0))
    assert errors[1] < errors[0] / 4
    assert errors[2] < 2e-9 < np.max(np.abs(1.0 - np.max(np.sin(3.1 * t))))


@given(sampled(), st.floats(0.0, 1.0), st.floats(0.0, 1.0))
def test_a_peak_is_at_least_the_highest_sample_of_its_span(samples, one, other):
    t, x = samples
    start, end = sorted((t[0] + one * (t[-1] - t[0]), t[0] + other * (t[-1] - t[0])))
    when, top = peak(t, x, start, end)
    inside = (t >= start) & (t <= end)
    if not np.any(inside):
        assert math.isnan(when) and math.isnan(top)
    else:
        assert top >= np.max(x[inside])
        assert t[0] <= when <= t[-1]


def test_a_peak_at_the_end_or_on_uneven_instants_is_the_sample():
    t = np.array([0.0, 1.0, 2.0])
    assert peak(t, np.array([0.0, 1.0, 5.0]), 0.0, 2.0) == (2.0, 5.0)
    assert peak(np.array([0.0, 1.0, 1.5]), np.array([0.0, 5.0, 4.0]), 0.0, 2.0) == (1.0, 5.0)
    # The span's highest sample lies on a flank: no parabola may carry it over the higher neighbour outside.
    assert peak(np.arange(4.0), np.array([0.0, 1.0, 5.0, 0.0]), 0.0, 1.0) == (1.0, 1.0)
    assert all(map(math.isnan, peak(t, t, 5.0, 6.0)))


# -- spans -----------------------------------------------------------------------------------------------
@given(walk, size)
def test_spans_are_the_samples_above_each_once_and_apart(x, level):
    spans = spans_above(x, level)
    inside = np.zeros(len(x), dtype=bool)
    for first, last in spans:
        assert first <= last
        inside[first : last + 1] = True
    assert np.array_equal(inside, x > level)
    assert all(later[0] - earlier[1] >= 2 for earlier, later in pairwise(spans))


def test_spans_of_a_sine():
    t = np.linspace(0.0, 3.0, 3001)
    spans = spans_above(np.sin(2 * math.pi * t), 0.5)
    assert len(spans) == 3
    for i, (first, last) in enumerate(spans):
        assert t[first] == pytest.approx(i + 1 / 12, abs=1.1e-3)
        assert t[last] == pytest.approx(i + 5 / 12, abs=1.1e-3)


@given(st.floats(-1.0, 1.0))
def test_a_motion_that_stands_at_the_level_is_not_above(level):
    assume(level != 0)
    assert spans_above(np.full(5, level), level) == []
    assert spans_above(np.full(5, level + 1.0), level) == [(0, 4)]
