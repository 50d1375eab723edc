"""A shaft's sag against published closed forms and a row of finite elements; its twist against a train's roller."""

import math

import numpy as np
import pytest
from beams import deflections

from keyaction.models.formulas.bending import between
from keyaction.models.instrument.shaft import lost_by_twist, sag, twist

BENDING, SHEARING = 12.0, 900.0


def test_two_like_pulls():
    # P a (3 L^2 - 4 a^2)/24EI in the middle, P a^2 (3 L - 4 a)/6EI at the pulls (Gere and Timoshenko, Mechanics of
    # Materials, Appendix G, two equal loads; from memory).
    a, length, pull = 0.015, 1.2, 3.0
    span = length + 2 * a
    found = sag(pull, pull, length, a, BENDING)
    assert found.most == pytest.approx(pull * a * (3 * span**2 - 4 * a**2) / (24 * BENDING), rel=1e-9)
    assert found.at == pytest.approx(span / 2, rel=1e-6)
    assert found.key == pytest.approx(pull * a**2 * (3 * span - 4 * a) / (6 * BENDING), rel=1e-9)
    assert found.pallet == pytest.approx(found.key, rel=1e-9)


def test_one_pull():
    # P b (L^2 - b^2)^(3/2)/(9 sqrt 3 L E I), sqrt((L^2 - b^2)/3) from the far bearing (same table; from memory).
    a, length = 0.1, 0.7
    span = length + 2 * a
    found = sag(2.0, 0.0, length, a, BENDING)
    assert found.most == pytest.approx(
        2.0 * a * (span**2 - a**2) ** 1.5 / (9 * math.sqrt(3) * span * BENDING), rel=1e-9
    )
    assert span - found.at == pytest.approx(math.sqrt((span**2 - a**2) / 3), rel=1e-6)
    for shearing in (math.inf, SHEARING):
        give = between(a, span - a).give(BENDING, shearing)
        assert sag(2.0, 0.0, length, a, BENDING, shearing).key == pytest.approx(2.0 * give, rel=1e-9)


def test_its_own_weight():
    # 5 w L^4/384EI in the middle (same table; from memory), and w L^2/8 of moment for the shear.
    found = sag(0.0, 0.0, 1.0, 0.02, BENDING, weight=1.7)
    assert found.most == pytest.approx(5 * 1.7 * 1.04**4 / (384 * BENDING), rel=1e-9)
    sheared = sag(0.0, 0.0, 1.0, 0.02, BENDING, SHEARING, weight=1.7)
    assert sheared.most - found.most == pytest.approx(1.7 * 1.04**2 / 8 / SHEARING, rel=1e-9)


@pytest.mark.parametrize(("first", "second"), [(3.0, 3.0), (3.0, -3.0), (2.0, -1.0), (0.0, 4.0)])
def test_against_a_row_of_elements(first, second):
    a, length = 0.03, 0.8
    places = np.unique(np.concatenate([np.linspace(0, length + 2 * a, 431), [a, a + length]]))
    k, p = (int(np.argmin(abs(places - at))) for at in (a, a + length))
    by_elements = deflections(list(places), BENDING, SHEARING, (0, len(places) - 1), {k: first, p: second})
    found = sag(first, second, length, a, BENDING, SHEARING)
    assert (found.key, found.pallet) == pytest.approx((by_elements[k], by_elements[p]), rel=1e-6)
    assert found.most == pytest.approx(float(np.max(np.abs(by_elements))), rel=1e-3)
    assert found.most >= max(abs(found.key), abs(found.pallet))


def test_pulls_against_each_other_leave_the_middle_where_it_is():
    found = sag(2.0, -2.0, 0.9, 0.02, BENDING)
    assert found.key == pytest.approx(-found.pallet, rel=1e-9)
    assert found.most < sag(2.0, 2.0, 0.9, 0.02, BENDING).most


def test_arms_beside_their_bearings_do_not_bend_it():
    assert sag(5.0, 3.0, 0.9, 0.0, BENDING).most == pytest.approx(0.0, abs=1e-15)


@pytest.mark.parametrize("sizes", [(0.0, 0.01, 1.0), (0.5, -0.01, 1.0), (0.5, 0.01, 0.0), (math.nan, 0.01, 1.0)])
def test_what_is_no_shaft(sizes):
    with pytest.raises(ValueError, match="above 0"):
        sag(1.0, 1.0, *sizes)


def test_twist():
    # 8 mm of steel, 1 m (Timoshenko and Goodier, Theory of Elasticity, 3rd ed., 1970, ch. 10; from memory): T L/G J.
    torsion = math.pi * 0.008**4 / 32
    assert twist(0.1, 79e9, torsion, 1.0) == pytest.approx(0.1 / (79e9 * torsion), rel=1e-12)
    assert lost_by_twist(2.0, 0.05, 79e9, torsion, 1.0) == pytest.approx(0.157e-3, abs=0.0005e-3)


def test_twist_is_that_of_the_roller_of_a_train(make_train):
    roller = make_train(**{"roller.length": "1 m"}).part("roller").values
    stiffness = roller.derived["K"].value
    shear = roller.of("material", "G")
    assert twist(0.3, shear, stiffness / shear, 1.0) == pytest.approx(0.3 / stiffness, rel=1e-12)
