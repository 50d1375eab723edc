"""The roller by hand: a shaft that turns about its middle and twists, and two arms."""

from itertools import product
from math import hypot, pi, sqrt

import pytest
from beams import deflections
from by_hand import (
    BRONZE,
    CARBON,
    CEDAR,
    MAPLE,
    MUSIC_WIRE,
    SPRUCE,
    G,
    bar_inertia,
    carried_inertia,
    figures,
    load_on,
    polar_of_a_rectangle,
    polar_of_a_ring,
    swapped,
    torsion_of_a_rectangle,
)
from scipy.integrate import quad

from keyaction.models.train.train import TrainProblem

LENGTH, IN, OUT, ARM_WIDTH, ARM_THICKNESS = 0.600, 0.055, 0.075, 0.015, 0.008
ARMS = {"in_arm": "55 mm", "out_arm": "75 mm"}
ARM_PER_METRE = MAPLE.density * ARM_WIDTH * ARM_THICKNESS

# Fields, material, area, polar second moment of area (a closed form, and as a sum) and torsion constant.
SECTIONS = {
    "square": (
        {"section": "square", "width": "25 mm"},
        SPRUCE,
        0.025**2,
        0.025**4 / 6,
        polar_of_a_rectangle(0.025, 0.025),
        torsion_of_a_rectangle(0.025, 0.025),
    ),
    "rectangle": (
        {"section": "rectangle", "width": "30 mm", "thickness": "12 mm"},
        SPRUCE,
        0.030 * 0.012,
        0.030 * 0.012 * (0.030**2 + 0.012**2) / 12,
        polar_of_a_rectangle(0.030, 0.012),
        torsion_of_a_rectangle(0.030, 0.012),
    ),
    "round": (
        {"section": "round", "diameter": "26 mm", "width": None},
        SPRUCE,
        pi * 0.026**2 / 4,
        pi * 0.026**4 / 32,
        polar_of_a_ring(0.026),
        pi * 0.026**4 / 32,
    ),
    "tube": (
        {"section": "tube", "diameter": "20 mm", "wall": "1.5 mm", "width": None, "material": "carbon-rod"},
        CARBON,
        pi * (0.020**2 - 0.017**2) / 4,
        pi * (0.020**4 - 0.017**4) / 32,
        polar_of_a_ring(0.020, 0.017),
        pi * (0.020**4 - 0.017**4) / 32,
    ),
}


def roller(make_train, **fields):
    return make_train(**{f"roller.{name}": value for name, value in {**ARMS, **fields}.items()})


@pytest.mark.parametrize("shape", SECTIONS)
def test_inertia_of_shaft_and_arms(make_train, shape):
    fields, stuff, _, polar, summed, _ = SECTIONS[shape]
    arms = sum(ARM_PER_METRE * length * (length**2 / 3 + ARM_WIDTH**2 / 12) for length in (IN, OUT))
    found = figures(roller(make_train, **fields), "roller")
    shaft = stuff.density * LENGTH * polar
    assert found["J"] - arms == pytest.approx(shaft, rel=1e-9)  # the shaft alone, about both axes of its section
    by_sums = sum(bar_inertia(MAPLE.density, ARM_THICKNESS, 0.0, length, ARM_WIDTH) for length in (IN, OUT))
    assert found["J"] == pytest.approx(stuff.density * LENGTH * summed + by_sums, rel=1e-9)


@pytest.mark.parametrize("shape", SECTIONS)
def test_weight_of_shaft_and_arms(make_train, shape):
    fields, stuff, area, *_ = SECTIONS[shape]
    found = figures(roller(make_train, **fields), "roller")
    assert found["W"] == pytest.approx(G * (stuff.density * area * LENGTH + ARM_PER_METRE * (IN + OUT)), rel=1e-12)


@pytest.mark.parametrize("shape", SECTIONS)
def test_torque_per_twist(make_train, shape):
    fields, stuff, *_, torsion = SECTIONS[shape]
    found = figures(roller(make_train, **fields), "roller")
    assert found["K"] == pytest.approx(stuff.g * torsion / LENGTH, rel=1e-6)


@pytest.mark.parametrize("loss", [0.02, 0.10])
def test_damping_of_the_twist(make_train, loss):
    # Two equal discs of J/2 on a shaft K swing against each other at w = sqrt(4 K/J); a share z of critical is
    # C = 2 z (J/4) w, the reduced inertia being J/4.
    found = figures(roller(make_train, loss=loss), "roller")
    w = sqrt(4 * found["K"] / found["J"])
    assert found["C"] == pytest.approx(2 * loss * found["J"] / 4 * w, rel=1e-12)
    # The same as a decay: C / (2 x reduced inertia) is z w.
    assert found["C"] / (2 * found["J"] / 4) == pytest.approx(loss * w, rel=1e-12)


def test_what_was_measured_takes_the_place_of_the_sizes(make_train):
    measured = {"inertia": "500 g*cm^2", "mass": "260 g", "torsional_stiffness": "12 N*m/rad"}
    found = figures(roller(make_train, **measured), "roller")
    assert (found["J"], found["K"], found["W"]) == pytest.approx((5e-5, 12.0, 0.260 * G), rel=1e-12)
    assert found["C"] == pytest.approx(2 * 0.02 * sqrt(5e-5 / 4 * 12.0), rel=1e-12)


def test_arms_and_ratio(make_train):
    found = figures(roller(make_train), "roller")
    assert (found["r_in"], found["r_out"], found["ratio"]) == pytest.approx((IN, OUT, OUT / IN), rel=1e-12)


