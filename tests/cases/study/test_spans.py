"""Spans of inputs: quantiles against their own distributions."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from keyaction.cases.study.spans import NORMAL_CUT, SPREAD_CUT, Choices, Normal, Range, Spread

U = np.linspace(0, 1, 201)


def test_a_range_is_even_over_its_values_or_their_logarithms():
    assert np.allclose(Range(2.0, 6.0).at(U), 2 + 4 * U, atol=1e-15)
    assert np.allclose(np.log(Range(1e-3, 10.0, log=True).at(U)), np.log(1e-3) + U * np.log(1e4), atol=1e-12)
    for log in (False, True):
        found = Range(0.1, 0.3, log).at(np.array([0.0, 1.0]))
        assert found.tolist() == [0.1, 0.3]


def test_a_normal_span_is_the_truncated_normal_distribution():
    wanted = stats.truncnorm(-NORMAL_CUT, NORMAL_CUT, loc=5.0, scale=0.5).ppf(U)
    assert np.allclose(Normal(5.0, 0.5).at(U), wanted, atol=1e-9)
    assert Normal(5.0, 0.5).ends == (3.5, 6.5)


@pytest.mark.parametrize("share", [0.03, 0.3, 0.6])
def test_a_spread_is_positive_with_median_one_and_its_standard_deviation(share):
    found = Spread(share).at((np.arange(200_000) + 0.5) / 200_000)
    assert found.min() > 0
    assert np.median(found) == pytest.approx(1.0, abs=1e-6)
    # Cut off at two standard deviations, a normal distribution keeps 88 % of its own.
    cut = stats.truncnorm(-SPREAD_CUT, SPREAD_CUT).std()
    assert np.std(np.log(found)) == pytest.approx(cut * np.sqrt(np.log(1 + share**2)), rel=1e-4)
    if share < 0.1:
        assert np.allclose(found, 1 + share * np.log(found) / share, atol=share**2 * 2.5)


def test_choices_are_alike_in_weight_and_every_level_of_a_grid_meets_its_own():
    for count in range(1, 8):
        span = Choices(tuple(range(count)))
        even = span.at((np.arange(count * 100) + 0.5) / (count * 100))
        assert np.array_equal(np.bincount(even), np.full(count, 100))
        assert span.at(np.arange(count) / max(count - 1, 1)).tolist() == list(range(count))
