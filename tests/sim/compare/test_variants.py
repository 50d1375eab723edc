"""What is compared: rods by material and size, other fields by value, and everything that is wrong at once."""

import pytest
from workshop_case import write_case

from keyaction.cases.action.reader import read_case
from keyaction.cases.text.defects import CaseProblem
from keyaction.sim.compare.rod_choice import ROUND, STRIP
from keyaction.sim.compare.variants import MOST, ComparisonProblem, read_variants


def sections(variant):
    given = variant.case.values(60, variant.case.part("level-tracker"))
    names = ("material", "section", "width", "thickness", "diameter", "wall")
    return {name: given[name].value for name in names if name in given}


def test_wood_keeps_the_strip_and_carbon_becomes_round(case_path):
    spruce, cedar, carbon = read_variants(case_path, ["spruce", "redcedar", "carbon-rod"])
    assert [one.name for one in (spruce, cedar, carbon)] == ["sitka-spruce", "western-redcedar", "carbon-rod"]
    assert [one.letter for one in (spruce, cedar, carbon)] == ["A", "B", "C"]
    strip = {"section": "rectangle", "width": 0.010, "thickness": 0.001}
    assert sections(spruce) == {"material": "sitka-spruce", **strip}
    assert sections(cedar) == {"material": "western-redcedar", **strip}
    assert sections(carbon)["section"] == "round"
    assert sections(carbon)["diameter"] == pytest.approx(float(ROUND.split()[0]) * 1e-3)


def test_a_round_rod_becomes_a_strip_of_wood(tmp_path):
    old = 'material = "sitka-spruce"\nsection = "rectangle"\nwidth = "10 mm"\nthickness = "1 mm"'
    path = write_case(tmp_path, (old, 'material = "carbon-rod"\nsection = "round"\ndiameter = "2 mm"'))
    wood, carbon = read_variants(path, ["spruce", "carbon-ud-70"])
    assert sections(wood)["section"] == "rectangle"
    sizes = [float(size.split()[0]) * 1e-3 for size in STRIP]
    assert [sections(wood)["width"], sections(wood)["thickness"]] == pytest.approx(sizes)
    assert (sections(carbon)["section"], sections(carbon)["diameter"]) == ("round", 0.002)


@pytest.mark.parametrize(
    ("rod", "name", "found"),
    [
        ("carbon-rod@2mm", "carbon-rod 2 mm", {"section": "round", "diameter": 0.002}),
        ("steel@6x1mm", "steel 6 x 1 mm", {"section": "tube", "diameter": 0.006, "wall": 0.001}),
        ("redcedar@8x1.5mm", "western-redcedar 8 x 1.5 mm", {"section": "rectangle", "thickness": 0.0015}),
        ("redcedar@4mm", "western-redcedar 4 mm square", {"section": "square", "width": 0.004}),
    ],
)
def test_a_size_may_be_stated(case_path, rod, name, found):
    _, other = read_variants(case_path, ["case", rod])
    assert other.name == name
    for field, value in found.items():
        assert sections(other)[field] == (pytest.approx(value) if isinstance(value, float) else value)


def test_the_case_itself_may_be_compared(case_path):
    first, _ = read_variants(case_path, ["case", "carbon-rod"])
    assert first.case.fingerprint == read_case(case_path).fingerprint


def test_all_combinations_are_made_and_single_values_hold_for_all(case_path):
    made = read_variants(case_path, ["spruce", "carbon-rod"], ["pallet.eye=160 mm,170 mm", "box.pressure=60 mmH2O"])
    assert [one.name for one in made] == [
        "sitka-spruce, pallet.eye 160 mm",
        "sitka-spruce, pallet.eye 170 mm",
        "carbon-rod, pallet.eye 160 mm",
        "carbon-rod, pallet.eye 170 mm",
    ]
    for one in made:
        assert one.case.values(60, one.case.part("box"))["pressure"].value == pytest.approx(60 * 9.80665)


