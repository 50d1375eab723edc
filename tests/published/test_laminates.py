"""Wound tubes against published ply stiffnesses, and against the laminate's stiffness rotated as a tensor."""

import math
from itertools import product

import numpy as np
import pytest

from keyaction.models.formulas.laminates import Ply, wound
from keyaction.models.formulas.sections import round_bar, torsional_stiffness, tube
from keyaction.models.materials.library import default_library

LIBRARY = default_library()

# S. W. Tsai and H. T. Hahn, Introduction to Composite Materials (1980), in a textbook's data files (second-hand):
# E1 181, E2 10.3, G12 7.17 GPa, nu12 0.28; the same with expansions 0.02 and 22.5e-6/K in A. K. Kaw, Mechanics of
# Composite Materials, Table 2.1 (read in a copy).
PLY = Ply(181e9, 10.3e9, 7.17e9, 0.28, 0.02e-6, 22.5e-6)


def test_reduced_stiffnesses_of_the_ply():
    assert [one / 1e9 for one in PLY.reduced] == pytest.approx([181.811, 10.346, 2.897], rel=1e-3)


@pytest.mark.parametrize(
    ("degrees", "shear", "along"),
    # Classical lamination theory by its invariants U1 to U5 (76.368, 85.732, 19.710, 22.607, 26.880 GPa), by hand.
    [(0, 7.17, 181), (10, 11.78, 166.9), (15, 17.03, 146.9), (20, 23.46, 119.4), (30, 36.74, 64.8), (45, 46.59, 25.05)],
)
def test_moduli_of_plies_at_plus_and_minus_an_angle(degrees, shear, along):
    found = wound(PLY, math.radians(degrees))
    gigapascals = found.G / 1e9, found.E / 1e9
    assert gigapascals == pytest.approx((shear, along), rel=1e-3)


def by_tensor(angle):
    """E, G and expansion the long way: each ply's stiffness tensor turned index by index, averaged, inverted."""
    q11, q22, q12 = PLY.reduced
    own = np.zeros((2, 2, 2, 2))
    own[0, 0, 0, 0], own[1, 1, 1, 1] = q11, q22
    own[0, 0, 1, 1] = own[1, 1, 0, 0] = q12
    for i, j in product(((0, 1), (1, 0)), repeat=2):
        own[(*i, *j)] = PLY.G12
    heat = np.diag([PLY.heat1, PLY.heat2])
    whole, push = np.zeros((2, 2, 2, 2)), np.zeros((2, 2))
    for turn in (angle, -angle):
        r = np.array([[math.cos(turn), -math.sin(turn)], [math.sin(turn), math.cos(turn)]])
        turned = np.einsum("ia,jb,kc,ld,abcd", r, r, r, r, own)
        whole += turned / 2
        push += np.einsum("ijkl,kl", turned, r @ heat @ r.T) / 2
    pairs = [(0, 0), (1, 1), (0, 1)]
    matrix = np.array([[whole[(*a, *b)] for b in pairs] for a in pairs])
    soft = np.linalg.inv(matrix)
    return 1 / soft[0, 0], 1 / soft[2, 2], (soft @ [push[a] for a in pairs])[0]


@pytest.mark.parametrize("degrees", [0, 7, 20, 33, 45, 60, 90])
def test_a_second_way_to_the_same_figures(degrees):
    found = wound(PLY, math.radians(degrees))
    assert (found.E, found.G, found.thermal_expansion) == pytest.approx(by_tensor(math.radians(degrees)), rel=1e-9)


def test_the_ends_and_the_mirror():
    flat, hoop = wound(PLY, 0.0), wound(PLY, math.pi / 2)
    assert (flat.E, flat.G, flat.thermal_expansion) == pytest.approx((PLY.E1, PLY.G12, PLY.heat1))
    assert (hoop.E, hoop.G, hoop.thermal_expansion) == pytest.approx((PLY.E2, PLY.G12, PLY.heat2))
    for degrees in (10, 30):  # shear is the same for an angle and its complement, and largest at 45 degrees
        shear = wound(PLY, math.radians(degrees)).G
        assert shear == pytest.approx(wound(PLY, math.radians(90 - degrees)).G)
        assert shear < wound(PLY, math.pi / 4).G
    even = Ply(70e9, 70e9, 70e9 / 2.6, 0.3, 2e-5, 2e-5)  # what has no direction does not know of angles
    turned = wound(even, 0.4)
    assert (turned.E, turned.G, turned.thermal_expansion) == pytest.approx((70e9, 70e9 / 2.6, 2e-5))
    with pytest.raises(ValueError, match="winding angle 100 deg"):
        wound(PLY, math.radians(100))


@pytest.mark.parametrize("degrees", [10, 20, 30, 45])
def test_the_librarys_tubes_are_these(degrees):
    found, made = LIBRARY.get(f"carbon-tube-{degrees}"), wound(PLY, math.radians(degrees))
    assert found["E"].value == pytest.approx(made.E, rel=1e-3)
    assert found["G"].value == pytest.approx(made.G, rel=1e-3)
    assert found["thermal_expansion"].value == pytest.approx(made.thermal_expansion, rel=1e-3)
    assert f"+-{degrees} degrees" in found.description


def test_a_tube_and_a_rod_are_told_apart():
    # A pultruded rod has the ply's G at most; a tube wound at 45 degrees 6.5 times that.
    assert LIBRARY.get("carbon-ud-70")["G"].value == PLY.G12
    assert LIBRARY.get("carbon-rod")["G"].value < PLY.G12
    assert LIBRARY.get("carbon-tube-45")["G"].value / PLY.G12 == pytest.approx(6.5, rel=2e-3)


@pytest.mark.parametrize(
    ("name", "section", "stiffness"),
    # G J / L of 1 m by hand, N m/rad: rod of 6 mm; tubes of 20 mm with a wall of 1 mm.
    [
        ("carbon-rod", round_bar(0.006), 0.547),
        ("music-wire", round_bar(0.006), 10.09),
        ("carbon-ud-70", tube(0.020, 0.001), 38.73),
        ("carbon-tube-45", tube(0.020, 0.001), 251.7),
        ("aluminium", tube(0.020, 0.001), 140.5),
    ],
)
def test_twist_of_a_rod_and_of_tubes(name, section, stiffness):
    found = torsional_stiffness(LIBRARY.get(name)["G"].value, section.torsion, 1.0)
    assert found == pytest.approx(stiffness, rel=1e-3)
