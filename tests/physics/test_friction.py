"""Dry friction: a mass below break-away stays where it lies, and the loop tends to Coulomb's."""

from itertools import pairwise

import numpy as np
import pytest
from motions import tightened
from spellings import figures
from tiny import bench

from keyaction.models.algebra.builder import Port
from keyaction.models.algebra.laws import Bar
from keyaction.sim.motion import drives
from keyaction.sim.motion.drives import Drive, Piece

# A key without weight of its own and 5 mm of play before the first rod: nothing but its stiff pin holds it.
FREE_KEY = {
    "key.balance_moment": 0.0,
    "key.pin.breakaway": 0.05,
    "t1.lost_motion": "5 mm",
    "t1.moves": "level",
}


def breakaway_mass(model):
    """By hand: m g r = tau0 + mu r_pin (W + m g) at the front of the key."""
    p = {name: item.value for name, item in figures(model.train).items()}
    return (p["tau0_key"] + p["c_key"] * p["W_key"]) / (9.80665 * (0.230 - p["c_key"]))


def lay(model, mass):
    """Lay a mass on the key over half a second; way of the key, from half a second after that on, for a second."""
    motion = model.play(drives.laid_mass(mass, laying=0.5, hold=1.5))
    assert motion.status.ok
    return motion["key_travel"][motion.t >= 1.0 - 1e-9] - motion["key_travel"][0]


@pytest.mark.parametrize("share", [0.3, 0.5, 0.8, 0.9])
def test_below_break_away_a_mass_rests(make_model, share):
    model = make_model(**FREE_KEY)
    way = lay(model, share * breakaway_mass(model))
    # The bushing gives a little elastically first: phi_slip (0.1 mrad) a few times, at 230 mm.
    assert 0.0 < way[0] < 5 * 1e-4 * 0.230
    assert abs(way[-1] - way[0]) < 1e-6
    assert np.ptp(way) < 1e-6


@pytest.mark.parametrize("share", [1.02, 1.1])
def test_above_break_away_a_mass_sinks(make_model, share):
    # Until the play of 5 mm at 150 mm is taken up: 7.7 mm at the front, and a little more where the train gives.
    model = make_model(**FREE_KEY)
    way = lay(model, share * breakaway_mass(model))
    assert way[-1] > 0.005 * 230 / 150 * 0.9
    assert way.max() > 0.005 * 230 / 150


@pytest.mark.parametrize("mass", [0.05, 0.10, 0.15, 0.20])
def test_a_mass_rests_on_the_sprung_train(make_model, mass):
    # Below the pluck every rod, shaft, felt and pin of the train carries its share of the load, and none creeps.
    way = lay(make_model(), mass)
    assert 0.2e-3 < way[0] < 2.5e-3
    assert np.ptp(way) < 1e-6


def wheel(builder):
    """A wheel in a tight bushing, turned to and fro through a stiff spring."""
    body = builder.coordinate("rad", "turn", "wheel")
    builder.inertia(body, builder.param("J", "kg*m^2", "inertia"))
    pin = Port("wheel", body, body.q)
    builder.dry_friction("u", pin, builder.param("T", "N*m", "friction"), builder.param("give", "rad", "give"), "pin")
    spring = Bar(builder.param("K", "N*m/rad", "spring"), builder.param("C", "N*m*s/rad", "its damping"))
    turn, speed = builder.input("x_finger", "rad", "turn of the hand"), builder.input("v_finger", "rad/s", "its speed")
    builder.element("", "twist", [(pin, -1)], spring, "spring", unit="rad", offset=turn, drive_rate=speed)


TORQUE, SWING = 0.02, 0.05


def loop_area(mechanism, give):
    """Work lost per cycle over 4 T theta, theta being the wheel's own amplitude, in the third cycle."""
    quarter = 0.2
    pieces = [drives.quintic(0.0, quarter, 0.0, SWING)]
    for half in range(6):
        start = quarter + 2 * quarter * half
        side = SWING * (-1) ** half
        pieces.append(drives.quintic(start, start + 2 * quarter, side, -side))
    motion = mechanism.run({}, Drive("motion", tuple(pieces)), tightened(1e-3), give=give)
    assert motion.status.ok
    last = motion.t >= quarter * 9 - 1e-9
    turn, lost = motion["q_wheel"][last], motion["work_friction"][last]
    return (lost[-1] - lost[0]) / (4 * TORQUE * np.ptp(turn) / 2), np.ptp(turn) / 2


