"""What is compared: rods by material and size, other fields by value, and everything that is wrong at once."""

import math

import pytest
from workshop_case import write_case

from keyaction.cases.action.reader import read_case
from keyaction.cases.action.trains import train_of
from keyaction.cases.text.defects import CaseProblem
from keyaction.cases.text.find import find_case
from keyaction.sim.compare.prices import price_of, read_prices, unused
from keyaction.sim.compare.rod_facts import Seasons, rod_facts, stack
from keyaction.sim.compare.rod_spans import Pulls
from keyaction.sim.compare.usual import ROUND, ROUND_ROLLER, STRIP
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


def test_a_single_variant_stands_beside_the_case(case_path):
    first, other = read_variants(case_path, ["carbon-rod"])
    assert [one.name for one in (first, other)] == ["case", "carbon-rod"]
    assert first.case.fingerprint == read_case(case_path).fingerprint
    _, raised = read_variants(case_path, (), ["box.pressure=60 mmH2O"])
    assert raised.name == "box.pressure 60 mmH2O"
    # A value that holds for all holds for the case beside it too.
    first, other = read_variants(case_path, ["carbon-rod"], ["box.pressure=60 mmH2O"])
    for one in (first, other):
        assert one.case.values(60, one.case.part("box"))["pressure"].value == pytest.approx(60 * 9.80665)
    assert [one.name for one in (first, other)] == ["case", "carbon-rod"]


def test_the_case_may_stand_alone(case_path):
    (only,) = read_variants(case_path, ["case"])
    assert (only.letter, only.name) == ("A", "case")
    assert only.case.fingerprint == read_case(case_path).fingerprint


# -- bundles ---------------------------------------------------------------------------------------------
BUNDLE = "thin: level-tracker.material=carbon-rod; level-tracker.section=round; level-tracker.diameter=1.2 mm"


def test_a_bundle_changes_its_fields_together(case_path):
    first, other = read_variants(case_path, bundles=["case", BUNDLE])
    assert [one.name for one in (first, other)] == ["case", "thin"]
    assert sections(first)["section"] == "rectangle"
    assert (sections(other)["section"], sections(other)["diameter"]) == ("round", pytest.approx(0.0012))


def test_bundles_come_from_a_file_too(case_path, tmp_path):
    file = tmp_path / "rods.toml"
    file.write_text(
        '[variants."as drawn"]\n[variants.thin]\nlevel-tracker = { material = "carbon-rod", section = "round", '
        'diameter = "1.2 mm" }\n[variants."less wind"]\nbox.pressure = "60 mmH2O"\nlevel-tracker.pieces = 2\n',
        encoding="utf-8",
    )
    made = read_variants(case_path, file=file)
    assert [one.name for one in made] == ["as drawn", "thin", "less wind"]
    assert made[0].case.fingerprint == read_case(case_path).fingerprint
    assert sections(made[1]) == sections(read_variants(case_path, bundles=[BUNDLE])[1])
    assert made[2].case.values(60, made[2].case.part("level-tracker"))["pieces"].value == 2


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("thin", "--variant thin: write NAME: FIELD=VALUE; FIELD=VALUE"),
        ("thin:", "write NAME: FIELD=VALUE"),
        ("thin: level-tracker.width", "write NAME: FIELD=VALUE"),
        ("thin: box.pressure=60 mmH2O; box.pressure=70 mmH2O", "field 'box.pressure': given twice"),
        (f"{'x' * 61}: box.pressure=60 mmH2O", "a name of 1 to 60 letters is needed"),
    ],
)
def test_a_bundle_that_cannot_be_read_is_named(case_path, text, told):
    with pytest.raises(ComparisonProblem) as problem:
        read_variants(case_path, bundles=[text])
    assert told in str(problem.value)


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("", "rods.toml: is empty"),
        ("# nothing\n", "a table for each variant is needed"),
        ("[variants]", "a table for each variant is needed: [variants.NAME]"),
        ("variants = 3", "a table for each variant is needed"),
        ("[variant.a]\nbox.pressure = '60 mmH2O'", "'variant' is unknown; did you mean 'variants'?"),
        ("[variants]\na = 3", "[variants.a]: a table of fields and values is needed, not 3"),
        ("[variants.a]\ngroove.stops = [{ name = 'x' }]", "[variants.a], field 'groove.stops': one value is needed"),
        ("[variants.a\n", "rods.toml"),
    ],
)
def test_a_file_of_bundles_that_cannot_be_read_is_named(case_path, tmp_path, text, told):
    file = tmp_path / "rods.toml"
    file.write_text(text, encoding="utf-8")
    with pytest.raises(ComparisonProblem) as problem:
        read_variants(case_path, file=file)
    assert told in str(problem.value)


