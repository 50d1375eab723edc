"""Where a floating rail stands, by hand: springs that only pull, gravity, friction, stops."""

import dataclasses
import time

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from springs_on_a_rail import KNOWN, G, note, rail, springs

from keyaction.models.frame.changes import RunRod
from keyaction.sim.floating.closed import dead_band, tightest_rod, weighted_mean
from keyaction.sim.floating.curves import Curve
from keyaction.sim.floating.equilibrium import HALVINGS, Held, followed, gain, pulls_on_rail, rail_course

YEAR = np.sin(2 * np.pi * np.arange(365) / 365)


def set_to_load(held):
    """Stretches at which springs carry equal shares with the rail at its centre, by hand."""
    k = np.array([float(curve.slope(1e-3)) for curve in held.curves])
    return held.rail.load / len(held.notes) / k


def test_under_gravity_equal_rods_stretch_by_their_share():
    mass, k, n = 2.4, 1800.0, 10
    course = springs(rail(mass * G), [k] * n).course(np.zeros((n, 1)))
    assert course.place == pytest.approx(mass * G / (n * k), rel=1e-9)
    assert course.pull == pytest.approx(mass * G, rel=1e-9)
    assert course.at_stop == 0


def test_gains_count_twice_once_as_way_and_once_as_force():
    held = springs(rail(12.0), [1000.0, 2000.0], gains=[0.5, 2.0])
    assert held.course(np.zeros((2, 1))).place == pytest.approx(12.0 / (1000 * 0.25 + 2000 * 4.0), rel=1e-9)


def test_a_spring_that_falls_as_the_rail_goes_holds_it_back():
    held = springs(rail(12.0, rate=500.0), [1000.0, 2000.0])
    assert held.course(np.zeros((2, 1))).place == pytest.approx(12.0 / 3500.0, rel=1e-9)


def test_taut_rods_and_no_friction_take_out_the_mean_weighed_by_stiffness():
    k, g = np.array([1000.0, 1500.0, 3000.0, 800.0]), np.array([1.0, 0.8, 1.2, 1.0])
    held = springs(rail(40.0), k, gains=g)
    base = 40.0 / 4 / (k * g)
    tighter = np.outer([1e-3, 0.5e-3, -0.4e-3, 2e-3], YEAR)
    course = held.course(base[:, None] + tighter)
    by_hand = -(k * g) @ tighter / (k @ g**2)
    assert course.place == pytest.approx(by_hand, abs=1e-12)
    assert weighted_mean(held, base, tighter) == pytest.approx(by_hand, abs=1e-15)
    assert course.pull == pytest.approx(40.0, rel=1e-9)


def test_with_a_vanishing_load_it_goes_to_the_tightest_rod():
    held = springs(rail(1e-6), [1000.0, 2000.0, 500.0], gains=[1.0, 0.5, 1.0])
    stretch = np.array([[-0.3e-3, 1e-3], [-0.1e-3, -1e-3], [-0.7e-3, 2e-3]])
    course = held.course(stretch)
    assert course.place == pytest.approx([0.2e-3, -2e-3], abs=3e-9)
    assert tightest_rod(held, stretch) == pytest.approx([0.2e-3, -2e-3], abs=1e-15)


def test_alike_changes_and_an_ideal_rail_leave_nothing():
    held = springs(rail(30.0), [1000.0, 1700.0, 900.0])
    base = set_to_load(held)
    course = held.course(base[:, None] + 1.5e-3 * YEAR)
    left = base[:, None] + 1.5e-3 * YEAR + course.place
    assert left == pytest.approx(np.repeat(base[:, None], 365, axis=1), abs=1e-12)


def test_one_note_alone_keeps_its_pull():
    held = springs(rail(2.0), [1000.0])
    course = held.course(2e-3 + 1e-3 * YEAR[None, :])
    assert course.place == pytest.approx(-1e-3 * YEAR, abs=1e-12)
    assert course.pull == pytest.approx(2.0, rel=1e-9)


def test_an_over_tight_note_carries_the_whole_load():
    held = springs(rail(5.0, behind=10e-3), [2000.0] * 6)
    stretch = np.zeros((6, 1))
    stretch[2] = 4e-3
    course = held.course(stretch)
    pulls = held.pulls(stretch, course.place)[:, 0]
    assert pulls == pytest.approx([0, 0, 5.0, 0, 0, 0], abs=1e-9)
    assert course.place == pytest.approx(5.0 / 2000 - 4e-3, rel=1e-9)