def test_the_loop_tends_to_coulombs():
    # Closed form: bushing torque T over an amplitude theta loses 4 T theta per cycle. The give of the bushing costs
    # a share in proportion to it, so the error is of first order in give/theta.
    mechanism = bench(wheel, J=1e-6, T=TORQUE, K=20.0, C=1e-3)
    gives = SWING * np.array([1e-1, 3e-2, 1e-2, 3e-3])
    areas, amplitudes = np.array([loop_area(mechanism, float(give)) for give in gives]).T
    assert np.all(amplitudes > 0.9 * SWING)
    errors = 1 - areas
    assert np.all(errors > 0.0)
    order = np.polyfit(np.log(gives), np.log(errors), 1)[0]
    assert order == pytest.approx(1.0, abs=0.05)
    assert errors[-1] < 5e-3
    # Extrapolated to no give at all: Coulomb's, but for terms of second order.
    assert areas[-1] + errors[-2] * gives[-1] / gives[-2] == pytest.approx(1.0, abs=5e-4)


def test_friction_opposes_the_motion_and_saturates():
    # The spring holds the friction alone (the wheel weighs nothing to speak of): plus and minus T at either end.
    mechanism = bench(wheel, J=1e-6, T=TORQUE, K=20.0, C=1e-3, give=1e-4)
    there = drives.quintic(0.0, 1.0, 0.0, SWING)
    back = drives.quintic(1.0, 2.0, SWING, -SWING)
    motion = mechanism.run({}, Drive("motion", (there, back, Piece(2.0, 2.5, (-SWING,)))), tightened(1e-2))
    torque = 20.0 * (np.array([(there if t <= 1.0 else back).way_at(t) for t in motion.t]) - motion["q_wheel"])
    for instant, sign in ((0.5, 1.0), (1.5, -1.0)):
        assert np.interp(instant, motion.t, torque) == pytest.approx(sign * TORQUE, rel=2e-2)
    # Nowhere, not even where it turns round, is it more than that.
    moving = motion.t < 2.0
    assert np.max(np.abs(torque[moving])) < 1.02 * TORQUE
    # At rest the spring stays wound by the friction: nothing unwinds it.
    assert motion["q_wheel"][-1] == pytest.approx(-SWING + TORQUE / 20.0, abs=2e-4)


@pytest.mark.parametrize(("mean", "swing"), [(0.5, 0.2), (0.3, 0.2), (0.8, 0.1), (0.5, 0.05), (0.0, 0.5)])
def test_a_load_that_trembles_without_end_creeps(mean, swing):
    # Dahl's law goes from share a to share b of break-away over reach ln((1-a)/(1-b)), and comes back over
    # reach ln((1+b)/(1+a)): what is left of a cycle is the creep that the law's docstring owns up to.
    give, rate = 1e-4, 20.0
    mechanism = bench(wheel, J=1e-6, T=TORQUE, K=20.0, C=1e-3)
    rise, half = 0.5, 0.5 / rate
    ends = [mean - swing, *([mean + swing, mean - swing] * 10)]
    # A spring so soft that the wheel's own way does not unload it: a twist of 1 rad is break-away.
    pieces = [drives.quintic(0.0, rise, 0.0, ends[0])]
    for i, (start, end) in enumerate(pairwise(ends)):
        pieces.append(drives.quintic(rise + i * half, rise + (i + 1) * half, start, end))
    motion = mechanism.run({}, Drive("motion", tuple(pieces)), tightened(1e-3), give=give, K=TORQUE, C=0.0)
    ways = np.interp(rise + np.arange(4, 11) / rate, motion.t, motion["q_wheel"])
    creep = give * np.log((1 - (mean - swing) ** 2) / (1 - (mean + swing) ** 2))
    assert np.diff(ways) == pytest.approx([creep] * 6, rel=0.02, abs=1e-3 * give)
