"""Response surfaces: exact where they must be, honest about their error where they cannot."""

import numpy as np
import pytest
from scipy.stats import qmc

from keyaction.sim.analysis.surface import NoSurface, fit_surface

UNIT = qmc.LatinHypercube(2, seed=1).random(60)
X, Y = 0.018 + 0.012 * UNIT[:, 0], 600 + 300 * UNIT[:, 1]
GRID = np.meshgrid(np.linspace(0.019, 0.029, 7), np.linspace(620, 880, 7))


def quadratic(x, y):
    return 3 + 2e2 * x - 1e-3 * y + 5e3 * x**2 - 0.4 * x * y + 2e-6 * y**2


def wavy(x, y):
    return np.sin(400 * x) + np.cos(y / 60)


def test_a_quadratic_is_met_exactly_through_all_runs():
    found = fit_surface(X, Y, quadratic(X, Y))
    assert found.method == "thin-plate spline through all designs"
    np.testing.assert_allclose(found(*GRID), quadratic(*GRID), rtol=1e-9)
    assert found.error < 1e-9 * np.std(quadratic(X, Y))
    assert found.explained == pytest.approx(1.0)
    assert (found.used, found.dropped) == (60, 0)


def test_a_quadratic_is_met_exactly_beside_other_inputs():
    random = np.random.default_rng(3)
    third, material = random.random(60), np.array(["a", "b", "c"], dtype=object)[random.integers(3, size=60)]
    own = 7 * third - 2 * third**2 + np.array([{"a": 0.0, "b": 5.0, "c": -1.0}[name] for name in material])
    found = fit_surface(X, Y, quadratic(X, Y) + own, [third, material])
    assert found.method == "quadratic by least squares"
    np.testing.assert_allclose(found(*GRID), quadratic(*GRID) + np.mean(own), rtol=1e-9)
    assert found.explained == pytest.approx(1.0)


def test_the_lowest_degree_that_does_is_taken():
    third = np.random.default_rng(3).random(60)
    assert fit_surface(X, Y, 2 * X + Y, [third]).method == "plane by least squares"
    assert fit_surface(X, Y, (X / 0.02) ** 3 + Y, [third]).method == "cubic by least squares"


def test_the_error_is_that_on_designs_not_seen():
    seen, fresh = (qmc.LatinHypercube(2, seed=seed).random(count) for seed, count in ((8, 400), (9, 4000)))
    x, y = 0.018 + 0.012 * seen[:, 0], 600 + 300 * seen[:, 1]
    found = fit_surface(x, y, wavy(x, y), [np.random.default_rng(3).random(400)])
    assert found.explained == pytest.approx(1 - found.error**2 / np.var(wavy(x, y)))
    x, y = 0.018 + 0.012 * fresh[:, 0], 600 + 300 * fresh[:, 1]
    assert found.error == pytest.approx(np.sqrt(np.mean((found(x, y) - wavy(x, y)) ** 2)), rel=0.15)


def test_a_spline_goes_through_its_designs_and_errs_less_with_more_of_them():
    errors = []
    for count in (30, 120, 480):
        unit = qmc.LatinHypercube(2, seed=2).random(count)
        x, y = 0.018 + 0.012 * unit[:, 0], 600 + 300 * unit[:, 1]
        found = fit_surface(x, y, wavy(x, y))
        np.testing.assert_allclose(found(x, y), wavy(x, y), atol=1e-6)
        errors.append(found.error)
    assert errors[1] < errors[0] / 2
    assert errors[2] < errors[1] / 2


def test_noise_is_not_explained():
    found = fit_surface(X, Y, np.random.default_rng(5).normal(size=60), [np.random.default_rng(3).random(60)])
    assert found.method == "plane by least squares"
    assert found.explained < 0.2


def test_designs_at_the_same_places_are_fitted_by_least_squares():
    x, y = np.tile(X, 2), np.tile(Y, 2)
    z = quadratic(x, y)
    found = fit_surface(x, y, z)
    assert found.method == "quadratic by least squares"
    np.testing.assert_allclose(found(*GRID), quadratic(*GRID), rtol=1e-9)


def test_a_grid_of_two_levels_makes_a_plane():
    x, y = (one.ravel() for one in np.meshgrid([1.0, 2.0], [10.0, 20.0]))
    x, y = np.tile(x, 3), np.tile(y, 3)
    found = fit_surface(x, y, x + y, [np.repeat([0.0, 1.0, 2.0], 4)])
    assert found.method == "plane by least squares"
    assert float(found(1.5, 15.0)) == pytest.approx(16.5)


def test_failed_designs_are_left_out_and_counted():
    z = quadratic(X, Y)
    z[[4, 9]] = np.nan
    found = fit_surface(X, Y, z)
    assert (found.used, found.dropped) == (58, 2)
    np.testing.assert_allclose(found(*GRID), quadratic(*GRID), rtol=1e-9)


def test_a_quantity_that_does_not_vary_is_flat():
    found = fit_surface(X, Y, np.full(60, 9.8), [np.random.default_rng(3).random(60)])
    assert np.isnan(found.explained)
    np.testing.assert_allclose(found(*GRID), 9.8)


def test_what_cannot_be_fitted_says_why():
    with pytest.raises(NoSurface, match="5 designs with a value are too few for a surface; 8 are needed"):
        fit_surface(X[:5], Y[:5], X[:5])
    with pytest.raises(NoSurface, match="does not vary"):
        fit_surface(X, np.full(60, 3.0), X)
    with pytest.raises(NoSurface, match="lie too regularly"):
        fit_surface(X, 2 * X, X, [Y])
