"""The play of a coupler against rigid trains by hand: forces of two keys added, ways lost as play times ratio."""

import numpy as np
import pytest
from coupled_trains import SHORT, alone, pair

from keyaction.cases.action.strokes import usual_strokes
from keyaction.sim.coupling.setting import Bench
from keyaction.sim.coupling.split import GRID, NEAR, Own, Wishes, spare, split, staggered
from keyaction.sim.figures.play import press_note
from keyaction.sim.figures.sounding import pallet_groove_share, pallet_lift
from keyaction.sim.motion.note import NoteModel

HARD = {"felt.squeeze": "0.005 mm", "felt.force": "20 N"}
"""A contact that gives next to nothing: 20 N squeeze it by 5 µm."""
FRONT, TAIL = 0.230, 0.200
"""m from the pivot to the finger, and to where the hook takes hold and gives: 1 mm of play is 1.15 mm at the front."""
STROKES = usual_strokes()


@pytest.fixture(scope="module")
def single():
    return press_note(NoteModel(alone(SHORT)), STROKES)


@pytest.fixture(scope="module")
def bench():
    return Bench(pair("hook", **HARD), "coupler-ii-i", STROKES)


@pytest.fixture(scope="module")
def own(single):
    sounder = single.press.sounders[0]
    return {"high-pallet": Own(pallet_lift(single, sounder), pallet_groove_share(single, sounder))}


def added(single, play):
    """Force of the first key and of the second, which follows behind the play, at the ways of the first."""
    press = single.press
    travel = np.linspace(1e-5, press.bottom_point - 2e-4, 20001)
    behind = travel - play * FRONT / TAIL
    return travel, press.down.force_at(travel) + np.where(behind > 0, press.down.force_at(np.maximum(behind, 0)), 0.0)


@pytest.mark.parametrize("play", [0.0, 3e-4, 1e-3, 2e-3])
def test_the_peak_is_that_of_two_keys_added(single, bench, play):
    travel, force = added(single, play)
    last = single.press.pluck_point + play * FRONT / TAIL
    by_hand = np.max(force[travel <= last + 1e-3])
    assert bench.at(play).peak == pytest.approx(by_hand, rel=0.01)


def test_together_the_plucks_add_and_apart_the_higher_one_stands(single, bench):
    press = single.press
    assert bench.at(0.0).peak == pytest.approx(2 * press.pluck_force, rel=0.01)
    play = 2e-3
    after = press.down.force_at(press.pluck_point + play * FRONT / TAIL)
    assert bench.at(play).peak == pytest.approx(max(press.pluck_force, after + press.pluck_force), rel=0.01)
    assert bench.at(0.0).peak > 1.15 * bench.at(play).peak


def test_plucks_are_play_times_ratio_apart(bench):
    for play in (3e-4, 1e-3):
        apart = bench.at(play).after("high-pallet", "pallet") - bench.at(0.0).after("high-pallet", "pallet")
        assert apart == pytest.approx(play * FRONT / TAIL, rel=0.02)


def test_lift_lost_is_play_times_ratio(single, bench):
    """Where the driven key does not reach its felt, its pallet's lift falls by the key's travel times the train's."""
    down = single.press.down
    travel, lift = down.travel, down["pallet_lift"]
    ratio = np.polyfit(travel[-len(travel) // 3 :], lift[-len(travel) // 3 :], 1)[0]
    lost = bench.at(1e-3).lifts["high-pallet"] - bench.at(2e-3).lifts["high-pallet"]
    assert lost == pytest.approx(1e-3 * FRONT / TAIL * ratio, rel=0.03)


def test_the_choice_is_the_smallest_that_is_near_the_lowest(bench, own):
    wishes = Wishes(least_lift=0.6, least_play=0.0)
    found = split(bench, bench, own, wishes)
    allowed = [p for p in np.linspace(0.0, 4e-3, 81) if spare(bench.at(float(p)), own, wishes) >= 0.0]
    peaks = [bench.at(float(play)).peak for play in allowed]
    assert found.why == "peak"
    assert found.lowest == pytest.approx(min(peaks), rel=0.002)
    assert bench.at(found.play).peak <= (1 + NEAR) * found.lowest
    assert bench.at(found.play - 2 * GRID).peak > (1 + NEAR) * found.lowest
    near = [play for play, peak in zip(allowed, peaks, strict=True) if peak <= (1 + NEAR) * found.lowest]
    assert near[0] - 5e-5 <= found.play <= near[0] + GRID
    assert max(allowed) <= found.widest <= max(allowed) + 5e-5


def test_where_the_lift_allows_no_more_it_is_the_lift(bench, own):
    free, half = (bench.at(play).lifts["high-pallet"] for play in (0.0, 2e-4))
    wishes = Wishes(least_lift=half, of_own=False, least_play=0.0)
    found = split(bench, bench, own, wishes)
    assert found.widest == pytest.approx(2e-4, abs=2e-5)
    assert found.play <= found.widest
    assert bench.at(found.play).lifts["high-pallet"] >= half - 1e-7
    assert free > half


def test_a_lift_that_cannot_be_had(bench, own):
    found = split(bench, bench, own, Wishes(least_lift=own["high-pallet"].lift * 1.1, of_own=False, least_play=0.0))
    assert np.isnan(found.play)


def test_apart_by_what_is_asked(bench):
    play = staggered(bench, "pallet", "high-pallet", 1e-3)
    assert bench.at(play).after("high-pallet", "pallet") == pytest.approx(1e-3, abs=1e-5)
    assert np.isnan(staggered(bench, "pallet", "high-pallet", 0.02))


def test_farther_apart_with_no_play_at_all():
    soft = Bench(pair("hook", give_arm="240 mm", take_arm="160 mm", **HARD), "coupler-ii-i", STROKES)
    assert soft.at(0.0).after("high-pallet", "pallet") > 2e-4
    assert np.isnan(staggered(soft, "pallet", "high-pallet", 1e-4))


def test_a_choice_takes_few_presses(own):
    fresh = Bench(pair("hook", **HARD), "coupler-ii-i", STROKES)
    split(fresh, fresh, own, Wishes())
    assert fresh.presses <= 30
