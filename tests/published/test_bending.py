"""Bars that bend: published closed forms, and each against a row of finite elements."""

import numpy as np
import pytest
from beams import deflections, pulled_board

from keyaction.models.formulas.bending import FORM, between, cantilever, overhang, pressed_evenly

BENDING, SHEARING = 12.0, 900.0
STIFF = float("inf")


def test_cantilever():
    # Deflection at the end P L^3/3EI (Gere and Timoshenko, Mechanics of Materials, Table G-1; from memory).
    assert cantilever(0.3).give(BENDING, STIFF) == pytest.approx(0.3**3 / (3 * BENDING), rel=1e-12)
    # Wood Handbook, FPL-GTR-190, 2010, Table 9-1 (from memory): k_b = 1/3, k_s = 1 on P L / (G A 5/6).
    whole = 0.3**3 / (3 * BENDING) + 0.3 / SHEARING
    assert cantilever(0.3).give(BENDING, SHEARING) == pytest.approx(whole, rel=1e-12)
    assert deflections([0.0, 0.3], BENDING, SHEARING, (0,), {1: 1.0}, (0,))[1] == pytest.approx(whole, rel=1e-9)


def test_two_supports_with_the_force_between():
    # P a^2 b^2 / 3EIL (Gere and Timoshenko, Table G-2, case 5 at the load; from memory); in the middle k_b = 1/48,
    # k_s = 1/4 (Wood Handbook, Table 9-1; from memory).
    assert between(0.1, 0.3).give(BENDING, STIFF) == pytest.approx((0.1 * 0.3) ** 2 / (3 * BENDING * 0.4), rel=1e-12)
    middle = between(0.2, 0.2).give(BENDING, SHEARING)
    assert middle == pytest.approx(0.4**3 / (48 * BENDING) + 0.4 / (4 * SHEARING), rel=1e-12)
    for a, b in ((0.1, 0.3), (0.35, 0.05)):
        by_elements = deflections([0.0, a, a + b], BENDING, SHEARING, (0, 2), {1: 1.0})[1]
        assert between(a, b).give(BENDING, SHEARING) == pytest.approx(by_elements, rel=1e-9)


def test_overhang():
    # P c^2 (L + c)/3EI at the end of the overhang (standard beam tables; from memory).
    assert overhang(0.15, 0.23).give(BENDING, STIFF) == pytest.approx(0.15**2 * 0.38 / (3 * BENDING), rel=1e-12)
    for c, span in ((0.15, 0.23), (0.02, 0.4)):
        by_elements = deflections([0.0, span, span + c], BENDING, SHEARING, (0, 1), {2: 1.0})[2]
        assert overhang(c, span).give(BENDING, SHEARING) == pytest.approx(by_elements, rel=1e-9)


def test_an_overhang_is_two_cantilevers():
    # Over a knife edge either side bends by itself; the far side's way comes by the ratio of the arms, twice.
    a, b = 0.23, 0.15
    both = cantilever(b).give(BENDING, SHEARING) + (b / a) ** 2 * cantilever(a).give(BENDING, SHEARING)
    assert overhang(b, a).give(BENDING, SHEARING) == pytest.approx(both, rel=1e-12)


@pytest.mark.parametrize("share", [0.05, 0.3, 0.5, 0.8, 1.0])
def test_a_board_pulled_against_an_even_pressure(share):
    found = pressed_evenly(share * 0.2, 0.2)
    assert found.give(BENDING, SHEARING) == pytest.approx(pulled_board(0.2, share * 0.2, BENDING, SHEARING), rel=2e-4)


def test_a_board_pulled_at_its_end():
    # M = P L (s - s^2), so the sum of M^2 is P^2 L^3/30: twice the energy of a bar under its even load's half.
    assert pressed_evenly(0.2, 0.2).moment == pytest.approx(0.2**3 / 30, rel=1e-12)


@pytest.mark.parametrize(("shape", "exact"), [("rectangle", 6 / 5), ("round", 10 / 9)])
def test_form_factors_of_shear(shape, exact):
    # A / I^2 times the sum of (Q/b)^2 over the section (Gere and Timoshenko, ch. 9: f_s = 6/5 and 10/9; from memory).
    y = np.linspace(-1.0, 1.0, 200_001)
    breadth = np.ones_like(y) if shape == "rectangle" else 2 * np.sqrt(1 - y**2)
    first = np.zeros_like(y)
    first[1:] = np.cumsum((breadth * y)[1:] + (breadth * y)[:-1]) / 2 * (y[1] - y[0])
    area, second = np.trapezoid(breadth, y), np.trapezoid(breadth * y**2, y)
    inside = breadth > 1e-6
    form = area / second**2 * np.trapezoid(np.where(inside, first**2 / np.where(inside, breadth, 1.0), 0.0), y)
    assert form == pytest.approx(exact, rel=1e-3)
    assert FORM[shape] == exact
