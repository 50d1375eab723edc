"""Equilibria with Coulomb friction: by hand, against a slow press, over folds, and under loads."""

import math
from dataclasses import replace
from itertools import combinations

import numpy as np
import pytest
from demo_train import FRICTIONLESS
from equilibria import equilibrium, friction_at
from hung_key import SMOOTH, STIFFNESS, G, Hand, hung
from scipy.optimize import brentq

from keyaction.sim.motion import drives
from keyaction.sim.motion.integrate import Tolerances
from keyaction.sim.statics.balance import NoEquilibrium
from keyaction.sim.statics.press import press

TURNS = (0.7, 0.95, 1.02, 1.5, 4.0, 12.0)
"""Turns of the pallet over that at which it leaves its seat."""


@pytest.mark.parametrize("sense", [1, -1])
@pytest.mark.parametrize("share", TURNS)
def test_equilibrium_by_hand_with_friction(sense, share):
    hand = Hand(sense)
    turn = share * hand.opens
    force, way = hand.key(turn)
    model = hung()
    found = equilibrium(model, sense, travel=way - model_rest(model))
    assert found["key_force"] == pytest.approx(force, rel=2e-5)
    assert found["q_pallet"] == pytest.approx(turn, rel=2e-5)
    assert found["groove_pressure"] == pytest.approx(hand.groove(turn), rel=1e-5, abs=1e-4)


def model_rest(model):
    """Way of the key front at rest."""
    y = model.rest()
    off = drives.Drive("motion", (drives.Piece(0.0, 1.0),), stiffness=0.0)
    seen = model.kernel().observe(np.zeros(1), y[None, :], model.parameters(), off.vector(off.pieces[0]))[0]
    return seen[model.kernel().observables.index("key_travel")]


def test_without_friction_the_way_up_is_the_way_down():
    model = hung(**SMOOTH)
    for travel in (0.5e-3, 1.1e-3, 4e-3, 9e-3):
        down, up = (equilibrium(model, sense, travel=travel)["key_force"] for sense in (1, -1))
        assert up == pytest.approx(down, rel=1e-8)
    found = press(model)
    # Between the equilibria of the path the curves are drawn straight.
    assert friction_at(found, np.linspace(0.2e-3, 9e-3, 50)) == pytest.approx(0.0, abs=3e-3)
    force, way = Hand().key(Hand().opens)
    assert found.pluck_point == pytest.approx(way - found.down.rest, rel=1e-6)
    assert np.interp(found.pluck_point, found.down.travel, found.down.force) == pytest.approx(force, rel=1e-5)


def test_friction_is_half_the_difference_of_down_and_up():
    found = press(hung())
    for share in (8.0, 11.0):
        turn = share * Hand().opens
        down, up = Hand(1).key(turn), Hand(-1).key(turn)
        travel = (down[1] + up[1]) / 2 - found.down.rest
        slope = (down[1] - up[1]) / 2 * 40.0  # the two are a little apart: the pull stretches the wire
        assert friction_at(found, travel) == pytest.approx((down[0] - up[0]) / 2, rel=1e-2, abs=slope * 0.01)


@pytest.mark.parametrize(
    "changes",
    [
        {},
        {"t3.guides.breakaway": "0.05 N", "t3.guides.angle": 0.2, "t3.guides.coefficient": 0.3},
        {"t2.pieces": 3},
        {"t3.lost_motion": "1 mm", "groove.feet_area": "20 mm^2"},
        {"groove.feet_area": "500 mm^2"},
        {
            "t2.guides.stations.0.at": "450 mm",
            "t2.guides.stations.1.at": "900 mm",
            "t2.guides.stations.2.at": "1350 mm",
            "t2.side_motion": True,
        },
    ],
    ids=["demo", "guides", "pieces", "slack and sharp", "many stops", "side motion"],
)
def test_statics_and_a_slow_press_agree_to_half_a_percent(make_model, changes):
    model = make_model(**changes)
    found = press(model)
    motion = model.play(drives.press(0.002, 0.0105, 2e4, hold=0.3, ease=0.05))
    assert motion.status.ok
    travel, force = motion["key_travel"] - motion["key_travel"][0], motion["key_force"]
    down, up = motion.t <= motion.drive.mark("bottom"), motion.t >= motion.drive.mark("lift")
    left = np.flatnonzero(motion["seat_gap"][down] > 0)[0]
    assert found.pluck_point == pytest.approx(travel[left], rel=5e-3)
    before = travel[down] < travel[left] + 1e-3
    assert found.pluck_force == pytest.approx(force[down][before].max(), rel=5e-3)
    # The whole curve, but for the fall of the force at the pluck and its rise as the pallet closes, where the groove
    # takes its time to fill and the train rings.
    span = np.linspace(0.3e-3, 9.0e-3, 60)
    played = np.interp(span, np.maximum.accumulate(travel[down]), force[down])
    falling = (span > found.pluck_point - 0.05e-3) & (span < found.pluck_point + 1.5e-3)
    close = 5e-3 * found.pluck_force
    assert np.all(np.abs(found.down.force_at(span) - played)[~falling] < close)
    back = np.interp(span, np.minimum.accumulate(travel[up])[::-1], force[up][::-1])
    seating = np.abs(span - found.pluck_point) < 1.5e-3
    assert np.all(np.abs(found.up.force_at(span) - back)[~seating] < close)
    assert np.mean(friction_at(found, span[~seating & ~falling])) == pytest.approx(
        np.mean((played - back)[~seating & ~falling]) / 2, rel=0.04
    )


