"""Spans of inputs: quantiles against their own distributions."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import stats

from keyaction.cases.study.spans import NORMAL_CUT, Choices, Deviation, Normal, Range
from keyaction.sim.sweep.plans import Plan

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


FINE = (np.arange(200_000) + 0.5) / 200_000


@pytest.mark.parametrize("size", [0.03, 0.3, 0.6])
def test_a_normal_factor_is_positive_with_median_one_and_the_stated_spread_of_its_logarithm(size):
    found = Deviation(size, factor=True).at(FINE)
    assert found.min() > 0
    assert np.median(found) == pytest.approx(1.0, abs=1e-5)
    assert np.std(np.log(found)) == pytest.approx(np.sqrt(np.log(1 + size**2)), rel=1e-4)
    if size < 0.1:
        assert np.std(found) == pytest.approx(size, rel=2e-3)


def test_a_normal_difference_is_a_normal_distribution_cut_off_and_widened_to_its_own_size():
    cut = stats.truncnorm(-NORMAL_CUT, NORMAL_CUT)
    found = Deviation(2.0)
    assert np.allclose(found.at(U), 2.0 * cut.ppf(U) / cut.std(), atol=1e-9)
    assert found.sd == pytest.approx(2.0, rel=1e-3)
    assert np.std(found.at(FINE)) == pytest.approx(2.0, rel=1e-4)


@pytest.mark.parametrize("factor", [True, False])
def test_an_even_deviation_has_the_variance_of_a_rectangle(factor):
    # JCGM 101:2008, 6.4.2.4: variance (b - a)^2 / 12.
    one = Deviation(0.3, factor, even=True)
    assert one.ends == pytest.approx((0.7, 1.3) if factor else (-0.3, 0.3))
    assert np.std(one.at(FINE)) == pytest.approx(0.6 / np.sqrt(12), rel=1e-5)


@pytest.mark.parametrize("even", [True, False])
@pytest.mark.parametrize("factor", [True, False])
def test_ends_cut_a_deviation_off_and_leave_its_shape_between_them(factor, even):
    whole = Deviation(0.4, factor, even)
    low, high = (0.9, 1.2) if factor else (-0.1, 0.2)
    cut = whole.within(low, high).at(FINE)
    inside = whole.at(FINE)
    inside = inside[(inside >= low) & (inside <= high)]
    assert cut.min() >= low
    assert cut.max() <= high
    shares = np.linspace(0.05, 0.95, 19)
    assert np.allclose(np.quantile(cut, shares), np.quantile(inside, shares), atol=1e-4)


def test_without_a_size_nothing_deviates():
    for factor in (True, False):
        assert set(Deviation(0.0, factor).at(U)) == {1.0 if factor else 0.0}


def sums(kind: Deviation, others: list[Deviation], count: int = 100_000) -> np.ndarray:
    """What a plan of tolerances gives for a sum of four independent deviations."""
    rows = Plan("tolerances", 4, count, seed=3).rows(0, count)
    return sum(one.at(rows[:, i]) for i, one in enumerate([kind, *others]))


ROOT = np.sqrt(3.0)


@pytest.mark.parametrize(
    ("deviations", "spread", "end", "within"),
    [
        # JCGM 101:2008, 9.2 (additive model, four inputs; from memory): 9.2.2 normal, u = 2.00, 95 % within 3.92;
        # 9.2.3 rectangular of unit standard deviation, u = 2.00, 95 % within 2 sqrt(3) (2 - (3/5)^(1/4)) = 3.88, which
        # is a closed form; 9.2.4 one of them ten times as wide, u = 10.1, 95 % within 17.0 (where the law of
        # propagation and a normal distribution give 19.9).
        ([Deviation(1.0)] * 4, 2.00, 3.92, 0.04),
        ([Deviation(ROOT, even=True)] * 4, 2.00, 2 * ROOT * (2 - 0.6**0.25), 0.03),
        ([Deviation(10 * ROOT, even=True), *[Deviation(ROOT, even=True)] * 3], 10.1, 17.0, 0.1),
    ],
)
def test_the_sampler_meets_the_examples_of_the_guide(deviations, spread, end, within):
    found = sums(deviations[0], deviations[1:])
    assert np.std(found) == pytest.approx(spread, rel=0.006)
    assert np.quantile(found, 0.975) == pytest.approx(end, abs=within)
    assert np.quantile(found, 0.025) == pytest.approx(-end, abs=within)


def test_choices_are_alike_in_weight_and_every_level_of_a_grid_meets_its_own():
    for count in range(1, 8):
        span = Choices(tuple(range(count)))
        even = span.at((np.arange(count * 100) + 0.5) / (count * 100))
        assert np.array_equal(np.bincount(even), np.full(count, 100))
        assert span.at(np.arange(count) / max(count - 1, 1)).tolist() == list(range(count))


@pytest.mark.parametrize("factor", [True, False])
@pytest.mark.parametrize("even", [True, False])
@pytest.mark.parametrize("ends", [(-math.inf, math.inf), (0.7, 1.1), (-0.2, 0.05), (1.05, 1.5), (0.0, math.inf)])
def test_many_deviations_are_those_of_each_share(factor, even, ends):
    one = Deviation(0.2, factor, even, *ends)
    shares = np.concatenate([np.random.default_rng(4).random(300), [0.0, 0.5, 1.0]])
    assert one.at(shares).tolist() == [one.one(share) for share in shares.tolist()]
    own = np.array([-math.inf, 0.8, 0.95])[np.arange(303) % 3], np.array([math.inf, 1.02, 1.3])[np.arange(303) % 3]
    wanted = [one.one(share, (least, most)) for share, least, most in zip(shares, *own, strict=True)]
    assert one.several(shares, *own).tolist() == wanted
