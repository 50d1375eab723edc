"""The key by hand: a stick of rectangular section on its pin, with leads as points."""

import pytest
from by_hand import CEDAR, MAPLE, SPRUCE, G, bar_inertia, carried_inertia, figures, load_on

FRONT, TAIL, WIDTH, HEIGHT = 0.250, 0.200, 0.022, 0.024
LEADS = ((0.020, -0.150), (0.035, 0.110))
STICK = SPRUCE.density * WIDTH * HEIGHT * (FRONT + TAIL)
TWO_LEADS = {"key.leads.1.mass": "35 g", "key.leads.1.at": "110 mm"}


@pytest.fixture(scope="module")
def key(make_train):
    return figures(make_train(**TWO_LEADS), "key")


def test_inertia_with_the_leads(key):
    # Two bars hinged at one end, m l^2/3 each, their depth h^2/12, and the leads as points.
    per_metre = SPRUCE.density * WIDTH * HEIGHT
    bars = per_metre * (FRONT**3 + TAIL**3) / 3 + STICK * HEIGHT**2 / 12
    leads = 0.020 * 0.150**2 + 0.035 * 0.110**2
    assert leads > 0.1 * bars  # nothing that could hide in a tolerance
    assert key["J"] == pytest.approx(bars + leads, rel=1e-12)
    assert key["J"] == pytest.approx(bar_inertia(SPRUCE.density, WIDTH, -TAIL, FRONT, HEIGHT) + leads, rel=1e-9)


def test_moment_of_weight_front_heavy_positive(key):
    # The stick's middle lies (250 - 200)/2 = 25 mm before the pin.
    stick = STICK * 0.025
    assert key["B"] == pytest.approx(G * (stick - 0.020 * 0.150 + 0.035 * 0.110), rel=1e-12)


def test_weight_on_the_pin(key):
    assert key["W"] == pytest.approx(G * (STICK + 0.055), rel=1e-12)


def test_of_another_wood_without_leads(make_train):
    found = figures(
        make_train(**{"key.material": "sugar-maple", "key.leads.0.mass": None, "key.leads.0.at": None}), "key"
    )
    mass = MAPLE.density * WIDTH * HEIGHT * 0.450
    assert found["W"] == pytest.approx(G * mass, rel=1e-12)
    assert found["B"] == pytest.approx(G * mass * 0.025, rel=1e-12)
    assert found["J"] == pytest.approx(bar_inertia(MAPLE.density, WIDTH, -TAIL, FRONT, HEIGHT), rel=1e-9)


def test_what_was_measured_takes_the_place_of_the_sizes(make_train):
    measured = {"key.inertia": "40 kg*cm^2", "key.balance_moment": "-12 N*mm", "key.mass": "180 g"}
    found = figures(make_train(**measured), "key")
    assert (found["J"], found["B"]) == (pytest.approx(0.0040), pytest.approx(-0.012))
    assert found["W"] == pytest.approx(0.180 * G, rel=1e-12)


def test_arms_dip_and_felts(key):
    assert (key["r_front"], key["r_out"], key["dip"]) == pytest.approx((0.230, 0.150, 0.0095))
    assert key["K_rest"] == pytest.approx(1.3 / 0.0005**1.5, rel=1e-12)
    assert key["K_bottom"] == pytest.approx(1.8 / 0.0005**1.5, rel=1e-12)


def test_squeeze_of_the_rest_felt(make_train):
    # r K x^1.5 holds the tail-heavy key: 0.5 mm under 1.3 N, so x = 0.5 mm (load / 1.3 N)^(2/3).
    moment = G * (STICK * 0.025 - 0.020 * 0.150)
    assert moment < 0
    found = figures(make_train(), "key")
    assert found["x0_rest"] == pytest.approx(0.0005 * (-moment / 0.230 / 1.3) ** (2 / 3), rel=1e-12)
    nearer = figures(make_train(**{"key.rest_felt_at": "170 mm"}), "key")
    assert nearer["r_rest"] == pytest.approx(0.170)
    assert nearer["x0_rest"] == pytest.approx(0.0005 * (-moment / 0.170 / 1.3) ** (2 / 3), rel=1e-12)
    heavy = figures(make_train(**{"key.balance_moment": "20 N*mm"}), "key")
    assert heavy["x0_rest"] == 0.0  # a front-heavy key lies on no rest felt


# -- in the equations ------------------------------------------------------------------------------------
def test_the_tracker_s_half_rides_on_the_tail(make_train):
    tracker = CEDAR.density * 0.010 * 0.0012 * 0.600 + 2 * 0.0005
    train = make_train()
    own = figures(train, "key")["J"]
    assert carried_inertia(train, "key") == pytest.approx(own + tracker / 2 * 0.150**2, rel=1e-12)


@pytest.mark.parametrize(("balance", "sign"), [("balanced", 1), ("tail-hinged", -1)])
def test_load_on_the_pin(make_train, balance, sign):
    # On a balanced key finger, tracker and weight press down; the tracker of a hung key lifts. Felts carry, but for
    # the rest felt of a hung key, which holds its front down.
    train = make_train(**{"key.balance": balance})
    weight = G * (STICK + 0.020)
    assert load_on(train, "pin_key", F_finger=5.0) == pytest.approx(weight + 5.0, rel=1e-6)
    assert load_on(train, "pin_key", F_finger=5.0, F_t1=3.0) == pytest.approx(weight + 5.0 + sign * 3.0, rel=1e-6)
    assert load_on(train, "pin_key", F_finger=9.0, F_bottom_key=3.0, F_rest_key=1.0) == pytest.approx(
        weight + 9.0 - 3.0 - sign * 1.0, rel=1e-6
    )