DRAWN = [sum(areas) for count in range(4) for areas in combinations((35.0, 28.0, 18.0), count)]
"""Toes of every combination of three stops, mm^2."""


@pytest.mark.parametrize("area", DRAWN)
def test_press_statics_and_laid_masses_agree_whatever_is_drawn(make_model, area):
    model = make_model(**{"groove.feet_area": f"{area} mm^2"})
    found = press(model)
    motion = model.play(drives.press(0.002, 0.0105, 2e4, hold=0.3, ease=0.05, release=False))
    travel, force = motion["key_travel"] - motion["key_travel"][0], motion["key_force"]
    # Up to the pluck: the fewer stops, the harder a key that sprang ahead lands on the gauge again.
    left = np.flatnonzero(motion["seat_gap"] > 0)[0]
    assert found.pluck_force == pytest.approx(force[: left + 1].max(), rel=5e-3)
    held = (travel > 6e-3) & (travel < 8e-3)
    assert np.mean(found.down.force_at(travel[held])) == pytest.approx(np.mean(force[held]), rel=5e-3)
    # Laid down slowly: what trembles lets a load creep on its pins.
    for share, opens in ((0.995, False), (1.005, True)):
        motion = model.play(drives.laid_mass(share * found.pluck_force / G, laying=5.0, hold=1.0))
        assert (motion["seat_gap"][-1] > 1e-3) == opens


def test_a_slow_press_tends_to_statics(make_model):
    # What is above the static pluck is the damping's and the groove's, nearly in proportion to the speed. Integrated
    # more finely than played: at the usual tolerance a pluck is known to 0.02 mN, of an excess of 3 mN.
    model = make_model(tolerances=Tolerances(relative=1e-7))
    still = press(model).pluck_force
    excess = []
    for speed in (0.008, 0.004, 0.002):
        motion = model.play(drives.press(speed, 0.005, 2e4, release=False, ease=0.05))
        excess.append(motion["key_force"][: np.argmax(motion["seat_gap"] > 0.2e-3)].max() - still)
    assert excess[1] / excess[0] == pytest.approx(0.5, abs=0.1)
    assert excess[2] / excess[1] == pytest.approx(0.5, abs=0.1)
    assert 0 < excess[2] < 3e-3 * still


def test_the_work_of_a_course_does_not_hang_on_places_that_are_next_to_one_another():
    course = press(hung()).down
    twice = np.repeat(np.arange(len(course.finger)), 2)
    seen = course.seen[twice]
    seen[1::2] += 1e-18
    doubled = replace(course, finger=course.finger[twice], states=course.states[twice], seen=seen)
    doubled = replace(doubled, extreme=course.extreme[twice])
    assert doubled.work == pytest.approx(course.work, rel=1e-9)
    straight = np.trapezoid(course.force[course.met], course.travel[course.met])
    assert course.work == pytest.approx(straight, rel=1e-2) and course.work < straight


# -- the snap ------------------------------------------------------------------------------------------------
SOFT = 1500.0


def by_hand_snap(hand, finger):
    """Turn at which the pallet's closing moment falls faster than finger and wire let go of it."""
    give = 1 / STIFFNESS + (0.250 / 0.400) ** 2 / finger
    carry = 0.165**2 / give

    def stability(turn):
        step = 1e-7
        return (hand.closing(turn + step) - hand.closing(turn - step)) / (2 * step) + carry

    turns = hand.opens + np.linspace(1e-6, 4e-3, 4000)
    first = next(i for i, turn in enumerate(turns) if stability(turn) < 0)
    return float(brentq(stability, turns[first - 1], turns[first]))


