"""One rod stands for all: whichever is drawn tighter, rest and touch are the same; tables held against presses."""

import math

import numpy as np
import pytest

from keyaction.cases.action.reader import read_case
from keyaction.cases.action.trains import train_of
from keyaction.models.algebra.names import Name
from keyaction.sim.figures.play import press_note
from keyaction.sim.figures.quantities import key_dip, pluck_point, steady_lift
from keyaction.sim.motion.note import NoteModel
from keyaction.sim.tightening.refer import standing_rod, strand, ways
from keyaction.sim.tightening.tightness import stretched, tightness
from keyaction.sim.tightening.touch import places, touches

NOTE = 60
STRETCH = np.round(np.arange(-0.8e-3, 2.4e-3, 0.1e-3), 7)


@pytest.fixture(scope="module")
def case():
    return read_case("demo-wood")


@pytest.fixture(scope="module")
def train(case):
    return train_of(case, NOTE)


@pytest.fixture(scope="module")
def known(train):
    return tightness({NOTE: train}, {NOTE: "drop"}, {NOTE: ways(train)["drop"]}, STRETCH)[NOTE]


def rest_of(train):
    model = NoteModel(train)
    press = press_note(model, read_case("demo-wood").strokes)
    return press, press.press.down


def test_the_strand_and_the_rod_that_stands_for_all(train):
    assert strand(train) == ("riser", "level-tracker", "drop", "pull-down")
    assert standing_rod(train) == "drop"  # its play is written
    assert standing_rod(train, near=("level-tracker", "riser")) == "riser"
    still = train.with_parameter(Name("drop", "slack"), 0.0, "none")
    assert standing_rod(still) == "level-tracker"  # the longest


def test_ways_by_the_arms(train):
    # demo-wood: key 150 of 230 mm at the tail, squares 50 : 50, roller 60 : 60.
    found = ways(train)
    assert set(found) == {"riser", "level-tracker", "drop", "pull-down"}
    assert all(way == pytest.approx(150 / 230, rel=1e-9) for way in found.values())


def test_ways_of_a_branched_strand():
    # The second pallet of a two-pallet key is no part of the strand of the first.
    case = read_case("two-pallets")
    rods = strand(train_of(case, case.compass[0]))
    every = [part.name for part in train_of(case, case.compass[0]).parts if part.role == "rod"]
    assert 0 < len(rods) < len(every)


@pytest.mark.parametrize("by", [0.35e-3, 0.9e-3])
def test_whichever_rod_is_drawn_tighter_the_touch_is_the_same(train, by):
    figures = []
    for rod in ("riser", "level-tracker", "pull-down"):
        press, down = rest_of(stretched(train, rod, by))
        figures.append([key_dip(press), pluck_point(press), steady_lift(press), float(down["force_pallet-seat"][0])])
    base = np.array(figures[0])
    for other in figures[1:]:
        np.testing.assert_allclose(other[:3], base[:3], atol=4e-6)  # m: the weights of rods hang on other ends
        assert other[3] == pytest.approx(base[3], abs=0.01)


def test_rest_by_lanes_is_that_of_scipy(train, known):
    for by in (-0.4e-3, 0.5e-3, 1.2e-3):
        down = rest_of(stretched(train, "drop", by))[1]
        assert float(known.at(known.travel, by)) == pytest.approx(down.rest, abs=2e-6)
        assert float(known.at(known.seat, by)) == pytest.approx(float(down["force_pallet-seat"][0]), abs=0.005)
        assert float(known.at(known.pulls["drop"], by)) == pytest.approx(float(down["force_drop"][0]), abs=0.005)


def test_a_slack_run_leaves_the_pallet_alone_and_a_tight_one_lifts_it(known):
    slack = known.stretch < 0.0
    assert np.ptp(known.seat[slack]) < 1e-4  # N
    assert np.all(np.diff(known.seat[known.stretch > 0.4e-3]) <= 1e-6)
    assert math.isfinite(known.opens) and known.opens < known.sounds
    assert float(known.at(known.seat, known.opens)) < 0.05


