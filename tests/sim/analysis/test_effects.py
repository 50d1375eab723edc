"""Effects of single inputs: read from a plan that moves one at a time, or from a fitted plane."""

import numpy as np
import pytest

from keyaction.sim.analysis.effects import one_at_a_time, plane_effects

NAN = np.nan
WORDS = np.array(["spruce", "spruce", "spruce", "cedar", "carbon"], dtype=object)


def test_one_at_a_time_gives_the_extremes_of_each_input():
    width = np.array([20.0, 18.0, 30.0, 20.0, 20.0])
    found = one_at_a_time([width, WORDS], [5.0, 4.0, 7.0, 4.5, 6.0])
    first, second = found.effects
    assert found.base == 5.0
    assert (first.low, first.at_low, first.high, first.at_high, first.swing) == (4.0, 18.0, 7.0, 30.0, 3.0)
    assert (second.low, second.at_low, second.high, second.at_high) == (4.5, "cedar", 6.0, "carbon")
    assert np.isnan(found.explained)


def test_the_base_design_counts_as_a_setting():
    found = one_at_a_time([np.array([20.0, 18.0, 30.0])], [5.0, 6.0, 7.0])
    assert (found.effects[0].low, found.effects[0].at_low) == (5.0, 20.0)


def test_an_input_without_a_single_value_in_the_case():
    first = np.array([NAN, 18.0, 30.0, NAN, NAN])
    second = np.array([NAN, NAN, NAN, 1.0, 2.0])
    found = one_at_a_time([first, second], [5.0, 4.0, 7.0, 5.0, 8.0])
    assert (found.effects[0].low, found.effects[0].high) == (4.0, 7.0)
    assert (found.effects[1].low, found.effects[1].high, found.effects[1].at_high) == (5.0, 8.0, 2.0)


def test_failed_settings_are_counted():
    width = np.array([20.0, 18.0, 30.0, 20.0])
    other = np.array([1.0, 1.0, 1.0, 2.0])
    found = one_at_a_time([width, other], [5.0, NAN, 7.0, NAN])
    assert [effect.failed for effect in found.effects] == [1, 1]
    assert (found.effects[1].low, found.effects[1].high) == (5.0, 5.0)
    assert found.used == 2


def test_several_inputs_at_once_are_no_such_plan():
    with pytest.raises(ValueError, match="design 2 differs from the base design in several inputs"):
        one_at_a_time([np.array([1.0, 2.0, 2.0]), np.array([1.0, 1.0, 3.0])], [1.0, 2.0, 3.0])


def test_a_plane_is_found_exactly():
    random = np.random.default_rng(0)
    x, y = random.uniform(2.0, 4.0, 40), random.uniform(0.0, 1.0, 40)
    names = WORDS[random.integers(2, 5, 40)]
    level = np.array([{"spruce": 0.0, "cedar": -3.0, "carbon": 5.0}[name] for name in names])
    found = plane_effects([x, y, names], 10 + 2 * x - 6 * y + level)
    assert found.explained == pytest.approx(1.0)
    assert found.effects[0].swing == pytest.approx(2 * np.ptp(x))
    assert found.effects[1].swing == pytest.approx(6 * np.ptp(y))
    assert (found.effects[1].at_low, found.effects[1].at_high) == (y.max(), y.min())
    assert found.effects[2].swing == pytest.approx(8.0)
    assert (found.effects[2].at_low, found.effects[2].at_high) == ("cedar", "carbon")
    np.testing.assert_allclose(found.base, np.mean(10 + 2 * x - 6 * y + level))
    low = found.base + 2 * (x.min() - x.mean())
    assert found.effects[0].low == pytest.approx(low)


def test_a_plane_says_how_much_it_explains():
    random = np.random.default_rng(0)
    x, noise = random.uniform(0, 1, 4000), random.normal(size=4000)
    found = plane_effects([x], 3 * x + noise)
    assert found.explained == pytest.approx(0.75 / 1.75, abs=0.03)


def test_a_plane_leaves_failed_designs_and_steady_inputs_out():
    x, steady = np.arange(12.0), np.full(12, 4.0)
    y = 2 * x
    y[[0, 5]] = NAN
    found = plane_effects([x, steady], y)
    assert found.used == 10
    assert found.effects[0].swing == pytest.approx(20.0)
    assert found.effects[1].swing == pytest.approx(0.0, abs=1e-12)


def test_too_few_designs_for_a_plane():
    found = plane_effects([np.arange(3.0), np.arange(3.0) ** 2], [1.0, 2.0, 4.0])
    assert np.isnan(found.effects[0].swing)
    assert np.isnan(found.explained)