def test_the_snap_is_where_stability_is_lost():
    hand = Hand()
    snap = press(hung(**SMOOTH), stiffness=SOFT).snap
    turn = by_hand_snap(hand, SOFT)
    # By hand the arms are square: 1 - cos(2 mm / 165 mm) is 1e-4.
    assert snap.gap == pytest.approx(0.165 * (turn - hand.opens), rel=5e-3)
    force, _way = hand.key(turn)
    assert snap.force == pytest.approx(force, rel=1e-3)
    assert snap.force_after < 0.8 * snap.force
    assert snap.gap_after > 3 * snap.gap


def test_a_played_finger_snaps_where_statics_say():
    model = hung()
    found = press(model, stiffness=SOFT)
    motion = model.play(drives.press(0.001, 0.006, SOFT, release=False, ease=0.05))
    gap = found.snap.gap
    fastest = motion["v_pallet"].argmax()
    finger = np.array([next(p for p in motion.drive.pieces if t <= p.end + 1e-12).way_at(t) for t in motion.t])
    at = found.down.finger[found.down.met]
    jump = int(np.argmax(np.diff(found.down["seat_gap"][found.down.met])))
    assert gap == pytest.approx(found.down["seat_gap"][found.down.met][jump], rel=1e-6)
    # The finger is at the fold when the pallet flies; what it needs to get away is some hundredths of a millimetre.
    assert finger[fastest] == pytest.approx(at[jump], abs=0.1e-3)
    before = fastest - 1500
    assert motion["key_force"][before] == pytest.approx(
        float(np.interp(finger[before], at[: jump + 1], found.down.force[found.down.met][: jump + 1])), rel=5e-3
    )
    landed = int(np.searchsorted(finger, at[jump] + 0.8e-3))
    there = found.down.force[found.down.met][jump + 1 :]
    assert motion["key_force"][landed] == pytest.approx(
        float(np.interp(finger[landed], at[jump + 1 :], there)), rel=0.01
    )


def test_a_stiff_gauge_on_a_stiff_run_meets_no_snap(make_model):
    found = press(make_model(**FRICTIONLESS, **{"groove.feet_area": "800 mm^2"}))
    assert found.snap is None and found.down.snaps == ()
    assert len(found.down.met) == len(found.down.finger)


# -- loads ---------------------------------------------------------------------------------------------------
def test_a_laid_mass_comes_to_rest_at_the_equilibrium_of_its_weight(make_model):
    # Without friction it goes on swinging about it; with friction it may rest a little beyond, for it came with speed.
    for changes, beyond in ((FRICTIONLESS, 0.004e-3), ({}, 0.03e-3)):
        model = make_model(**changes)
        for grams in (60, 150):
            motion = model.play(drives.laid_mass(grams / 1000, laying=2.0, hold=3.0))
            way = np.mean(motion["key_travel"][motion.t > 3.0]) - motion["key_travel"][0]
            found = equilibrium(model, load=grams / 1000 * G)
            assert found["travel"] - 4e-6 < way < found["travel"] + beyond
            assert found["key_force"] == pytest.approx(grams / 1000 * G, rel=1e-6)


def test_equilibrium_that_is_not_there():
    model = hung()
    with pytest.raises(NoEquilibrium, match=r"no equilibrium at 15 mm of key travel on the way down"):
        equilibrium(model, travel=0.015)
    with pytest.raises(NoEquilibrium, match=r"no equilibrium at 9 N on the way down"):
        equilibrium(model, load=9.0)
    for wrong in ({}, {"travel": 1e-3, "load": 1.0}, {"sense": 0, "load": 1.0}):
        with pytest.raises(ValueError, match="a key travel or a load, and a sense"):
            equilibrium(model, **wrong)


def test_a_key_that_does_not_come_back():
    # Friction beyond all that pulls it up: the finger leaves it where it is.
    found = press(hung(**{"key.pin.breakaway": 0.9}))
    assert found.up["seat_gap"].min() > 1e-3
    assert found.up.force[-1] < 1e-3
    assert math.isfinite(found.pluck_force)


def test_nothing_drawn_and_no_leak():
    # The groove has no way out: its pressure is the box's as soon as the pallet is open at all.
    found = press(hung(**{"groove.feet_area": 0.0, "groove.leak": 0.0}))
    assert found.down["groove_pressure"][-1] == pytest.approx(Hand().wind, rel=1e-5)
    assert found.pluck_force == pytest.approx(Hand(1).key(Hand(1).opens)[0], rel=2e-3)


def test_no_wind():
    found = press(hung(**{"box.pressure": 0.0}))
    assert found.snap is None
    assert np.all(np.diff(found.down.force[found.down.travel > found.pluck_point]) > -1e-9)