def test_the_place_where_it_sounds_is_that_of_the_verdict(case, train, known):
    # The verdict counts it a cipher above 10 % of the box's pressure in the groove.
    from keyaction.sim.figures.verdict import Fate, verdict

    near = (known.sounds - 0.02e-3, known.sounds + 0.02e-3)
    fates = [verdict(press_note(NoteModel(stretched(train, "drop", by)), case.strokes)).fate for by in near]
    assert fates[0] is not Fate.CIPHER and fates[1] is Fate.CIPHER


def test_touch_between_its_presses(case, train, known):
    felt = touches({NOTE: known}, {NOTE: -0.5e-3}, {NOTE: 1.0e-3}, case.strokes)[NOTE]
    for by in (-0.31e-3, 0.19e-3, 0.62e-3, 0.91e-3):
        press = rest_of(stretched(train, "drop", by))[0]
        assert float(felt.at("pluck_point", by)) == pytest.approx(pluck_point(press), abs=0.03e-3)
        assert float(felt.at("key_dip", by)) == pytest.approx(key_dip(press), abs=0.03e-3)
        assert float(felt.at("steady_lift", by)) == pytest.approx(steady_lift(press), abs=0.03e-3)


def test_over_a_wide_stretch_no_play_is_told_where_the_seat_is_relieved(case, train, known):
    felt = touches({NOTE: known}, {NOTE: -0.8e-3}, {NOTE: 1.3e-3}, case.strokes)[NOTE]
    line = np.linspace(-0.8e-3, 1.3e-3, 60)
    relieved = known.at(known.seat, line) < float(known.at(known.seat, -0.8e-3)) - 0.1
    assert np.any(relieved) and np.all(felt.at("lost_motion", line)[relieved] < 0.05e-3)
    for by in (-0.66e-3, 0.27e-3, 1.12e-3):
        press = rest_of(stretched(train, "drop", by))[0]
        assert float(felt.at("pluck_point", by)) == pytest.approx(pluck_point(press), abs=0.02e-3)


def test_a_run_so_slack_that_the_pallet_stays_shut_is_mute(case, train):
    slack = tightness({NOTE: train}, {NOTE: "drop"}, {NOTE: ways(train)["drop"]}, np.linspace(-9e-3, 0.0, 31))[NOTE]
    felt = touches({NOTE: slack}, {NOTE: -9e-3}, {NOTE: 0.0}, case.strokes)[NOTE]
    line = np.linspace(-9e-3, 0.0, 200)
    mute, lift = felt.mute(line), felt.at("steady_lift", line)
    assert mute[0] and not mute[-1] and np.all(np.diff(mute.astype(int)) <= 0)
    assert np.all(lift[mute] < 0.05e-3) and np.all(np.diff(lift) > -1e-9)
    edge = float(line[mute][-1])
    for by, opens in ((edge - 0.1e-3, False), (edge + 0.15e-3, True)):
        press = rest_of(stretched(train, "drop", by))[0]
        assert bool(np.any(press.press.down["seat_gap"] > 0.0)) is opens
    assert np.all(np.isnan(felt.at("pluck_point", line)[mute]))


def test_beyond_its_opening_a_note_has_no_pluck_but_a_dip(case, known):
    felt = touches({NOTE: known}, {NOTE: known.opens - 0.1e-3}, {NOTE: known.opens + 0.3e-3}, case.strokes)[NOTE]
    tight = known.opens + 0.2e-3
    assert math.isnan(float(felt.at("pluck_point", tight)))
    assert math.isfinite(float(felt.at("key_dip", tight)))
    assert math.isfinite(float(felt.at("pluck_point", known.opens - 0.05e-3)))


def test_places_of_presses(known):
    assert list(places(known, 0.0, 0.0)) == [0.0]  # a constant climate
    at = places(known, -0.5e-3, 1.0e-3)
    assert at[0] == -0.5e-3 and at[-1] == 1.0e-3 and np.all(np.diff(at) > 0)


def test_without_wind_it_counts_as_open_where_the_pallet_leaves_its_seat(train):
    from keyaction.sim.weighing.weighoff import wind_off

    still = tightness({NOTE: wind_off(train)}, {NOTE: "drop"}, {NOTE: 1.0}, STRETCH)[NOTE]
    assert still.sounds == still.opens
    assert math.isfinite(still.opens)