def test_a_rail_at_its_stop_leaves_the_rest_to_the_notes():
    held = springs(rail(10.0, ahead=1e-3, behind=0.5e-3), [1000.0] * 4)
    base = set_to_load(held)
    course = held.course(base[:, None] + np.array([[-3e-3, -0.6e-3, 0.0, 0.3e-3, 2e-3]]))
    assert course.place == pytest.approx([1e-3, 0.6e-3, 0.0, -0.3e-3, -0.5e-3], abs=1e-12)
    assert course.at_stop.tolist() == [1, 0, 0, 0, -1]
    assert course.pull == pytest.approx([4 * 0.5, 10, 10, 10, 4 * (2.5 + 1.5)], rel=1e-9)


@pytest.mark.parametrize(
    "others", [{"fixed": True}, {"friction": np.inf}, {"load": np.inf, "ahead": 0.0}, {"rate": 1e15}]
)
def test_fixed_infinite_friction_load_or_stiffness_are_a_fixed_rail(others):
    course = springs(rail(**{"load": 20.0, **others}), [1000.0] * 3).course(1e-3 * YEAR * np.ones((3, 1)))
    assert course.place == pytest.approx(np.zeros(365), abs=1e-12)


def test_an_infinite_load_stands_at_its_stop_all_year():
    course = springs(rail(np.inf), [1000.0] * 3).course(1e-3 * YEAR * np.ones((3, 1)))
    assert course.place == pytest.approx(np.full(365, 5e-3), abs=0)
    assert np.all(course.at_stop == 1)


def test_dead_band_of_friction():
    k, f = np.array([1000.0, 1500.0, 2500.0]), 0.6
    held = springs(rail(30.0, friction=f), k)
    base = set_to_load(held)
    course = held.course(base[:, None])
    assert course.lower == pytest.approx(-f / k.sum(), rel=1e-9)
    assert course.upper == pytest.approx(f / k.sum(), rel=1e-9)
    assert dead_band(held, base) == pytest.approx(f / k.sum(), rel=1e-12)
    assert course.place == 0.0


def test_friction_lets_the_rail_follow_late_by_its_dead_band():
    held = springs(rail(30.0, friction=0.5), [1000.0] * 5)
    base, half = set_to_load(held)[:, None], 0.5 / 5000
    course = held.course(base + 1e-3 * YEAR)
    free = -1e-3 * YEAR
    assert course.upper - course.lower == pytest.approx(np.full(365, 2 * half), rel=1e-6)
    assert np.max(np.abs(course.place - free)) == pytest.approx(half, rel=1e-6)
    turning = np.argmin(free)
    assert course.place[turning] == pytest.approx(-1e-3 + half, abs=1e-8)
    assert course.place[turning + 1] == course.place[turning]


def test_far_too_much_friction_leaves_it_at_its_centre():
    held = springs(rail(30.0, friction=29.9), [1000.0] * 5)
    course = held.course(set_to_load(held)[:, None] + 1e-3 * YEAR)
    assert np.all(course.place == 0.0)
    assert np.all(course.at_stop == 0)


def test_without_load_it_stays_where_a_rod_last_left_it():
    course = springs(rail(0.0), [1000.0] * 2).course(np.array([[-1e-3, 1e-3, -1e-3]] * 2))
    assert course.place == pytest.approx([0.0, -1e-3, -1e-3], abs=10e-3 / 2**HALVINGS)  # a kink


def test_what_follows_a_band_from_its_place_before():
    lower, upper = np.array([0.1, -0.5, -0.5, -0.9]), np.array([0.3, 0.5, -0.2, -0.7])
    assert followed(lower, upper).tolist() == [0.1, 0.1, -0.2, -0.7]


def test_a_course_beyond_the_known_goes_on_and_never_pushes():
    curve = Curve.of(np.array([1e-3, 2e-3, 3e-3]), np.array([1.0, 2.0, 4.0]))
    assert curve.at(np.array([0.5e-3, 0.0, -1.0, 4e-3])) == pytest.approx([0.5, 0.0, 0.0, 6.0], abs=1e-9)
    assert curve.reaches(0.5) == pytest.approx(0.5e-3, rel=1e-9)
    assert curve.reaches(0.0) == pytest.approx(0.0, abs=1e-12)
    assert np.isnan(curve.reaches(1e9))