def test_a_wrong_field_of_a_bundle_is_told_as_of_a_case(case_path):
    with pytest.raises(CaseProblem, match="unknown field 'widht'; did you mean 'width'"):
        read_variants(case_path, bundles=["thin: level-tracker.widht=8 mm"])


# -- rollers, ends ---------------------------------------------------------------------------------------
def test_rollers_take_a_material_and_a_section_that_fits():
    made = read_variants("demo-wood", rollers=["case", "steel", "aluminium@12x1mm", "maple", "oak@20mm"])
    assert [one.name for one in made] == [
        "roller case",
        "roller steel",
        "roller aluminium 12 x 1 mm",
        "roller sugar-maple",
        "roller white-oak 20 mm square",
    ]
    found = [one.case.values(60, one.case.part("roller")) for one in made]
    assert [one["section"].value for one in found] == ["square", "round", "tube", "square", "square"]
    assert found[1]["diameter"].value == pytest.approx(float(ROUND_ROLLER.split()[0]) * 1e-3)
    assert (found[2]["diameter"].value, found[2]["wall"].value) == pytest.approx((0.012, 0.001))
    assert [found[i]["width"].value for i in (3, 4)] == pytest.approx([0.024, 0.020])
    assert all(one["arm_material"].value == "sugar-maple" for one in found)


def test_rods_and_rollers_are_combined():
    made = read_variants("demo-wood", ["case", "carbon-rod"], rollers=["steel", "sitka-spruce@30mm"])
    assert [one.name for one in made][::3] == ["case, roller steel", "carbon-rod, roller sitka-spruce 30 mm square"]


def test_a_measured_roller_is_not_compared_in_silence(tmp_path):
    text = find_case("demo-wood").read_text(encoding="utf-8")
    text = text.replace('arm_thickness = "8 mm"', 'arm_thickness = "8 mm"\ninertia = "200 g*cm^2"')
    (tmp_path / "measured.toml").write_text(text, encoding="utf-8")
    (tmp_path / "demo-chest.csv").write_bytes(find_case("demo-wood").with_name("demo-chest.csv").read_bytes())
    with pytest.raises(ComparisonProblem, match="roller, field 'inertia': measured"):
        read_variants(tmp_path / "measured.toml", rollers=["case", "steel"])


def test_ends_go_with_their_material(case_path):
    made = read_variants(
        case_path, ["case", "spruce", "carbon-rod@2mm"], ends=["carbon-rod=0.9 g, 60 N/mm", "spruce=0.4 g"]
    )
    found = [one.case.values(60, one.case.part("level-tracker")) for one in made]
    assert [one["end_mass"].value for one in found] == pytest.approx([0.5e-3, 0.4e-3, 0.9e-3])
    assert [one["end_stiffness"].value for one in found] == pytest.approx([4e4, 4e4, 6e4])


@pytest.mark.parametrize(
    ("ends", "told"),
    [
        ("carbon-rod", "write MATERIAL=MASS, STIFFNESS"),
        ("carbon-rod=heavy", "'heavy' is neither a mass such as '0.9 g' nor a stiffness"),
        ("carbon-rod=1 g, 2 g", "'2 g' is given twice"),
        ("carbon-rodd=1 g", "nearest: carbon-rod"),
        ("carbon-rod@2mm=1 g", "ends go with a material, whatever its size"),
        ("redcedar=1 g", "'western-redcedar' is not compared; --rod names carbon-rod, sitka-spruce"),
    ],
)
def test_ends_that_cannot_be_read_are_named(case_path, ends, told):
    with pytest.raises(ComparisonProblem) as problem:
        read_variants(case_path, ["spruce", "carbon-rod"], ends=[ends])
    assert told in str(problem.value)