# -- ends bent over ----------------------------------------------------------------------------------------
WIRE = {
    "arms": "bent",
    "section": "round",
    "material": "music-wire",
    "diameter": "6 mm",
    "width": None,
    "arm_material": None,
    "arm_width": None,
    "arm_thickness": None,
}


def test_arms_of_bent_wire_are_its_own(make_train):
    found = figures(roller(make_train, **WIRE), "roller")
    area, second = pi * 0.006**2 / 4, pi * 0.006**4 / 64
    assert found["W"] == pytest.approx(G * MUSIC_WIRE.density * area * (LENGTH + IN + OUT), rel=1e-12)
    # About the shaft's axis, point by point: of an arm its length and its own width across the axis.
    arms = sum(quad(lambda x: area * x * x + second, 0.0, long)[0] for long in (IN, OUT))
    shaft = LENGTH * polar_of_a_ring(0.006)
    assert found["J"] == pytest.approx(MUSIC_WIRE.density * (shaft + arms), rel=1e-9)
    assert found["K"] == pytest.approx(MUSIC_WIRE.g * 2 * second / LENGTH, rel=1e-12)


def test_arms_of_bent_wire_bend_as_cantilevers(make_train):
    stiff, bent = (
        figures(roller(make_train, **WIRE, bending=True, **more), "roller") for more in ({}, {"out_arm": "90 mm"})
    )
    bar = MUSIC_WIRE.e * pi * 0.006**4 / 64, MUSIC_WIRE.g * pi * 0.006**2 / 4 * 9 / 10
    for one, long in ((stiff, OUT), (bent, 0.090)):
        own = deflections([0.0, long], *bar, (0,), {1: 1.0}, (0,))[1]
        shaft = deflections([0.0, 0.020, LENGTH + 0.040], *bar, (0, 2), {1: 1.0})[1]
        assert one["give_out"] == pytest.approx(own + shaft, rel=1e-6)


def test_bent_arms_are_of_a_round_shaft_and_have_no_sizes_of_their_own(make_train):
    with pytest.raises(TrainProblem) as caught:
        roller(make_train, arms="bent")
    told = str(caught.value)
    assert 'roller, field section: arms = "bent" needs a round shaft, not a square one' in told
    assert "take out arm_material, arm_width, arm_thickness" in told
    assert "diameter" not in told


# -- in the equations ------------------------------------------------------------------------------------
def test_either_end_has_half_of_the_inertia(make_train):
    train = roller(make_train)
    own = figures(train, "roller")
    tracker = CEDAR.density * 0.010 * 0.0012 * 1.200 + 2 * 0.0005
    wire = BRONZE.density * pi * 0.0015**2 / 4 * 0.250 + 2 * 0.0005
    assert carried_inertia(train, "roller-in") == pytest.approx(own["J"] / 2 + tracker / 2 * IN**2, rel=1e-12)
    assert carried_inertia(train, "roller-out") == pytest.approx(own["J"] / 2 + wire / 2 * OUT**2, rel=1e-12)


FLOOR = 1e-3  # N: below it the resultant is rounded off
# Way of the rod: what its pull F and a weight W come to where it drives the arm, and where the arm drives it.
DRIVING = {"down": lambda f, w: f + w, "up": lambda f, w: abs(f - w), "level": hypot}
DRIVEN = {"down": lambda f, w: abs(f - w), "up": lambda f, w: f + w, "level": hypot}


@pytest.mark.parametrize(("comes", "goes"), list(product(DRIVING, DRIVEN)))
@pytest.mark.parametrize("pull", [0.2, 4.0])  # below half of the weight, and far above it
def test_a_pin_bears_its_rod_along_the_motion_and_half_of_the_weight_downwards(make_train, comes, goes, pull):
    train = make_train(**{"t3.moves": comes, "pd.moves": goes, "roller.mass": "100 g"})
    half = 0.100 * G / 2
    assert 0.2 < half < 4.0
    near, far = load_on(train, "in_roller", F_t3=pull), load_on(train, "out_roller", F_pd=pull)
    assert near == pytest.approx(hypot(DRIVING[comes](pull, half), FLOOR), rel=1e-9)
    assert far == pytest.approx(hypot(DRIVEN[goes](pull, half), FLOOR), rel=1e-9)


def test_where_weight_and_pull_cancel_the_pin_bears_next_to_nothing(make_train):
    train = make_train(**{"roller.mass": "100 g"})  # the wire is pulled down: it holds the far end up
    assert load_on(train, "out_roller", F_pd=0.050 * G) == pytest.approx(FLOOR, rel=1e-6)
    assert load_on(train, "in_roller", F_t3=0.050 * G) == pytest.approx(0.100 * G, rel=1e-5)


def test_a_sticker_pushes_the_way_it_moves():
    train = swapped({"t3": "sticker"}, **{"t3.moves": "up", "roller.mass": "100 g"})
    assert load_on(train, "in_roller", F_t3=4.0) == pytest.approx(4.0 - 0.050 * G, rel=1e-6)


def test_weights_of_both_ends_balance_what_the_pins_and_rods_hold(make_train):
    # Forces on the whole roller, upwards: both pins, less both halves of the weight, less the pull down at the in arm,
    # plus the pull up at the out arm, come to nothing.
    train = make_train()
    weight = figures(train, "roller")["W"]
    near, far = load_on(train, "in_roller", F_t3=3.0), load_on(train, "out_roller", F_pd=4.0)
    assert near - far == pytest.approx(weight + 3.0 - 4.0, abs=1e-5)  # the far pin holds its end down
