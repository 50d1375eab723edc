"""What can be turned or wrong at a note, against closed forms: levers, friction, weights, wind."""

import math

import numpy as np
import pytest

import keyaction as ka
from keyaction.cases.action.trains import check_trains
from keyaction.models.readings.figures import NAMES
from keyaction.models.readings.readings import Head
from keyaction.sim.figures.sketch import rigid
from keyaction.sim.measuring.computed import as_measured, computed, drawn_levels
from keyaction.sim.measuring.knobs import KINDS, changed, knobs, one_of, together
from keyaction.sim.measuring.slopes import Point, slopes

WEIGHTS = ("pluck", "hold", "up", "pluck_off", "hold_off", "up_off")
DOWN, UP = ("pluck", "pluck_off"), ("hold", "up", "hold_off", "up_off")
NUT, RUB, HEAVIER, FELT, MORE = 0.4e-3, 0.2, -0.15, 0.5e-3, 100.0


@pytest.fixture(scope="module")
def bench():
    """One note of a sticker action, changed in every way at once pressed: figures by name of the change."""
    case = ka.read_case("cases/kinds/sticker-backfall.toml")
    train = check_trains(case, [65])[65]
    one = {kind: one_of(train, kind) for kind in KINDS}
    ways = {
        "plain": [],
        "nut": [(one["nut"], NUT)],
        "friction": [(one["friction"], RUB)],
        "guide": [(one["guide"], RUB)],
        "balance": [(one["balance"], HEAVIER)],
        "rest": [(one["rest"], FELT)],
        "bottom": [(one["bottom"], FELT)],
        "pressure": [(one["pressure"], MORE)],
        "seal": [(one["seal"], 0.1)],
        "spring": [(one["spring"], -0.2)],
        "leak": [(one["leak"], 60e-6)],
        "frame": [(knob, -FELT * factor) for knob, factor in together(train, "frame")],
    }
    found = computed([changed(train, way) for way in ways.values()], case.strokes)
    found = found.from_level(drawn_levels([train], case.strokes)[0])
    return case, train, dict(zip(ways, found.values, strict=True)), dict(zip(ways, found.speech, strict=True))


def moved(bench, way):
    """Change of every figure by name."""
    values = bench[2]
    return dict(zip(NAMES, values[way] - values["plain"], strict=True))


def test_a_nut_is_play_by_its_lever(bench):
    train, by = bench[1], moved(bench, "nut")
    way = rigid(train).way(one_of(train, "nut").part)
    assert by["play"] == pytest.approx(NUT / way, rel=0.01)
    assert by["point"] == pytest.approx(NUT / way, rel=0.01)
    last = rigid(train).last
    assert by["lift"] == pytest.approx(-NUT / way * last, rel=0.02)  # the way that is lost is lost at the pallet
    assert [by[name] for name in WEIGHTS] == pytest.approx([0.0] * 6, abs=0.005)


def test_friction_adds_going_down_and_subtracts_coming_up(bench):
    for kind in ("friction", "guide"):
        by = moved(bench, kind)
        assert [by[name] for name in DOWN] == pytest.approx([RUB] * 2, rel=0.04)
        assert [by[name] for name in UP] == pytest.approx([-RUB] * 4, rel=0.04)


def test_a_heavier_key_is_lighter_by_so_much_in_every_weight(bench):
    by = moved(bench, "balance")
    # what the rubbing pins carry changes with it, a little
    assert [by[name] for name in WEIGHTS] == pytest.approx([-HEAVIER] * 6, rel=0.01)


def test_a_frame_that_sinks_is_level_and_play_by_the_lever_and_leaves_the_dip(bench):
    by, key = moved(bench, "frame"), bench[1].key.values
    assert by["level"] == pytest.approx(-FELT, rel=0.01)
    assert by["dip"] == pytest.approx(0.0, abs=2e-6)
    assert by["play"] == pytest.approx(FELT * key.number("front") / key.number("arm"), rel=0.01)
    assert [by[name] for name in WEIGHTS] == pytest.approx([0.0] * 6, abs=0.005)


def test_the_rest_felt_is_level_and_the_bottom_felt_dip(bench):
    rest, bottom = moved(bench, "rest"), moved(bench, "bottom")
    for name in ("level", "dip", "play", "point"):
        assert rest[name] == pytest.approx(FELT, rel=0.01), name
    assert rest["lift"] == pytest.approx(0.0, abs=1e-6)
    assert bottom["dip"] == pytest.approx(FELT, rel=0.01)
    assert [bottom[name] for name in ("level", "play")] == pytest.approx([0.0, 0.0], abs=1e-7)


def test_the_wind_presses_on_the_pluck_by_area_and_levers(bench):
    train, by = bench[1], moved(bench, "pressure")
    pallet = train.role("pallet").name
    moment = train.value(pallet, "S_wind") / train.value(pallet, "r_eye")
    assert by["pluck"] == pytest.approx(MORE * moment * rigid(train).last, rel=0.05)  # and the friction of that load
    assert [by[name] for name in ("pluck_off", "hold_off", "up_off")] == [0.0] * 3
    seal = moved(bench, "seal")
    pressure = train.value(train.role("box").name, "p_box")
    assert seal["pluck"] == pytest.approx(by["pluck"] * 0.1 * pressure / MORE, rel=0.02)


def test_a_spring_by_its_share(bench):
    train, by = bench[1], moved(bench, "spring")
    at_eye = train.value(train.role("spring").name, "M0") / train.value(train.role("pallet").name, "r_eye")
    assert by["pluck_off"] == pytest.approx(-0.2 * at_eye * rigid(train).last, rel=0.05)


def test_a_leak_ciphers_and_lightens_the_pluck(bench):
    assert (bench[3]["plain"], bench[3]["leak"]) == ("speaks", "ciphers")
    assert moved(bench, "leak")["pluck"] < -0.1
    assert moved(bench, "leak")["pluck_off"] == pytest.approx(0.0, abs=1e-9)


def test_slopes_are_differences_over_amounts(bench):
    case, train, values, _ = bench
    turned = [one_of(train, kind) for kind in ("nut", "balance")]
    level = drawn_levels([train], case.strokes)[0]
    found = slopes([Point(train, level, turned, np.zeros(2))], case.strokes)
    assert found.at.values[0] == pytest.approx(values["plain"], nan_ok=True, abs=1e-9)
    for row, way, amount in zip(found.rise[0], ("nut", "balance"), (NUT, HEAVIER), strict=True):
        assert row * amount == pytest.approx(values[way] - values["plain"], abs=0.004)


def test_nothing_turned_changes_nothing(bench):
    train = bench[1]
    for knob in knobs(train):
        same = knob.apply(train, 0.0)
        assert {name: one.value for name, one in same.parameters.items()} == pytest.approx(
            {name: one.value for name, one in train.parameters.items()}
        ), knob.kind


def test_the_pressure_of_the_sheet_is_that_of_the_train(bench):
    train = bench[1]
    assert as_measured(train, Head()) is train
    box = train.role("box").name
    assert as_measured(train, Head(pressure=500.0)).value(box, "p_box") == 500.0
    assert math.isclose(train.value(box, "p_box"), 686.0, rel_tol=0.01)
