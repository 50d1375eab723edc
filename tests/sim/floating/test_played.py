"""Played notes on a floating rail, by hand."""

import numpy as np
import pytest
from springs_on_a_rail import rail, springs

from keyaction.sim.floating.centre import centred
from keyaction.sim.floating.played import chord, each_alone, hardest, shift_when_played

K, N, LOAD, WAY = 1000.0, 10, 20.0, 0.65


def ten(**others):
    return springs(rail(LOAD, **others), [K] * N, way=WAY, opens=4e-3)


def test_one_note_moves_the_rail_by_what_it_pulls_more_over_the_others_stiffness():
    held = ten()
    shift = shift_when_played(held, centred(held).stretch, {63: 3.5})
    by_hand = -(3.5 - LOAD / N) / ((N - 1) * K)
    assert shift.way == pytest.approx(by_hand, rel=1e-6)
    assert shift.closed == pytest.approx(by_hand, rel=1e-9)
    assert shift.taut and shift.slack == () and shift.lifted == () and shift.at_stop == 0
    assert set(shift.given) == set(held.notes) - {63}
    assert shift.given[60] == pytest.approx(-by_hand / WAY, rel=1e-6)
    assert shift.play[60] == 0.0


def test_gains_weigh_the_others():
    gains = np.linspace(0.5, 1.5, N)
    held = springs(rail(LOAD), [K] * N, gains=gains, opens=np.inf)
    shift = shift_when_played(held, centred(held).stretch, {60: 3.0})
    assert shift.way == pytest.approx(-(3.0 - LOAD / N) / (K * np.sum(gains[1:] ** 2)), rel=1e-6)
    assert shift.given[69] == pytest.approx(-shift.way * 1.5 / WAY, rel=1e-9)
    assert shift.worst == (61, 0.0)  # none has play: the first


def test_a_chord_that_pulls_more_than_the_load_runs_to_the_stop():
    held = ten(behind=3e-3)
    shift = shift_when_played(held, centred(held).stretch, dict.fromkeys((60, 62, 64, 66, 68), 4.5))
    assert shift.at_stop == -1
    assert shift.way == pytest.approx(-3e-3, rel=1e-9)
    assert set(shift.slack) == {61, 63, 65, 67, 69}
    assert shift.play[61] == pytest.approx((3e-3 - LOAD / N / K) / WAY, rel=1e-6)
    assert shift.worst[1] == pytest.approx(shift.play[61])
    assert not shift.taut


def test_stiff_rods_go_slack_first():
    held = springs(rail(12.0), [4000.0, 1000.0, 1000.0], way=1.0, opens=np.inf)
    shift = shift_when_played(held, centred(held).stretch, {62: 10.0})
    # the stiff one slack, the soft one alone: 4 - 1000 z = 12 - 10
    assert shift.way == pytest.approx(-2e-3, rel=1e-6)
    assert shift.slack == (60,)
    assert shift.worst == (60, pytest.approx(1e-3, rel=1e-6))
    assert shift.play[61] == 0.0


def test_a_note_that_pulls_less_when_held_lets_the_rail_lift_anothers_pallet():
    held = springs(rail(12.0), [2000.0] * 3, opens=2.2e-3)
    shift = shift_when_played(held, centred(held).stretch, {60: 2.0})
    assert shift.way == pytest.approx(2.0 / 4000.0, rel=1e-6)
    assert shift.lifted == (61, 62)
    assert shift.given[61] < 0.0


def test_friction_holds_a_small_pull_and_takes_its_share_of_a_large_one():
    held = ten(friction=1.0)
    at = centred(held).stretch
    assert shift_when_played(held, at, {60: 2.9}).way == 0.0
    large = shift_when_played(held, at, {60: 3.5})
    assert large.way == pytest.approx(-(1.5 - 1.0) / (9 * K), rel=1e-6)
    assert large.closed == pytest.approx(large.way, rel=1e-6)


def test_a_fixed_rail_does_not_move():
    held = ten(fixed=True)
    shift = shift_when_played(held, centred(held).stretch, {60: 30.0})
    assert shift.way == shift.closed == 0.0 and shift.at_stop == 0


def test_a_spring_for_a_load_gives_way_as_one_rod_more():
    held = springs(rail(LOAD, rate=500.0), [K] * N)
    shift = shift_when_played(held, centred(held).stretch, {60: 3.0})
    assert shift.way == pytest.approx(-1.0 / (9 * K + 500.0), rel=1e-6)
    assert shift.closed == pytest.approx(shift.way, rel=1e-6)


def test_each_note_alone_and_chords():
    held = ten()
    at, pulls = centred(held).stretch, {note: 2.5 + 0.1 * (note - 60) for note in range(60, 70)}
    alone = each_alone(held, at, pulls)
    assert alone[69].way == pytest.approx(-(3.4 - 2.0) / (9 * K), rel=1e-6)
    assert abs(alone[69].way) > abs(alone[60].way)
    assert hardest(pulls, 3) == (67, 68, 69)
    both = chord(held, at, pulls, (60, 64))
    assert both.way == pytest.approx(-(2.5 + 2.9 - 4.0) / (8 * K), rel=1e-6)


def test_all_notes_at_once_against_the_load_alone():
    held = ten()
    at = centred(held).stretch
    assert shift_when_played(held, at, dict.fromkeys(held.notes, 1.9)).at_stop == 1
    less = shift_when_played(held, at, dict.fromkeys(held.notes, 2.1))
    assert less.at_stop == -1 and less.worst is None


def test_the_rail_starts_where_it_is_said_to():
    held = ten(friction=1.0)
    shift = shift_when_played(held, centred(held).stretch, {60: 2.0}, place=0.5e-4)
    assert shift.before == 0.5e-4 and shift.way == 0.0
