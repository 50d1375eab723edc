"""Steady supply of a box, against a solver of the drops and limits known by hand."""

import math

import pytest
from scipy.optimize import brentq

from keyaction.models.formulas.supply import effective_trunk, in_series, smallest_trunk, steady_box, steady_flow

RHO = 1.2


def drops(flow, fall, trunk, out):
    """What reservoir, trunk and outlet take of the pressure at a flow."""
    return fall * flow + RHO / 2 * (flow / trunk) ** 2, RHO / 2 * (flow / out) ** 2


@pytest.mark.parametrize("fall", [0.0, 500.0, 2e4])
@pytest.mark.parametrize("trunk", [1e-4, 3e-3, 0.05])
def test_the_drops_add_up_to_the_reservoir(fall, trunk):
    out, whole = 9e-4, 700.0
    flow = brentq(lambda q: sum(drops(q, fall, trunk, out)) - whole, 0.0, 1.0, xtol=1e-15)
    assert steady_flow(whole, fall, trunk, out, RHO) == pytest.approx(flow, rel=1e-9)
    assert steady_box(whole, fall, trunk, out, RHO) == pytest.approx(drops(flow, fall, trunk, out)[1], rel=1e-8)


def test_two_equal_orifices_halve_the_pressure_and_a_trunk_twice_as_wide_leaves_four_fifths():
    assert steady_box(600.0, 0.0, 1e-3, 1e-3, RHO) == pytest.approx(300.0)
    assert steady_box(600.0, 0.0, 2e-3, 1e-3, RHO) == pytest.approx(480.0)


def test_what_cannot_move_does_not():
    assert steady_box(686.4655, 0.0, math.inf, 1e-3, RHO) == 686.4655  # to the last digit
    assert steady_box(686.4655, 300.0, 1e-3, 0.0, RHO) == 686.4655
    assert steady_box(0.0, 300.0, 1e-3, 1e-3, RHO) == 0.0


def test_a_fall_alone():
    # p = p_r - f A sqrt(2 p / rho): with x = sqrt(p), x^2 + b x - p_r = 0.
    b = 1e4 * 1e-3 * math.sqrt(2 / RHO)
    x = (-b + math.sqrt(b * b + 4 * 700.0)) / 2
    assert steady_box(700.0, 1e4, math.inf, 1e-3, RHO) == pytest.approx(x * x, rel=1e-12)


def test_orifices_in_series():
    assert in_series((3.0, 4.0)) == pytest.approx(2.4)
    assert in_series((3.0, math.inf)) == pytest.approx(3.0)
    assert in_series((3.0, 0.0)) == 0.0
    assert in_series(()) == math.inf
    assert effective_trunk(0.01, 4.0) == pytest.approx(0.005)
    assert math.isinf(effective_trunk(0.01, 0.0))


@pytest.mark.parametrize("fall", [0.0, 800.0])
def test_the_smallest_trunk_leaves_just_that_share(fall):
    area = smallest_trunk(700.0, fall, 2.5, 1e-3, RHO, 0.93)
    assert steady_box(700.0, fall, effective_trunk(area, 2.5), 1e-3, RHO) == pytest.approx(0.93 * 700.0, rel=1e-10)


def test_no_trunk_helps_a_reservoir_that_falls_too_far_and_nothing_needs_none():
    assert math.isnan(smallest_trunk(700.0, 1e5, 1.5, 1e-3, RHO, 0.9))
    assert smallest_trunk(700.0, 0.0, 1.5, 0.0, RHO, 0.9) == 0.0
    assert smallest_trunk(700.0, 0.0, 0.0, 1e-3, RHO, 0.9) == 0.0
