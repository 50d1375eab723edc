"""Sobol' indices and Morris screening against closed forms, against other libraries, and with designs missing.

T. Ishigami and T. Homma, "An importance quantification technique in uncertainty analysis for computer models",
Proceedings of the First International Symposium on Uncertainty Modeling and Analysis (1990) 398-403;
I. M. Sobol', "Sensitivity estimates for nonlinear mathematical models", Mathematical Modelling and Computational
Experiment 1 (1993) 407-414; A. Saltelli et al., Computer Physics Communications 181 (2010) 259-270.
"""

import numpy as np
import pytest
from made_up_study import morris_points, sobol_points
from scipy import stats

from keyaction.sim.analysis.indices import doubts, elementary_effects, morris_screening, sobol_indices, sobol_rows

PI = np.pi
A, B = 7.0, 0.1
G = np.array([0.0, 1.0, 4.5, 9.0])


def ishigami(unit):
    x = 2 * PI * unit - PI
    return np.sin(x[..., 0]) + A * np.sin(x[..., 1]) ** 2 + B * x[..., 2] ** 4 * np.sin(x[..., 0])


def ishigami_shares():
    """First order, total and the one interaction there is."""
    first = np.array([(1 + B * PI**4 / 5) ** 2 / 2, A**2 / 8, 0.0])
    both = 8 * B**2 * PI**8 / 225
    variance = first.sum() + both
    total = first + np.array([both, 0.0, both])
    return first / variance, total / variance, both / variance, variance


def g_function(unit):
    return np.prod((np.abs(4 * unit - 2) + G) / (1 + G), axis=-1)


def g_shares():
    parts = 1 / (3 * (1 + G) ** 2)
    variance = np.prod(1 + parts) - 1
    total = parts * np.prod(1 + parts) / (1 + parts)
    return parts / variance, total / variance, np.outer(parts, parts) / variance, variance


def at_random(n, k, seed):
    """Base points drawn independently, in the order of the plan."""
    a, b = np.random.default_rng(seed).random((2, n, k))
    one = np.eye(k, dtype=bool)
    return np.stack([a, *(np.where(one[i], b, a) for i in range(k)), b], axis=1).reshape(-1, k)


# -- closed forms ------------------------------------------------------------------------------------------
def test_ishigami_function_has_its_known_indices():
    first, total, both, variance = ishigami_shares()
    found = sobol_indices(ishigami(sobol_points(2**14, 3, second_order=True)), 3, second_order=True)
    np.testing.assert_allclose(found.first.value, first, atol=2e-3)
    np.testing.assert_allclose(found.total.value, total, atol=2e-3)
    assert found.second.value[0, 2] == pytest.approx(both, abs=5e-3)
    assert found.second.value[0, 1] == pytest.approx(0.0, abs=5e-3)
    assert found.second.value[1, 2] == pytest.approx(0.0, abs=5e-3)
    assert np.isnan(found.second.value[2, 0])
    assert found.variance == pytest.approx(variance, rel=2e-3)
    assert (found.used, found.dropped) == (2**14, 0)


def test_g_function_has_its_known_indices():
    first, total, second, variance = g_shares()
    found = sobol_indices(g_function(sobol_points(2**14, 4, second_order=True)), 4, second_order=True)
    np.testing.assert_allclose(found.first.value, first, atol=2e-3)
    np.testing.assert_allclose(found.total.value, total, atol=2e-3)
    upper = np.triu_indices(4, 1)
    np.testing.assert_allclose(found.second.value[upper], second[upper], atol=5e-3)
    assert found.variance == pytest.approx(variance, rel=2e-3)


def test_the_error_falls_with_more_base_points():
    first, total, _, _ = g_shares()
    errors = []
    for n in (2**6, 2**10, 2**14):
        found = [sobol_indices(g_function(sobol_points(n, 4, seed=seed)), 4, resamples=2) for seed in range(5)]
        off = [np.concatenate([one.first.value - first, one.total.value - total]) for one in found]
        errors.append(np.sqrt(np.mean(np.square(off))))
    assert errors[1] < errors[0] / 4
    assert errors[2] < errors[1] / 4


