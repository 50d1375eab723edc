"""Least squares with bounds, what they leave open, whether what remains is chance: closed forms and planted ranks."""

import math

import numpy as np
import pytest
from scipy import stats

from keyaction.sim.fitting.goodness import goodness
from keyaction.sim.fitting.least import Space, fit
from keyaction.sim.fitting.spread import Interval, at_least, intervals, rank, spread_of

AT = np.arange(1.0, 6.0)


def line(y, space=None, start=(0.0, 0.0)):
    slopes = -np.column_stack([np.ones(5), AT])
    residuals = lambda b: y + slopes @ b  # noqa: E731
    return fit(residuals, [np.array(start)], space or Space.free([1.0, 1.0]), lambda _: slopes), residuals


def test_intervals_of_a_line_are_those_of_students_t():
    y = np.array([1.1, 1.9, 3.2, 3.9, 5.1])
    best, residuals = line(y)
    known = spread_of(best, stated=False)
    ours = intervals(best, known, residuals, None, [0, 1])
    told = stats.linregress(AT, y)
    half = stats.t.ppf(0.975, 3) * np.array([told.intercept_stderr, told.stderr])
    assert best.values == pytest.approx([told.intercept, told.slope], rel=1e-10)
    assert [(one.high - one.low) / 2 for one in ours] == pytest.approx(half, rel=1e-6)
    assert not any(one.profiled for one in ours)


def test_stated_errors_take_the_normal_factor_whatever_remains():
    best, _ = line(np.array([9.0, -5.0, 7.0, 0.0, 3.0]))
    assert spread_of(best, stated=True).half == pytest.approx(1.959964 * np.sqrt([1.1, 0.1]), rel=1e-6)


def test_a_figure_at_its_bound_has_a_one_sided_interval():
    # y = b, b at least 0, five readings of error 1 whose mean is -0.3: the sum of squares rises by 5 b (b + 0.6).
    y = np.full(5, -0.3)
    space = Space(np.array([0.0]), np.array([np.inf]), np.array([1.0]))
    best = fit(lambda b: y - b, [np.array([1.0])], space, lambda _: -np.ones((5, 1)))
    (one,) = intervals(best, spread_of(best, stated=True), lambda b: y - b, None, [0])
    rise = 1.959964**2 / 5
    assert best.values.tolist() == [0.0]  # on the bound, not beside it by a rounding
    assert one.low == 0.0 and one.profiled
    assert one.high == pytest.approx(-0.3 + math.sqrt(0.09 + rise), rel=0.03)


def test_a_bent_sum_of_squares_is_followed():
    # One reading of exp(b) = 1 with error 0.3: ends are ln(1 -+ 0.588), not -+0.588.
    residuals = lambda b: np.array([(np.exp(b[0]) - 1.0) / 0.3])  # noqa: E731
    best = fit(residuals, [np.array([0.2])], Space.free([1.0]), lambda b: np.array([[np.exp(b[0]) / 0.3]]))
    (one,) = intervals(best, spread_of(best, stated=True), residuals, None, [0])
    assert one.profiled
    assert one.low == pytest.approx(math.log(1 - 0.588), rel=0.03)
    assert one.high == pytest.approx(math.log(1 + 0.588), rel=0.03)


def test_the_profile_lets_the_others_follow():
    # b1 exp(-b2 t): each interval, by the profile, is where the other has been fitted anew.
    t = np.linspace(0.0, 3.0, 12)
    y = 2.0 * np.exp(-0.8 * t)
    residuals = lambda b: (b[0] * np.exp(-b[1] * t) - y) / 0.8  # noqa: E731
    best = fit(residuals, [np.array([1.0, 0.3])], Space.free([1.0, 1.0]))
    one = intervals(best, spread_of(best, stated=True), residuals, None, [1])[0]
    assert one.profiled
    for end in (one.low, one.high):
        shape = np.exp(-end * t)
        left = (shape * (shape @ y) / (shape @ shape) - y) / 0.8
        assert left @ left == pytest.approx(1.959964**2, rel=0.06)


