"""The rail by itself, whose motion is known by hand: in its guides, on its stops, under its load."""

import math
from dataclasses import replace

import numpy as np
import pytest
from rails import rail
from scipy.integrate import solve_ivp

from keyaction.sim.floating import loop
from keyaction.sim.floating.places import REACH, figures

NONE = np.zeros(0, dtype=np.int64)
PLACES = [np.zeros(1, dtype=np.int64), NONE, NONE, NONE, NONE, NONE, NONE, NONE, NONE, np.zeros(1, dtype=np.int64)]


def body(of):
    return [figures(of), *[np.zeros(0)] * 6]


def gone(of, y, end, **options):
    """The rail alone from place, speed and slip."""
    given = body(of)

    def rates(_, state):
        out = np.zeros(6)
        loop.of_rail(PLACES, given, state, out)
        return out

    found = solve_ivp(rates, (0.0, end), [*y, 0.0, 0.0, 0.0], method="LSODA", rtol=1e-9, atol=1e-13, **options)
    assert found.success
    return found


@pytest.fixture
def free():
    """A rail of 2 kg without load, its stops far away."""
    return rail(0.0, mass=2.0, friction=0.6, ahead=1.0, behind=1.0)


def test_a_rail_in_its_guides_slows_down_by_coulomb_friction(free):
    speed = 0.03
    found = gone(free, (0.0, speed, 1.0), 0.05)
    slowing = free.friction / free.mass
    assert found.y[1, -1] == pytest.approx(speed - slowing * 0.05, rel=1e-6)
    assert found.y[0, -1] == pytest.approx(speed * 0.05 - slowing * 0.05**2 / 2, rel=1e-6)
    assert found.y[4, -1] == pytest.approx(free.friction * found.y[0, -1], rel=1e-6)


def test_it_stops_where_its_energy_is_spent(free):
    speed = 0.03
    found = gone(free, (0.0, speed, 1.0), 0.4)
    # It springs back by what the guides give, and no further.
    assert found.y[0, -1] == pytest.approx(free.mass * speed**2 / (2 * free.friction), abs=2 * REACH)
    assert abs(found.y[1, -1]) < 1e-6


def test_friction_holds_a_load_below_it(free):
    found = gone(replace(free, load=0.45 * free.friction), (0.0, 0.0, 0.0), 0.3)
    assert 0.0 < found.y[0, -1] < REACH
    assert abs(found.y[1, -1]) < 1e-6


def test_a_load_above_it_moves_the_rail_by_what_is_over(free):
    found = gone(replace(free, load=2.0 * free.friction), (0.0, 0.0, 0.0), 0.2)
    slipping = found.y[2] > 0.9999  # from then on; before, the guides give
    t, speed = found.t[slipping], found.y[1, slipping]
    assert t[0] < 0.05
    assert (speed[-1] - speed[0]) / (t[-1] - t[0]) == pytest.approx(free.friction / free.mass, rel=1e-3)


def test_damping_alone_lets_the_speed_die_away(free):
    damped = replace(free, friction=0.0, damping=8.0)
    found = gone(damped, (0.0, 0.1, 0.0), 0.25)
    assert found.y[1, -1] == pytest.approx(0.1 * math.exp(-8.0 / 2.0 * 0.25), rel=1e-6)
    lost = free.mass * (0.1**2 - found.y[1, -1] ** 2) / 2
    assert found.y[5, -1] == pytest.approx(lost, rel=1e-6)


def test_a_rail_on_a_weight_falls_freely_and_sinks_into_its_stop(free):
    fall, weight = 0.004, free.mass * 9.80665
    falling = replace(free, friction=0.0, load=weight, ahead=fall)
    found = gone(falling, (0.0, 0.0, 0.0), 0.05, max_step=1e-5)
    landed = np.searchsorted(found.y[0], fall)
    assert found.t[landed] == pytest.approx(math.sqrt(2 * fall / 9.80665), rel=1e-3)
    # m g (h + x) = k x^2 / 2
    ratio = weight / falling.stop_stiffness
    deepest = ratio + math.sqrt(ratio**2 + 2 * ratio * fall)
    assert found.y[0].max() - fall == pytest.approx(deepest, rel=1e-5)


def test_the_stop_behind_is_the_other_one_s_mirror(free):
    given = body(replace(free, ahead=0.003, behind=0.003))[loop.RAIL]
    assert loop.stopped(given, 0.0) == 0.0
    assert loop.stopped(given, 0.004) == pytest.approx(-100.0)
    assert loop.stopped(given, -0.004) == pytest.approx(100.0)


def test_a_load_on_a_spring_swings_as_mass_and_rate_say(free):
    sprung = replace(free, friction=0.0, rate=800.0)
    found = gone(sprung, (0.001, 0.0, 0.0), math.pi / math.sqrt(800.0 / 2.0))
    assert found.y[0, -1] == pytest.approx(-0.001, rel=1e-6)


def test_a_rail_made_fast_does_not_move(free):
    found = gone(replace(free, load=1e4, fixed=True), (0.0, 0.0, 0.0), 0.1)
    assert np.all(found.y[:2] == 0.0)