def test_an_additive_function_has_first_equal_to_total_orders():
    weights = np.array([3.0, 2.0, 1.0])
    found = sobol_indices(sobol_points(2**12, 3) @ weights + 100.0, 3)
    np.testing.assert_allclose(found.total.value, weights**2 / np.sum(weights**2), atol=1e-3)
    np.testing.assert_allclose(found.first.value, found.total.value, atol=1e-3)


def test_units_and_offsets_do_not_matter():
    points = sobol_points(256, 3)
    one = sobol_indices(ishigami(points), 3)
    other = sobol_indices(1e-6 * ishigami(points) + 1.0, 3)
    np.testing.assert_allclose(other.first.value, one.first.value, atol=1e-8)
    np.testing.assert_allclose(other.total.value, one.total.value, atol=1e-8)


# -- other libraries ---------------------------------------------------------------------------------------
@pytest.mark.parametrize("second_order", [False, True])
def test_salib_gives_the_same_indices(second_order):
    sobol = pytest.importorskip("SALib.analyze.sobol")
    values = g_function(sobol_points(512, 4, second_order, seed=3))
    problem = {"num_vars": 4, "names": list("abcd"), "bounds": [[0.0, 1.0]] * 4}
    theirs = sobol.analyze(problem, values, calc_second_order=second_order, seed=1)
    ours = sobol_indices(values, 4, second_order)
    np.testing.assert_allclose(ours.first.value, theirs["S1"], rtol=1e-9)
    np.testing.assert_allclose(ours.total.value, theirs["ST"], rtol=1e-9)
    half = (ours.total.high - ours.total.low) / 2
    np.testing.assert_allclose(half, theirs["ST_conf"], rtol=0.4)
    if second_order:
        np.testing.assert_allclose(ours.second.value, theirs["S2"], rtol=1e-7, atol=1e-12)


def test_scipy_gives_the_same_indices():
    k, n = 4, 1024
    rows = g_function(sobol_points(n, k)).reshape(n, k + 2)
    functions = {"f_A": rows[:, 0][None], "f_B": rows[:, -1][None], "f_AB": rows[:, 1:-1].T[:, None]}
    theirs = stats.sobol_indices(func=functions, n=n)
    ours = sobol_indices(rows.ravel(), k)
    np.testing.assert_allclose(ours.total.value, theirs.total_order.ravel(), rtol=1e-9)
    np.testing.assert_allclose(ours.first.value, theirs.first_order.ravel(), atol=5e-3)  # it centres on another mean


def test_salib_gives_the_same_screening():
    morris = pytest.importorskip("SALib.analyze.morris")
    points = morris_points(40, 4, seed=2)
    problem = {"num_vars": 4, "names": list("abcd"), "bounds": [[0.0, 1.0]] * 4}
    theirs = morris.analyze(problem, points, g_function(points), num_levels=4, seed=1)
    ours = morris_screening(g_function(points), points)
    np.testing.assert_allclose(ours.mu.value, np.asarray(theirs["mu"]), rtol=1e-9, atol=1e-12)
    np.testing.assert_allclose(ours.mu_star.value, np.asarray(theirs["mu_star"]), rtol=1e-9)
    np.testing.assert_allclose(ours.sigma.value, theirs["sigma"], rtol=1e-9)


# -- confidence --------------------------------------------------------------------------------------------
def test_the_interval_holds_the_truth_about_as_often_as_it_says():
    first, total, _, _ = g_shares()
    inside = []
    for seed in range(200):
        found = sobol_indices(g_function(at_random(200, 4, seed)), 4, resamples=200, seed=seed)
        pairs = ((found.first, first), (found.total, total))
        inside.append(np.concatenate([(one.low <= truth) & (truth <= one.high) for one, truth in pairs]))
    held = np.mean(inside, axis=0)
    assert np.all(held > 0.87), held
    assert np.all(held <= 1.0)
    assert np.mean(held) < 0.99


