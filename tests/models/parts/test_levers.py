"""Square and backfall by hand: two arms of rectangular section that start at the pin."""

from math import cos, hypot, pi, sin, sqrt

import pytest
from by_hand import CEDAR, MAPLE, G, bar_inertia, carried_inertia, figures, load_on, rods_weight_on, swapped

WIDTH, THICKNESS, IN, OUT = 0.017, 0.006, 0.045, 0.070
SIZES = {"width": "17 mm", "thickness": "6 mm", "in_arm": "45 mm", "out_arm": "70 mm"}
PER_METRE = MAPLE.density * WIDTH * THICKNESS


def lever(kind, **fields):
    """The demo train whose first lever is of a kind and size."""
    own = {name if "." in name else f"sq1.{name}": value for name, value in {**SIZES, **fields}.items()}
    return swapped({"sq1": kind}, **own)


@pytest.mark.parametrize("kind", ["square", "backfall"])
def test_inertia_of_both_arms(kind):
    arms = [PER_METRE * length * (length**2 / 3 + WIDTH**2 / 12) for length in (IN, OUT)]
    assert min(arms) > 0.1 * sum(arms)
    found = figures(lever(kind), "sq1")
    assert found["J"] == pytest.approx(sum(arms), rel=1e-12)
    by_sums = [bar_inertia(MAPLE.density, THICKNESS, 0.0, length, WIDTH) for length in (IN, OUT)]
    assert found["J"] == pytest.approx(sum(by_sums), rel=1e-9)


@pytest.mark.parametrize("kind", ["square", "backfall"])
def test_weight_of_both_arms(kind):
    found = figures(lever(kind), "sq1")
    assert found["W"] == pytest.approx(PER_METRE * (IN + OUT) * G, rel=1e-12)
    assert found["B"] == 0.0  # balanced unless told


def test_what_was_measured_takes_the_place_of_the_sizes():
    found = figures(lever("square", inertia="30 g*cm^2", mass="11 g", imbalance="2 N*mm"), "sq1")
    assert (found["J"], found["W"], found["B"]) == pytest.approx((3e-6, 0.011 * G, 0.002), rel=1e-12)


@pytest.mark.parametrize(("kind", "turn"), [("square", pi / 2), ("backfall", pi)])
def test_the_usual_angle_between_the_arms(kind, turn):
    found = figures(lever(kind), "sq1")
    assert (found["cos_turn"], found["sin_turn"]) == pytest.approx((cos(turn), sin(turn)), abs=1e-15)
    assert (found["r_in"], found["r_out"], found["ratio"]) == pytest.approx((IN, OUT, OUT / IN), rel=1e-12)


# -- in the equations ------------------------------------------------------------------------------------
# Rods of 3 and 4 N on a lever that weighs 2 N. What drives acts the way it moves, what is driven against it.
STRAIGHT = {
    ("down", "up"): 3 + 4 + 2,  # both rods pull down on it
    ("up", "down"): 3 + 4 - 2,  # both pull up: they lift it off its pin
    ("level", "level"): hypot(3 + 4, 2),  # on a wall, its arms upright
    ("down", "level"): 3 + 4 + 2,  # guides carry an upright rod's weight: the other one says how it stands
    ("up", "level"): 3 + 4 - 2,
    ("level", "up"): 3 + 4 + 2,
    ("level", "down"): 3 + 4 - 2,
}
SQUARE = {
    ("down", "level"): hypot(3 + 2, 4),
    ("up", "level"): hypot(3 - 2, 4),
    ("level", "down"): hypot(3, 4 - 2),
    ("level", "up"): hypot(3, 4 + 2),
    ("level", "level"): hypot(3, 4, 2),  # it lies flat: its weight presses along the pin
}


@pytest.mark.parametrize(("comes", "goes"), STRAIGHT)
def test_a_straight_lever_s_pin_bears_both_rods_and_the_weight(comes, goes):
    train = lever("backfall", mass=2 / G, **{"t1.moves": comes, "t2.moves": goes})
    assert load_on(train, "pin_sq1", F_t1=3.0, F_t2=4.0) == pytest.approx(STRAIGHT[comes, goes], rel=1e-6)
    assert load_on(train, "pin_sq1", F_t1=3.0, F_t2=4.0, W_sq1=0.0) == pytest.approx(7.0, rel=1e-6)


@pytest.mark.parametrize(("comes", "goes"), SQUARE)
def test_a_square_s_pin_bears_the_resultant_of_rods_and_weight(comes, goes):
    train = lever("square", mass=2 / G, **{"t1.moves": comes, "t2.moves": goes})
    assert load_on(train, "pin_sq1", F_t1=3.0, F_t2=4.0) == pytest.approx(SQUARE[comes, goes], rel=1e-6)
    assert load_on(train, "pin_sq1", F_t1=3.0, F_t2=4.0, W_sq1=0.0) == pytest.approx(5.0, rel=1e-6)


def test_the_lever_s_own_weight_is_what_its_arms_weigh():
    train = lever("square")
    weight = PER_METRE * (IN + OUT) * G
    assert load_on(train, "pin_sq1", F_t1=3.0, F_t2=4.0) == pytest.approx(hypot(3.0 - weight, 4.0), rel=1e-6)


def test_between_the_two_the_law_of_cosines():
    # Pulls of 3 and 4 N whose lines of action meet at an angle of 180 - 120 = 60 degrees.
    train = lever("square", turn="120 deg")
    expected = sqrt(3.0**2 + 4.0**2 + 2 * 3.0 * 4.0 * cos(pi / 3))
    assert load_on(train, "pin_sq1", F_t1=3.0, F_t2=4.0, W_sq1=0.0) == pytest.approx(expected, rel=1e-6)


def test_half_of_either_rod_rides_on_the_arms():
    upright, level = (CEDAR.density * 0.010 * 0.0012 * length + 2 * 0.0005 for length in (0.600, 1.800))
    train = lever("backfall")
    own = sum(PER_METRE * length * (length**2 / 3 + WIDTH**2 / 12) for length in (IN, OUT))
    expected = own + upright / 2 * IN**2 + level / 2 * OUT**2
    assert carried_inertia(train, "sq1") == pytest.approx(expected, rel=1e-12)
    # The upright tracker goes up, so its weight hinders; the level one lies in its guides.
    assert rods_weight_on(train, "sq1") == pytest.approx(-upright / 2 * G * IN, rel=1e-12)