# -- prices ----------------------------------------------------------------------------------------------
def test_a_rod_costs_its_length_times_the_price_a_metre(case_path):
    defects: list[str] = []
    made = read_variants(case_path, ["case", "carbon-rod@2mm", "carbon-rod@1.5mm"])
    prices = read_prices(made[0].case, "sitka-spruce=1.20, carbon-rod=3, carbon-rod@2mm=4.50", defects)
    assert not defects and not unused(prices, [one.case for one in made])
    parts = [train_of(one.case, 60).part("level-tracker") for one in made]
    assert [price_of(prices, part.values) for part in parts] == pytest.approx([1.4 * 1.2, 1.4 * 4.5, 1.4 * 3])
    assert math.isnan(price_of(prices[1:], parts[0].values))
    facts = rod_facts(parts[1], Pulls(0.0, 1.0, 0.5), Seasons(), prices)
    assert facts["price"] == pytest.approx(6.3)
    # The eight notes get shorter by even steps: 1.4 m at C4, 1.2 m at G4.
    whole = stack([train_of(made[1].case, note).part("level-tracker") for note in made[1].case.compass], prices)
    assert whole["stack_price"] == pytest.approx(8 * 1.3 * 4.5)


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("spruce", "--price spruce: write MATERIAL=PRICE A METRE"),
        ("spruce=cheap", "'cheap' is no price; a number from 0 to 1e+06 is needed"),
        ("spruce=-1", "'-1' is no price"),
        ("spruce=nan", "'nan' is no price"),
        ("sprucee=1", "nearest: spruce"),
        ("spruce=1,sitka=2", "'sitka-spruce' is priced twice"),
        ("bushing-cloth=1", "'bushing-cloth' is a cloth"),
    ],
)
def test_prices_that_cannot_be_read_are_named(case_path, text, told):
    defects: list[str] = []
    read_prices(read_case(case_path), text, defects)
    assert len(defects) == 1 and told in defects[0]


def test_a_price_that_no_rod_has_is_told(case_path):
    case = read_case(case_path)
    prices = read_prices(case, "sitka-spruce@9x1mm=2, sitka-spruce@10x1mm=3", [])
    assert unused(prices, [case]) == ["--price sitka-spruce@9x1mm: no rod is of it"]


@pytest.mark.parametrize(
    ("rods", "settings", "told"),
    [
        (["sprucee"], [], "--rod sprucee: material 'sprucee' is not known; nearest: spruce"),
        (["bushing-cloth"], [], "'bushing-cloth' is a cloth; a wood, composite or metal is needed"),
        (["carbon-rod@2kg"], [], "--rod carbon-rod@2kg: '2 kg' is a mass; a length is needed"),
        (["carbon-rod@0mm"], [], "a size must be above 0"),
        (["spruce@wide"], [], "'wide' is no size; write e.g. sitka-spruce@10x1.2mm"),
        (["spruce", "sitka"], [], "'sitka-spruce' is named twice"),
        ([], [], "nothing is named to compare"),
        ([], ["box.pressure"], "--set box.pressure: write FIELD=VALUE,VALUE"),
        ([], [f"pallet.eye={','.join(f'{160 + i} mm' for i in range(MOST + 1))}"], "are too many to compare"),
    ],
)
def test_what_cannot_be_compared_is_named(case_path, rods, settings, told):
    with pytest.raises(ComparisonProblem) as problem:
        read_variants(case_path, rods, settings)
    assert told in str(problem.value)


def test_every_defect_is_told_at_once(case_path, tmp_path):
    with pytest.raises(ComparisonProblem) as problem:
        read_variants(
            case_path,
            ["sprucee", "carbon@x"],
            ["box.pressure"],
            rollers=["steel"],
            bundles=["thin"],
            file=tmp_path / "none.toml",
            ends=["spruce=wide"],
        )
    assert len(problem.value.defects) == 7


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
def test_a_misread_field_of_a_single_variant_is_told_by_itself(case_path, settings, first):
    with pytest.raises(CaseProblem) as caught:
        read_variants(case_path, [], settings)
    (told,) = str(caught.value).split("\n")
    assert first in told and told.startswith("workshop.toml: set, field")


def test_a_misread_field_is_told_once_beside_a_misread_rod(case_path):
    with pytest.raises(ComparisonProblem) as caught:
        read_variants(case_path, ["oka"], ["pull-down.lenght=24 mm,25 mm"])
    assert [("lenght" in text, "oka" in text) for text in caught.value.defects] == [(True, False), (False, True)]