def test_a_higher_confidence_is_a_wider_interval():
    values = ishigami(sobol_points(256, 3))
    wide, narrow = (sobol_indices(values, 3, confidence=share).total for share in (0.99, 0.5))
    assert np.all(wide.low < narrow.low)
    assert np.all(wide.high > narrow.high)


def test_the_same_seed_gives_the_same_interval():
    values = ishigami(sobol_points(64, 3))
    one, other, third = (sobol_indices(values, 3, seed=seed).first.low for seed in (4, 4, 5))
    np.testing.assert_array_equal(one, other)
    assert np.any(one != third)


# -- designs missing ---------------------------------------------------------------------------------------
@pytest.mark.parametrize("second_order", [False, True])
def test_a_base_point_with_a_failed_run_is_left_out_and_counted(second_order):
    rows = sobol_rows(3, second_order)
    values = ishigami(sobol_points(256, 3, second_order))
    kept = np.ones(256, dtype=bool)
    kept[[3, 77, 200]] = False
    holed = values.copy()
    holed[[3 * rows, 77 * rows + 2, 200 * rows + rows - 1]] = [np.nan, np.inf, np.nan]
    found = sobol_indices(holed, 3, second_order)
    whole = sobol_indices(values.reshape(256, rows)[kept].ravel(), 3, second_order)
    assert (found.used, found.dropped) == (253, 3)
    np.testing.assert_array_equal(found.first.value, whole.first.value)
    np.testing.assert_array_equal(found.total.high, whole.total.high)


def test_five_per_cent_of_failed_designs_leave_the_indices_about_as_they_were():
    first, total, _, _ = ishigami_shares()
    values = ishigami(sobol_points(2**13, 3))
    values[np.random.default_rng(1).random(len(values)) < 0.05] = np.nan
    found = sobol_indices(values, 3)
    assert found.dropped == 2**13 - found.used
    assert found.dropped == pytest.approx((1 - 0.95**5) * 2**13, rel=0.1)
    np.testing.assert_allclose(found.first.value, first, atol=0.03)
    np.testing.assert_allclose(found.total.value, total, atol=0.03)


@pytest.mark.parametrize("steady", [0.0, 9.8, 9.8e-30])
def test_a_quantity_that_does_not_vary_has_no_indices(steady):
    found = sobol_indices(np.full(5 * 64, steady), 3)
    assert found.variance == 0.0
    assert np.all(np.isnan([found.first.value, found.total.value, found.first.low, found.total.high]))


def test_rounding_is_no_variation():
    values = 0.1 + 1e-17 * np.random.default_rng(0).integers(-1, 2, 5 * 64)
    assert np.all(np.isnan(sobol_indices(values, 3).total.value))


@pytest.mark.parametrize("second_order", [False, True])
def test_too_few_whole_base_points_have_no_indices(second_order):
    values = np.full(sobol_rows(3, second_order) * 4, np.nan)
    values[: sobol_rows(3, second_order)] = 1.0
    found = sobol_indices(values, 3, second_order)
    assert (found.used, found.dropped) == (1, 3)
    assert np.isnan(found.variance)
    assert np.all(np.isnan(found.total.value))
    assert (found.second is not None) is second_order


@pytest.mark.parametrize(("count", "inputs"), [(11, 3), (5, 0)])
def test_rows_that_are_no_whole_base_points_are_refused(count, inputs):
    with pytest.raises(ValueError, match=f"{count} values are no whole number of base points"):
        sobol_indices(np.arange(float(count)), inputs)


# -- what speaks against believing them --------------------------------------------------------------------
NAMES = ("width", "spring", "wind")


def test_nothing_is_said_of_many_whole_base_points():
    assert doubts(sobol_indices(ishigami(sobol_points(2**12, 3)), 3), NAMES) == []


def test_few_base_points_and_what_only_chance_makes_are_said():
    # Sum of the inputs: first order and total are equal in truth, 1/3 each, so that one above the other is chance.
    five = sobol_indices(at_random(5, 3, seed=1).sum(axis=1), 3)
    above = [
        name
        for name, first, total in zip(NAMES, five.first.value, five.total.value, strict=True)
        if first > total + 0.02
    ]
    told = doubts(five, NAMES)
    assert above and len(told) == 2
    assert told[0].startswith("only 5 base points")
    assert told[1] == f"first order above total, which only chance makes: {', '.join(above)}"