@pytest.mark.parametrize(
    ("rods", "settings", "told"),
    [
        (["sprucee"], [], "--rod sprucee: material 'sprucee' is not known; nearest: spruce"),
        (["bushing-cloth"], [], "'bushing-cloth' is a cloth; a wood, composite or metal is needed"),
        (["carbon-rod@2kg"], [], "--rod carbon-rod@2kg: '2 kg' is a mass; a length is needed"),
        (["carbon-rod@0mm"], [], "a size must be above 0"),
        (["spruce@wide"], [], "'wide' is no size; write e.g. sitka-spruce@10x1.2mm"),
        (["spruce", "sitka"], [], "'sitka-spruce' is named twice"),
        (["spruce"], [], "one variant is no comparison"),
        ([], ["box.pressure=60 mmH2O"], "one variant is no comparison"),
        ([], ["box.pressure"], "--set box.pressure: write FIELD=VALUE,VALUE"),
        ([], [f"pallet.eye={','.join(f'{160 + i} mm' for i in range(MOST + 1))}"], "are too many to compare"),
    ],
)
def test_what_cannot_be_compared_is_named(case_path, rods, settings, told):
    with pytest.raises(ComparisonProblem) as problem:
        read_variants(case_path, rods, settings)
    assert told in str(problem.value)


def test_every_defect_is_told_at_once(case_path):
    with pytest.raises(ComparisonProblem) as problem:
        read_variants(case_path, ["sprucee", "carbon@x"], ["box.pressure"])
    assert len(problem.value.defects) == 3


@pytest.mark.parametrize(
    ("setting", "told"),
    [
        ("palet.eye=160 mm,170 mm", "unknown part 'palet'; did you mean 'pallet'?"),
        ("pallet.eyes=160 mm,170 mm", "unknown field 'eyes'; did you mean 'eye'?"),
        ("pallet.eye=160 mm,wide", "'wide' does not begin with a number; a length is needed"),
        ("pallet.eye=160 mm,170 gf", "a length is needed"),
    ],
)
def test_a_wrong_field_or_value_is_told_once(case_path, setting, told):
    with pytest.raises(CaseProblem) as problem:
        read_variants(case_path, (), [setting])
    assert told in str(problem.value)
    assert len(problem.value.defects) == 1


def test_a_measured_tracker_is_not_compared_in_silence(tmp_path):
    path = write_case(tmp_path, ('moves = "level"', 'moves = "level"\nstiffness = "20 N/mm"'))
    with pytest.raises(ComparisonProblem, match=r"\[\[train\]\] level-tracker, field 'stiffness': measured"):
        read_variants(path, ["spruce", "carbon-rod"])


def test_a_case_without_trackers_has_no_rods(tmp_path):
    from short_case import write_case as without

    with pytest.raises(ComparisonProblem, match="the case has no trackers"):
        read_variants(without(tmp_path), ["spruce", "carbon-rod"])


@pytest.mark.parametrize(
    ("settings", "first"),
    [
        (["pull-down.lenght=24 mm"], "did you mean 'length'?"),
        (["pull-dwon.length=240 mm"], "did you mean 'pull-down'?"),
        (["pull-down.length=24 kg"], "'24 kg' is a mass"),
    ],
)
def test_a_misread_field_is_told_before_that_one_value_is_no_comparison(case_path, settings, first):
    with pytest.raises(ComparisonProblem) as caught:
        read_variants(case_path, [], settings)
    told = caught.value.defects
    assert len(told) == 2 and first in told[0] and "workshop.toml: set, field" in told[0]
    assert told[1].startswith("one variant is no comparison")


def test_a_misread_field_is_told_once_beside_a_misread_rod(case_path):
    with pytest.raises(ComparisonProblem) as caught:
        read_variants(case_path, ["oka"], ["pull-down.lenght=24 mm,25 mm"])
    assert [("lenght" in text, "oka" in text) for text in caught.value.defects] == [(True, False), (False, True)]
