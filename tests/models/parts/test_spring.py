"""The pallet spring by hand: given by force and rate, by its wire, as a torsion bar or a blade."""

from math import pi

import pytest
from by_hand import BRONZE, MUSIC_WIRE, figures
from scipy.integrate import quad

from keyaction.models.train.train import TrainProblem

WIRE = {
    "spring.force": None,
    "spring.rate": None,
    "spring.wire.diameter": "1.2 mm",
    "spring.wire.material": "music-wire",
    "spring.wire.coil_diameter": "18 mm",
    "spring.wire.turns": 3.5,
    "spring.wire.arm": "160 mm",
    "spring.wire.free_gape": "190 mm",
    "spring.wire.closed_gape": "70 mm",
}
D, COIL, TURNS, LEG = 0.0012, 0.018, 3.5, 0.160


def gives():
    """Closing of the gape (m) per newton: Castigliano's theorem along the wire, m^2/EI summed over its length.

    A newton across the leg's end bends the leg by the distance from that end, and the coils by the whole leg.
    """
    bending = MUSIC_WIRE.e * pi * D**4 / 64
    leg, _ = quad(lambda s: s**2 / bending, 0, LEG)
    coils, _ = quad(lambda _: LEG**2 / bending, 0, pi * COIL * TURNS)
    return coils + 2 * leg


def test_rate_and_force_of_the_wire(make_train):
    found = figures(make_train(**WIRE), "spring")
    assert found["rate"] == pytest.approx(1 / gives(), rel=1e-9)
    assert found["force"] == pytest.approx((0.190 - 0.070) / gives(), rel=1e-9)


def test_moments_about_the_hinge(make_train):
    # Force at its place, and a turn q moves that place by at x q.
    found = figures(make_train(), "spring")
    assert (found["M0"], found["k"]) == pytest.approx((0.120 * 2.3, 12.0 * 0.120**2), rel=1e-12)
    made = figures(make_train(**WIRE), "spring")
    assert made["M0"] == pytest.approx(0.120 * 0.120 / gives(), rel=1e-9)
    assert made["k"] == pytest.approx(0.120**2 / gives(), rel=1e-9)


def test_what_was_measured_goes_before_the_wire(make_train):
    found = figures(make_train(**WIRE | {"spring.rate": "9 N/m"}), "spring")
    assert found["rate"] == 9.0
    assert found["force"] == pytest.approx(9.0 * 0.120, rel=1e-12)
    assert figures(make_train(**WIRE | {"spring.force": "2 N"}), "spring")["M0"] == pytest.approx(0.240, rel=1e-12)


# -- torsion bars and blades -------------------------------------------------------------------------------
NOT_GIVEN = {"spring.force": None, "spring.rate": None}
BAR = NOT_GIVEN | {
    "spring.bar.diameter": "2 mm",
    "spring.bar.length": "300 mm",
    "spring.bar.material": "music-wire",
    "spring.bar.set": 0.5,
}
BLADE = NOT_GIVEN | {
    "spring.blade.width": "6 mm",
    "spring.blade.thickness": "0.5 mm",
    "spring.blade.length": "60 mm",
    "spring.blade.material": "phosphor-bronze",
    "spring.blade.set": "12 mm",
}


def test_a_bar_in_the_hinge_gives_a_moment_and_no_force(make_train):
    # Moment per turn of a round shaft, summed over rings of its section: the shear at r is G r per twist of its length.
    polar, _ = quad(lambda r: 2 * pi * r**3, 0, 0.001)
    stiffness = MUSIC_WIRE.g * polar / 0.300
    assert stiffness == pytest.approx(0.41521, rel=1e-4)  # N m/rad: 2 mm, 300 mm, 79.3 GPa (derived)
    found = figures(make_train(**BAR), "spring")
    assert (found["k"], found["M0"]) == pytest.approx((stiffness, 0.5 * stiffness), rel=1e-9)
    assert (found["rate"], found["force"]) == pytest.approx((stiffness / 0.120**2, 0.5 * stiffness / 0.120), rel=1e-9)
    assert found["per_moment"] == 0.0
    assert found["stress"] == pytest.approx(0.5 * stiffness * 0.001 / polar, rel=1e-9)


def test_a_bar_with_an_arm_presses_at_its_place(make_train):
    found = figures(make_train(**BAR | {"spring.bar.arm": "80 mm"}), "spring")
    stiffness = 0.415214
    assert found["rate"] == pytest.approx(stiffness / 0.080**2, rel=1e-5)
    assert found["force"] == pytest.approx(0.5 * stiffness / 0.080, rel=1e-5)
    assert (found["M0"], found["per_moment"]) == pytest.approx((0.120 * found["force"], 1 / 0.120), rel=1e-12)


def test_a_blade_is_a_cantilever(make_train):
    # Castigliano's theorem: m^2/EI summed over its length, m being the distance from its end.
    bending = BRONZE.e * 0.006 * 0.0005**3 / 12
    gives, _ = quad(lambda s: s**2 / bending, 0, 0.060)
    assert 1 / gives == pytest.approx(89.41, rel=1e-4)  # N/m: 6 x 0.5 x 60 mm, 103 GPa (derived)
    found = figures(make_train(**BLADE), "spring")
    assert (found["rate"], found["force"]) == pytest.approx((1 / gives, 0.012 / gives), rel=1e-9)
    assert found["stress"] / found["force"] == pytest.approx(240e6, rel=1e-9)  # 6 L / (b t^2)


def test_a_spring_is_made_one_way(make_train):
    with pytest.raises(TrainProblem, match="wire, bar: one spring is made one way"):
        make_train(**WIRE | BAR)


def test_measured_force_and_rate_go_before_bar_and_blade(make_train):
    assert figures(make_train(**BAR | {"spring.force": "2 N"}), "spring")["M0"] == pytest.approx(0.240, rel=1e-12)
    found = figures(make_train(**BLADE | {"spring.rate": "100 N/m"}), "spring")
    assert (found["rate"], found["force"]) == pytest.approx((100.0, 1.2), rel=1e-12)


def warned(train):
    return [one.brief for one in train.warnings if one.part == "spring"]


def test_what_a_bar_or_blade_does_not_bear(make_train):
    assert warned(make_train(**BAR)) == warned(make_train(**BLADE)) == []
    # 1 rad of a bar of 1 mm and 60 mm is G d / 2 L = 661 MPa; of the wire's 2211 MPa 30 %.
    thin = BAR | {"spring.bar.diameter": "1 mm", "spring.bar.length": "60 mm", "spring.bar.set": 1.1}
    assert warned(make_train(**thin)) == []
    (told,) = warned(make_train(**thin | {"spring.bar.set": 1.2}))
    assert told.startswith("sheared by more than 35% of the wire's strength")
    (told,) = warned(make_train(**BLADE | {"spring.blade.set": "21 mm"}))
    assert told.startswith("more than a third of its length")