def test_wide_intervals_are_said():
    found = sobol_indices(ishigami(sobol_points(64, 3)), 3)
    widest = max(float(np.max(part.high - part.low)) for part in (found.first, found.total))
    assert widest > 0.2
    assert f"intervals are up to {widest:.2f} wide: more base points before inputs are ranked" in doubts(found, NAMES)


def test_dropped_base_points_are_said_with_their_share():
    values = ishigami(sobol_points(2**12, 3))
    values[: 5 * 2**10 : 5] = np.nan  # the first row of every fourth base point of all
    (told,) = doubts(sobol_indices(values, 3), NAMES)
    assert told.startswith("1024 of 4096 base points (25%) are left out")


# -- Morris ------------------------------------------------------------------------------------------------
def test_screening_of_a_linear_function_is_exact():
    points = morris_points(12, 4)
    weights = np.array([3.0, -2.0, 0.5, 0.0])
    found = morris_screening(points @ weights + 7.0, points)
    np.testing.assert_allclose(found.mu.value, weights, atol=1e-12)
    np.testing.assert_allclose(found.mu_star.value, np.abs(weights), atol=1e-12)
    np.testing.assert_allclose(found.sigma.value, 0.0, atol=1e-12)
    np.testing.assert_allclose(found.mu_star.low, found.mu_star.high, atol=1e-12)
    np.testing.assert_array_equal(found.effects, 12)
    assert found.dropped == 0


def test_an_interaction_shows_in_the_spread():
    points = morris_points(60, 3)
    found = morris_screening(points[:, 0] * points[:, 1] + points[:, 2], points)
    assert np.all(found.sigma.value[:2] > 0.2)
    assert found.sigma.value[2] < 1e-12


def test_an_effect_that_turns_round_cancels_in_mu_but_not_in_mu_star():
    points = morris_points(200, 2, levels=4)
    found = morris_screening(np.abs(points[:, 0] - 0.5) + points[:, 1], points)
    assert abs(found.mu.value[0]) < 0.1
    assert found.mu_star.value[1] == pytest.approx(1.0)


def test_a_failed_run_spoils_only_the_effects_at_its_sides():
    points = morris_points(10, 3)
    values = points @ np.array([1.0, 2.0, 4.0])
    values[[0, 5, 39]] = np.nan  # an end of the first and last trajectory, the inside of the second
    effects = elementary_effects(values, points)
    assert np.isnan(effects).sum(axis=1).tolist() == [1, 2, *[0] * 7, 1]
    found = morris_screening(values, points)
    assert found.dropped == 4
    assert found.effects.sum() == 26
    np.testing.assert_allclose(found.mu.value, [1.0, 2.0, 4.0])


def test_nothing_left_is_no_screening():
    points = morris_points(3, 2)
    found = morris_screening(np.full(9, np.nan), points)
    assert np.all(np.isnan([found.mu.value, found.mu_star.high, found.sigma.value]))
    assert found.dropped == 6
    none = morris_screening(np.empty(0), np.empty((0, 2)))
    assert np.all(np.isnan(none.mu.value))


def test_one_trajectory_has_no_spread():
    points = morris_points(1, 3)
    found = morris_screening(points @ np.array([1.0, 2.0, 4.0]), points)
    np.testing.assert_allclose(found.mu.value, [1.0, 2.0, 4.0])
    assert np.all(np.isnan(found.sigma.value))


def test_points_that_are_no_trajectories_are_refused():
    points = morris_points(4, 3)
    wrong = points.copy()
    wrong[6] = wrong[5]
    with pytest.raises(ValueError, match="trajectory 1"):
        elementary_effects(np.zeros(16), wrong)
    with pytest.raises(ValueError, match="no whole number of trajectories"):
        elementary_effects(np.zeros(15), points[:15])
