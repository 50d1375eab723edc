"""What slanting costs, by statics and geometry in space."""

import math

import pytest

from keyaction.models.instrument.splay import (
    arm_factor,
    extra_length,
    force_factor,
    guide_share,
    side_share,
    splay_of,
    stiffness_factor,
)

SPLAYS = (0.0, 0.02, 0.2, 0.35, 1.0)


@pytest.mark.parametrize("splay", SPLAYS)
def test_a_rod_in_space_pulls_along_and_aside(splay):
    # A rod 300 mm within the plane of its levers; its pull T acts along the unit vector between its ends.
    aside = 0.3 * math.tan(splay)
    length = math.hypot(0.3, aside)
    along, across = 0.3 / length, aside / length
    assert splay_of(aside, 0.3) == splay_of(-aside, 0.3) == pytest.approx(splay, abs=1e-15)
    assert force_factor(splay) == pytest.approx(1 / along, rel=1e-14)
    assert side_share(splay) == pytest.approx(across / along, rel=1e-14)
    assert extra_length(0.3, splay) == pytest.approx(length - 0.3, rel=1e-12, abs=1e-15)
    assert math.hypot(1.0, side_share(splay)) == pytest.approx(force_factor(splay), rel=1e-14)
    assert guide_share(splay, 0.25) == pytest.approx(2 * 0.25 * across / along, rel=1e-14)
    assert guide_share(splay, 0.25, ends=1) == pytest.approx(0.25 * across / along, rel=1e-14)


@pytest.mark.parametrize("splay", SPLAYS)
def test_stiffness_along_the_motion_by_energy(splay):
    # Central second difference of k (stretch)^2 / 2 as one end is moved within the plane, the other held.
    k, within, aside, step = 2e4, 0.3, 0.3 * math.tan(splay), 1e-4
    rest = math.hypot(within, aside)

    def energy(u):
        return k / 2 * (math.hypot(within + u, aside) - rest) ** 2

    curvature = (energy(step) - 2 * energy(0.0) + energy(-step)) / step**2
    assert curvature == pytest.approx(k * stiffness_factor(splay), rel=1e-5)


def test_the_force_of_twelve_degrees():
    # By a table of sines: cos 12° = 0.97815, tan 12° = 0.21256.
    splay = math.radians(12)
    assert force_factor(splay) == pytest.approx(1 / 0.97815, abs=1e-5)
    assert side_share(splay) == pytest.approx(0.21256, abs=1e-5)


@pytest.mark.parametrize("bridge", ["straight", "square pins"])
def test_a_splayed_backfall_carries_as_its_true_arms_do(bridge):
    # A bar in plan at 25° to the side view, 240 and 160 mm of it there. Its ends' up and down ways and its energy at
    # a speed of its end are those of a straight lever with the true arms, on either pin.
    phi = math.radians(25)
    shown = (0.24, 0.16)
    true = tuple(arm * arm_factor(phi) for arm in shown)
    line = 0.1  # kg/m
    pin_arms = shown if bridge == "straight" else true  # distance of the ends from the pin's axis
    ways = [arm * 0.01 for arm in pin_arms]
    assert ways[1] / ways[0] == pytest.approx(true[1] / true[0], rel=1e-14)
    inertia = sum(line * t * arm**2 / 3 for t, arm in zip(true, pin_arms, strict=True))
    straight = sum(line * t**3 / 3 for t in true)
    assert inertia / pin_arms[0] ** 2 == pytest.approx(straight / true[0] ** 2, rel=1e-14)


@pytest.mark.parametrize("splay", [math.pi / 2, 2.0, math.nan])
def test_a_rod_square_to_its_levers_moves_nothing(splay):
    with pytest.raises(ValueError, match="less than a right angle"):
        force_factor(splay)


def test_none_costs_nothing_to_the_last_figure():
    assert (force_factor(0.0), side_share(0.0), stiffness_factor(0.0), extra_length(0.7, 0.0)) == (1.0, 0.0, 1.0, 0.0)
