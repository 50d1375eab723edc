"""Pallet springs: the torsion formulae against worked examples and figures of the trade."""

import math

import numpy as np
import pytest
from demo_train import demo
from spellings import figures

from keyaction.models.formulas.springs import v_spring_rate
from keyaction.models.materials.library import default_library

LIBRARY = default_library()


def coil(e, d, diameter, turns):
    """Torque per radian of the coils alone: legs so short that they do not bend."""
    leg = 1e-7
    return v_spring_rate(e, d, diameter, turns, leg) * leg**2


def test_coils_of_a_worked_example():
    # V. B. Bhandari, Design of Machine Elements, Ex. 10.21 (second-hand, from a published solution file): mean coil
    # 18 mm, wire 1.6 mm, E 207 000 N/mm2, 3 N.mm/rad: 392.53 coils (printed 393).
    assert coil(207e9, 1.6e-3, 18e-3, 392.53) == pytest.approx(3e-3, rel=1e-3)
    # And the other way round: the number of coils that gives the rate asked for.
    turns = coil(207e9, 1.6e-3, 18e-3, 1.0) / 3e-3
    assert turns == pytest.approx(392.53, rel=1e-3)
    assert math.ceil(turns) == 393


def test_the_standards_rate_per_degree():
    # EN 13906-3 (from memory): per degree E d^4 / (3667 D n); 3667 is 64 x 180/pi rounded to four digits.
    e, d, diameter, turns = 206e9, 1.2e-3, 20e-3, 4.0
    per_degree = e * d**4 / (3667 * diameter * turns)
    assert coil(e, d, diameter, turns) * math.pi / 180 == pytest.approx(per_degree, rel=2e-4)


def test_the_legs_bend_as_cantilevers():
    # Textbook: F L^3 / (3 E I), twice; one turn of no diameter, so that nothing but the legs gives way.
    e, d, leg = 200e9, 1.5e-3, 0.120
    inertia = math.pi * d**4 / 64
    no_coil = v_spring_rate(e, d, 1e-9, 1.0, leg)
    assert no_coil == pytest.approx(3 * e * inertia / (2 * leg**3), rel=1e-6)


def test_the_legs_must_be_in_the_sum():
    # The trade's own check (derived): 1.5 mm stainless, coil 15 mm, 3 turns, arms 120 mm: about 1.8 N per radian at
    # the arm's end; the coils alone would give 2.8 N.
    e = LIBRARY.get("stainless")["E"].value
    assert v_spring_rate(e, 1.5e-3, 15e-3, 3, 0.120) * 0.120 == pytest.approx(1.8, abs=0.05)
    assert coil(e, 1.5e-3, 15e-3, 3) / 0.120 == pytest.approx(2.8, abs=0.05)


@pytest.mark.parametrize(("diameter", "force"), [(1.42e-3, 1.0), (1.22e-3, 0.54)])
def test_a_brass_spring_of_1882(diameter, force):
    # W. E. Dickson, Practical Organ-Building, 2nd ed. 1882, p. 22-23 (read): brass wire no. 17-18, arms of about
    # 5 in, one twist round a peg, gape 7-8 in in a chest 3 in deep. The force is derived, with wire of 1.42 or
    # 1.22 mm (gauge from memory), a 25 mm coil (assumed) and 120 mm of closing.
    brass = LIBRARY.get("spring-brass")["E"].value
    assert v_spring_rate(brass, diameter, 0.025, 1.0, 5 * 0.0254) * 0.120 == pytest.approx(force, rel=0.05)


def test_a_spring_by_its_wire_works_in_the_train():
    # The same brass spring in a case, by its wire in place of force and rate: the moment at the hinge.
    wire = {
        "spring.force": None,
        "spring.rate": None,
        "spring.wire.diameter": "1.42 mm",
        "spring.wire.material": "spring-brass",
        "spring.wire.coil_diameter": "25 mm",
        "spring.wire.turns": 1.0,
        "spring.wire.arm": "5 in",
        "spring.wire.free_gape": "196.2 mm",
        "spring.wire.closed_gape": "76.2 mm",
    }
    train = demo(**wire)
    rate = v_spring_rate(LIBRARY.get("spring-brass")["E"].value, 1.42e-3, 0.025, 1.0, 0.127)
    assert figures(train)["M0_spring"].value == pytest.approx(0.120 * rate * 0.120, rel=1e-9)
    assert figures(train)["k_spring"].value == pytest.approx(rate * 0.120**2, rel=1e-9)


def test_the_moment_grows_with_the_angle():
    # Moment about the hinge = rate x (angle + set), straight from the two forces a spring balance would read.
    train = demo()
    moment, stiffness = (figures(train)[name].value for name in ("M0_spring", "k_spring"))
    lifted = 0.004 / 0.120
    assert moment / 0.120 == pytest.approx(2.3, rel=1e-12)
    assert (moment + stiffness * lifted) / 0.120 == pytest.approx(2.3 + 12.0 * 0.004, rel=1e-12)
    assert np.isclose(stiffness, 12.0 * 0.120**2, rtol=1e-12)
