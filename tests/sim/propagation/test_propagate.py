"""Propagation against closed forms; the worked examples stand in the published table."""

import math

import numpy as np
import pytest

from keyaction.sim.propagation.inputs import Cyclic, Even, Normal, Read, Vague
from keyaction.sim.propagation.propagate import combined, coverage, freedom, parts, propagate, second_order


def weighted(x):
    return 2.0 * x[0] - 3.0 * x[1]


@pytest.mark.parametrize(
    "one", [Normal(1.0, 0.2), Even(0.0, 3.0), Vague(-1.0, 1.0, 0.4), Cyclic(-2.0, 2.0), Read(5.0, 0.1, 12.0)]
)
def test_draws_have_the_middle_and_the_spread_that_are_told(one):
    drawn = one.draw(np.random.default_rng(1), 200_000)
    assert np.mean(drawn) == pytest.approx(one.middle, abs=5 * one.sd / math.sqrt(200_000))
    assert np.std(drawn) == pytest.approx(one.sd, rel=0.01)


def test_parts_of_a_straight_model_add_up_in_squares():
    found = parts(weighted, np.array([1.0, 1.0]), np.array([0.3, 0.4]))
    assert found.tolist() == pytest.approx([0.6, -1.2])
    assert combined(found) == pytest.approx(math.hypot(0.6, 1.2))
    drawn = propagate(weighted, (Normal(1.0, 0.3), Normal(1.0, 0.4)), 200_000)
    assert drawn.sd == pytest.approx(combined(found), rel=0.01)


def test_second_order_of_a_product_is_exact():
    # Var(xy) of independent normals: (mx sy)² + (my sx)² + (sx sy)².
    def product(x):
        return x[0] * x[1]

    wanted = math.sqrt((2 * 0.4) ** 2 + (3 * 0.3) ** 2 + (0.3 * 0.4) ** 2)
    assert second_order(product, np.array([2.0, 3.0]), np.array([0.3, 0.4])) == pytest.approx(wanted, rel=1e-9)


def test_the_shortest_interval_of_a_lopsided_figure_leaves_out_one_side():
    drawn = propagate(lambda x: np.exp(x[0]), (Normal(0.0, 1.0),), 200_000)
    low, high = drawn.shortest(0.9)
    even = drawn.symmetric(0.9)
    assert high - low < even[1] - even[0] and low < even[0]
    assert np.mean((drawn.values >= low) & (drawn.values <= high)) == pytest.approx(0.9, abs=1e-4)


def test_degrees_of_freedom():
    assert freedom(np.array([3.0, 4.0]), np.array([np.inf, np.inf])) == math.inf
    assert freedom(np.array([1.0, 1.0]), np.array([10.0, 10.0])) == pytest.approx(20.0)
    assert coverage(0.95, math.inf) == pytest.approx(1.959964, abs=1e-5)
    assert coverage(0.95, 10.0) == pytest.approx(2.228139, abs=1e-5)  # tables of Student's t
