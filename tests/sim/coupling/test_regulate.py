"""One coupler at one note: edges, and what is said of them."""

import math

import pytest
from coupled_trains import alone, coupler, members, pair, three
from demo_train import LIBRARY

from keyaction.cases.action.strokes import usual_strokes
from keyaction.models.train.train import build_train
from keyaction.sim.coupling.regulate import DrivenNote, Task, regulate
from keyaction.sim.coupling.split import Wishes

STROKES = usual_strokes()
NAMES = {"pallet": "high-pallet"}


def set_one(train, other=None, name="coupler-ii-i", driven=None, **wishes):
    note = driven or DrivenNote(alone(**(other or {})), STROKES, NAMES)
    return regulate(Task("II/I", "great", 60, train, name, STROKES, note, Wishes(**wishes)))


def test_two_alike():
    found = set_one(pair())
    assert found.reason == ""
    assert found.chosen.first == found.own_pallet == "pallet"
    assert found.chosen.peak < found.free.peak
    assert found.chosen.lifts["high-pallet"] >= 0.9 * found.own["high-pallet"].lift
    assert found.chosen.delay("high-pallet", "pallet") > 0.0
    assert found.stated.play == pytest.approx(4e-4) and found.stated.work > 0.0


def test_a_play_that_couples_nothing_is_set():
    found = set_one(pair(play="9.5 mm"))
    assert math.isnan(found.stated.plucks["high-pallet"]) and found.stated.lifts["high-pallet"] == 0.0
    assert math.isnan(found.stated.delay("high-pallet", "pallet"))
    assert found.reason == "" and found.chosen.lifts["high-pallet"] > 5e-3


def test_a_ratio_that_takes_the_lift_is_blamed():
    found = set_one(pair(take_arm="120 mm", give_arm="200 mm"))
    assert found.chosen is None and found.play == found.stated.play
    assert "high-pallet lifts" in found.reason and "the ratio of the coupler" in found.reason


def test_a_least_play_that_is_too_much_is_told():
    found = set_one(pair(), least_play=3e-3)
    assert found.chosen is None
    usual = set_one(pair())
    most = f"{usual.split.widest * 1e3:.2f}"
    assert found.reason == f"the lift that is asked for allows {most} mm of play, less than the least of 3.00 mm"


def test_second_train_without_wind():
    windless = {"box": {"pressure": "0 Pa"}}
    found = set_one(pair(other=windless), other=windless)
    assert found.reason == "" and math.isnan(found.chosen.shares["high-pallet"])
    assert found.chosen.lifts["high-pallet"] >= 0.9 * found.own["high-pallet"].lift


def test_a_driven_key_that_is_held():
    found = set_one(pair(held=5.0))
    assert found.chosen is None
    assert found.reason == "high-pallet: speaks, held by another hand: high-key is held by 510 gf; nothing to set"


def test_a_driven_note_that_hangs():
    stuck = {"key": {"pin.breakaway": "400 N*mm"}}
    found = set_one(pair(other=stuck), other=stuck)
    assert found.chosen is None
    assert found.reason.startswith("high-pallet with the driven key alone: hangs")
    assert found.reason.endswith("mend that first")


def test_the_driven_pallet_opens_first_whatever_the_least_play():
    found = set_one(pair(take_arm="200 mm", give_arm="120 mm", own={"pd": {"lost_motion": "1.5 mm"}}), least_play=0.0)
    assert found.free.first == "high-pallet"
    assert found.chosen.peak <= found.free.peak


def test_two_couplers_onto_one_note_each_does_without_the_other():
    parts = [*members(), *members("high-")]
    both = [
        coupler("coupler-a", "hook", "key", "high-key", play="0.3 mm"),
        coupler("coupler-b", "hook", "key", "high-key", play="0.4 mm"),
    ]
    found = set_one(build_train([*parts, *both], LIBRARY), name="coupler-b")
    single = set_one(pair(play="0.4 mm"))
    assert found.split.widest == pytest.approx(single.split.widest, abs=1e-5)


def test_in_chain_both_pallets_behind_count():
    driven = DrivenNote(pair(), STROKES, {"pallet": "high-pallet", "high-pallet": "far-pallet"})
    found = set_one(three(chain=True, play="0.1 mm"), driven=driven, least_play=0.0)
    assert found.reason == "" and set(found.own) == {"high-pallet", "far-pallet"}
    for pallet in ("high-pallet", "far-pallet"):
        assert found.chosen.lifts[pallet] >= 0.9 * found.own[pallet].lift - 1e-8