def test_a_profile_through_noise_asks_for_no_slopes_again():
    # Presses have noise of 1e-3 of an error: steps below it are not followed, nor the whole fit begun anew.
    t, random = np.linspace(0.0, 3.0, 12), np.random.default_rng(1)
    residuals = lambda b: (b[0] * np.exp(-b[1] * t) - 2.0 * np.exp(-0.8 * t)) / 0.8  # noqa: E731
    best = fit(residuals, [np.array([1.0, 0.3])], Space.free([1.0, 1.0]))
    asked, ahead = [], []

    def noisy(b):
        asked.append(b)
        return residuals(b) + 1e-3 * random.normal(size=12)

    def never(_):
        raise AssertionError("slopes asked for")

    known = spread_of(best, stated=True)
    one = intervals(best, known, noisy, never, [1], ahead.extend)[0]
    exact = intervals(best, known, residuals, None, [1])[0]
    assert one.profiled and len(asked) < 40
    assert (one.low, one.high) == pytest.approx((exact.low, exact.high), rel=0.05)
    assert np.array_equal(ahead, asked[:2])  # told before it asks


def test_what_one_frequency_tells_of_mass_and_stiffness_is_their_difference():
    # A driven mass on a spring answers a frequency w with (k - m w^2) + i c w: m and k only together, rank 2 of 3.
    rows = lambda w: [[-(w**2), 0.0, 1.0], [0.0, w, 0.0]]  # noqa: E731
    assert rank(np.array(rows(3.0)), np.ones(3)) == 2
    assert rank(np.array([*rows(3.0), *rows(5.0)]), np.ones(3)) == 3


def test_coulomb_viscous_and_offset_need_two_speeds():
    rows = lambda v: [[1.0, v, 1.0], [-1.0, -v, 1.0]]  # noqa: E731  both senses at one speed
    assert rank(np.array(rows(0.1)), np.ones(3)) == 2
    assert rank(np.array([*rows(0.1), *rows(0.3)]), np.ones(3)) == 3


def test_a_direction_that_does_not_show_leaves_the_other_known():
    slopes = np.array([[1.0, 1.0, 0.0], [2.0, 2.0, 0.0], [0.0, 0.0, 1.0]])
    best = fit(lambda b: slopes @ b, [np.array([0.5, 0.1, 0.2])], Space.free([1.0] * 3), lambda _: slopes)
    known = spread_of(best, stated=True)
    assert np.isinf(known.deviations[:2]).all() and known.deviations[2] == pytest.approx(1.0)
    assert np.abs(known.directions[0].vector) == pytest.approx([math.sqrt(0.5), math.sqrt(0.5), 0.0], abs=1e-9)


def test_chance_is_believed_and_runs_are_not():
    random = np.random.default_rng(4)
    noise = random.normal(size=80)
    assert goodness(noise, 78, True, noise).good
    wave = noise * 0.3 + np.sin(np.linspace(0, 9, 80))
    assert not goodness(wave, 78, False, wave).good
    assert not goodness(2.0 * noise, 78, True, noise).good


def test_one_sign_throughout_is_the_worst_run_of_all():
    found = goodness(np.full(40, 0.5), 38, True, np.full(40, 0.5))
    assert found.run_odds == 0.0 and not found.good


def test_the_worst_stretch_is_where_it_was_put():
    random = np.random.default_rng(1)
    residuals = random.normal(size=60)
    residuals[20:28] += 4.0
    worst = goodness(residuals, 55, True, residuals).worst
    assert 18 <= worst.first <= 21 and 26 <= worst.last <= 29 and worst.mean > 3.0


def test_too_few_residuals_are_refused():
    with pytest.raises(ValueError, match="1 residuals for 2 unknowns"):
        fit(lambda b: b[:1], [np.zeros(2)], Space.free([1.0, 1.0]), lambda _: np.ones((1, 2)))


def test_an_end_that_a_profile_does_not_find_is_that_of_the_slopes():
    # What is nearly flat at the best is a wall beyond: the true ends are -+1.96, those of the slopes -+2.77.
    wall = lambda b: np.array([b[0] + 1e-3 * b[1], 1e-3 * b[1] * (1.0 + b[1] ** 2)])  # noqa: E731
    best = fit(wall, [np.zeros(2)], Space.free([1.0, 1.0]), lambda _: np.array([[1.0, 1e-3], [0.0, 1e-3]]))
    (one,) = intervals(best, spread_of(best, stated=True), wall, None, [0])
    assert one.low < -1.9 and one.high > 1.9


def test_no_interval_is_narrower_than_another_of_the_same():
    assert at_least(Interval(0.9, 1.1), Interval(0.5, 1.4)) == Interval(0.5, 1.4)
    assert at_least(Interval(0.0, 1.1), Interval(0.5, 1.4)) == Interval(0.0, 1.1)
