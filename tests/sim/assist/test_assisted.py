"""All ways on one note, and trains that cannot take them."""

import math

import pytest

from keyaction.cases.action.reader import read_case
from keyaction.sim.assist.assisted import assisted
from keyaction.sim.assist.told import said
from keyaction.sim.assist.versions import AS_IS, BEAM, LEVER, RELIEF, TWO, VERSIONS
from keyaction.sim.figures.verdict import Fate

C4, STRONG = 60, {"pallet-spring__force": "5 N"}


@pytest.fixture(scope="module")
def found(bass):
    steps = []
    all_ = assisted(bass(), [C4], jobs=1, told=lambda note, version: steps.append((note, version)))
    assert sorted(steps) == sorted((C4, name) for name in VERSIONS)
    return {one.version: one for one in all_}


def test_every_way_is_lighter_and_played(found):
    assert list(found) == list(VERSIONS)
    for name in (TWO, RELIEF, BEAM, LEVER):
        assert found[name].verdict.sound, found[name].verdict
        assert found[name]["highest"] < found[AS_IS]["highest"]
        assert math.isfinite(found[name]["speech_delay"]) and found[name]["repetition_rate"] > 1.0


def test_the_lever_costs_delay_and_repetition(found):
    assert found[LEVER]["speech_delay"] > found[AS_IS]["speech_delay"]
    assert found[LEVER]["repetition_rate"] < found[AS_IS]["repetition_rate"]


def test_the_winds_share_of_the_pluck_is_that_of_its_moment(found):
    """By hand, over the pluck of the press: the hung key's own weight helps the finger, so little else is left."""
    wind = 0.023 * (0.2035**2 - 0.0105**2) / 2 * 110 * 9.80665 / 0.165 * 250 / 400
    assert found[AS_IS]["wind"] == pytest.approx(wind / found[AS_IS]["first"], abs=0.02)


def test_sentences(found):
    lines = said(list(found.values()), "scientific", "trade")
    assert any("Wind makes" in line and "friction" in line for line in lines)
    assert any(line.startswith("two-pallets: two openings of 10 mm (half the width)") for line in lines)
    assert any("heavy" in line for line in lines)
    assert any(line.startswith("pneumatic-lever: saves") and "delay +" in line for line in lines)


def test_the_answer_names_the_ways_that_are_enough(found):
    """By hand from the figures: sound, and no more than 150 gf at the key."""
    light = [name for name, one in found.items() if name != AS_IS and one["highest"] <= 0.150 * 9.80665]
    (line,) = [line for line in said(list(found.values()), "scientific", "trade") if line.startswith("Enough")]
    assert light and f"sound): {', '.join(light)}" in line
    soonest = min(light, key=lambda name: found[name]["speech_delay"])
    assert f"{soonest} speaks soonest" in line or len(light) == 1


def test_a_light_touch_needs_no_relief(bass):
    own, two = assisted(bass(box__pressure="50 mmH2O"), [C4], [TWO], jobs=1)
    assert own["highest"] < 0.150 * 9.80665
    assert "As it is no relief is needed for the touch." in said([own, two], "scientific", "trade")


def test_without_wind_relief_is_of_no_use(bass):
    own, two = assisted(bass(**{**STRONG, "box__pressure": "0 mmH2O"}), [C4], [TWO], jobs=1)
    assert own["wind"] == 0.0
    assert {own.verdict.fate, two.verdict.fate} == {Fate.NO_WIND}
    assert math.isnan(two["speech_delay"])
    assert any("of little use" in line for line in said([own, two], "scientific", "trade"))


def test_a_spring_that_does_it_all_is_told(bass):
    own, _ = assisted(bass(**{**STRONG, "box__pressure": "15 mmH2O"}), [C4], [RELIEF], jobs=1)
    assert 0.0 < own["wind"] < 1 / 3
    assert any("of little use there" in line for line in said([own], "scientific", "trade"))


def test_nothing_drawn_is_played_all_the_same(bass):
    case = bass()
    text = case.path.read_text(encoding="utf-8").replace("drawn = true", "drawn = false")
    silent = case.path.with_name("silent.toml")
    silent.write_text(text, encoding="utf-8")
    own, two = assisted(read_case(silent), [C4], [TWO], jobs=1)
    assert own["highest"] > two["highest"]
    assert any("no stop is drawn" in line for line in said([own, two], "scientific", "trade"))


def test_a_note_that_hangs_has_its_verdict_and_no_strokes(bass):
    found = assisted(bass(**{"pallet-spring__force": "0.02 N", "pallet-spring__rate": "0 N/m"}), [C4], [TWO, LEVER], 1)
    assert found[0].verdict.fate is Fate.HANGS
    assert math.isnan(found[0]["repetition_rate"])
    assert any("hangs" in line or "opens further" in line for line in said(found, "scientific", "trade"))


@pytest.mark.parametrize(
    ("kind", "why"),
    [("two-pallets", "several pallets"), ("relief-pallet", "relief-pallet"), ("two-stage-beam", "beam is a beam")],
)
def test_a_train_with_relief_takes_no_other(kind, why):
    from importlib.resources import files

    case = read_case(files("keyaction.cases").joinpath(f"kinds/{kind}.toml"))
    own, beam = assisted(case, [case.compass[0]], [BEAM], jobs=1)
    assert own.train is not None and math.isfinite(own["highest"])
    assert beam.train is None and why in beam.why
