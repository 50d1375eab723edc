"""The pallet spring by hand: given by force and rate, or by its wire."""

from math import pi

import pytest
from by_hand import MUSIC_WIRE, figures
from scipy.integrate import quad

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