def test_nodes_that_did_not_settle_are_left_out_and_an_open_pallet_pulls_on():
    curve = Curve.of(np.arange(5.0), np.array([0.0, np.nan, 2.0, 1.5, 3.0]))
    assert curve.at(np.array([1.0, 3.0, 3.5])) == pytest.approx([1.0, 2.0, 2.5])
    with pytest.raises(ValueError, match="two known nodes"):
        Curve.of(np.arange(3.0), np.array([np.nan, 1.0, np.nan]))


def test_each_rod_at_the_rails_levers_pulls_by_how_the_rail_draws_it():
    """A backfall between a sticker from below and a tracker from above: a rail that sinks draws both tighter."""
    sticker = RunRod("sticker", "key", "backfall", (0.0, 0.0, 1.0), 1.0, None, 0.01, True)
    tracker = RunRod("tracker", "backfall", "pallet", (0.0, 0.0, 1.0), 1.0, None, 0.01, False)
    leaning = RunRod("leaning", "backfall", "pallet", (0.6, 0.0, 0.8), 1.0, None, 0.01, False)
    on = dataclasses.replace(rail(), carries=("backfall",))
    one = dataclasses.replace(note(60), pulls={"sticker": KNOWN, "tracker": 2 * KNOWN, "leaning": 2 * KNOWN})
    assert pulls_on_rail(on, one, (sticker, tracker)) == pytest.approx(3 * KNOWN)
    assert pulls_on_rail(on, one, (sticker, leaning)) == pytest.approx(2.6 * KNOWN)
    ways = {"sticker": 0.5, "tracker": 0.25}
    # 1 mm of rail is 2 mm of key at the sticker and 4 mm at the tracker: 3 mm of a sticker that stands for all
    assert gain(on, (sticker, tracker), ways, "sticker") == pytest.approx(3.0)
    assert gain(on, (sticker, tracker), ways, "tracker") == pytest.approx(1.5)
    hangs = dataclasses.replace(tracker, along=(0.0, 0.0, -1.0))  # drawn slacker by it: more than the sticker gains
    assert gain(on, (sticker, hangs), ways, "sticker") == pytest.approx(-1.0)


def test_a_rail_that_goes_the_wrong_way_or_holds_nothing_says_so():
    with pytest.raises(ValueError, match="slacker"):
        Held.of(rail(), {60: note(60)}, {60: -1.0}, {60: KNOWN})
    with pytest.raises(ValueError, match="no note"):
        rail_course(rail(), {}, {}, {}, np.zeros((0, 3)))


stretches = st.lists(st.floats(-2e-3, 2e-3), min_size=3, max_size=3)


@settings(max_examples=60, deadline=None)
@given(stretches, stretches, st.floats(0.1, 30.0), st.floats(0.0, 3.0))
def test_balance_bounds_and_monotony(one, more, load, friction):
    held = springs(rail(load, friction=friction), [900.0, 1600.0, 400.0], gains=[1.0, 0.7, 1.3], weight=0.02)
    at = np.array([one, np.maximum(one, more)]).T
    course = held.course(at)
    assert np.all((course.lower <= course.place + 1e-15) & (course.place <= course.upper + 1e-15))
    assert course.lower[1] <= course.lower[0] + 1e-12 and course.upper[1] <= course.upper[0] + 1e-12
    between = course.at_stop == 0
    assert np.all(np.abs(course.pull - load)[between] <= friction + 1e-8)
    heavier = held.loaded(load + 1.0).course(at)
    assert np.all(heavier.lower >= course.lower - 1e-12)


def test_a_year_of_all_notes_is_soon_done():
    rng = np.random.default_rng(1)
    held = springs(rail(40.0, friction=1.0), rng.uniform(800.0, 3000.0, 142))
    stretch = set_to_load(held)[:, None] + np.outer(rng.uniform(0.5e-3, 1.5e-3, 142), YEAR)
    start = time.process_time()
    held.course(stretch)
    assert time.process_time() - start < 1.0


def test_the_function_is_the_course_of_what_is_held():
    held = springs(rail(10.0), [1000.0, 1500.0])
    tightness = {i: dataclasses.replace(note(i)) for i in held.notes}
    pulled = {i: curve.at(KNOWN) for i, curve in zip(held.notes, held.curves, strict=True)}
    stretch = np.outer([1e-3, 2e-3], YEAR)
    course = rail_course(held.rail, tightness, {60: 1.0, 61: 1.0}, pulled, stretch)
    assert course.place == pytest.approx(held.course(stretch).place, abs=1e-12)
    assert course.gains == {60: 1.0, 61: 1.0}
