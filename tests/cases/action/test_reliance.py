"""What a case leaves to the program: all of what is used is told, and nothing else."""

import math
from dataclasses import replace

import pytest

from keyaction.cases.action.reader import read_case
from keyaction.cases.action.reliance import materials_of
from keyaction.models.materials.library import default_library
from keyaction.models.train.train import build_train
from keyaction.sim.motion.drives import FINGER_DAMPING

LIBRARY = default_library()
MEASURED = {
    "riser.stiffness": "16 N/mm",
    "riser.mass": "6 g",
    "upper-square.pin.coefficient": 0.3,
    "pallet.mass": "60 g",
    "pallet.inertia": "0.0009 kg*m^2",
    "roller.loss": 0.03,
    "pallet-spring.force": "1.5 N",
}


def told(case):
    return {(one.owner, one.field) for one in case.assumptions}


def chosen(case):
    return {one.material.name: one for one in materials_of(case)}


def test_what_no_field_can_change_is_told_with_its_source():
    case = read_case("demo-wood")
    fixed = {(one.owner, one.field): one for one in case.assumptions if not one.table}
    assert {
        ("every pin", "phi_slip"), ("every pin", "t_slip"), ("every pin", "N_floor"), ("finger", "damping"),
        ("groove", "heat_ratio"), ("box", "p_smooth"), ("key", "r_rest"),
    } == set(fixed)  # fmt: skip
    assert all(one.source.startswith(("assumed", "numerical")) for one in fixed.values())
    assert fixed["finger", "damping"].value.startswith(f"{FINGER_DAMPING:g} s/m")
    assert fixed["every pin", "t_slip"].line.startswith("every pin, t_slip = 0.001 s, damping of a bushing's give")


def test_guides_and_pieces_bring_their_own(tmp_path):
    plain = read_case("demo-wood")
    text = plain.text.replace('moves = "up"', 'moves = "up"\npieces = 3\nguides = { breakaway = "0.02 N" }')
    (tmp_path / "case.toml").write_text(text, encoding="utf-8")
    (tmp_path / "demo-chest.csv").write_text(plain.files["demo-chest.csv"], encoding="utf-8")
    new = told(read_case(tmp_path / "case.toml")) - told(plain)
    assert new == {("riser", "c_piece"), ("riser", "reach")}


def test_a_default_that_is_overridden_is_none():
    plain, measured = read_case("demo-wood"), read_case("demo-wood", set_=MEASURED)
    assert told(plain) - told(measured) == {
        ("riser", "end_stiffness"), ("riser", "end_mass"), ("upper-square", "pin.friction"), ("roller", "loss"),
    }  # fmt: skip
    # The pallet's overlap still tells where its weight acts.
    assert ("pallet", "overlap") in told(measured)
    assert told(measured) <= told(plain)


def figures(case, note, changed=()):
    """Every figure of every part of a note's train, with other values of some fields."""
    parts = []
    for part in case.parts:
        values = case.values(note, part)
        for path, value in (one[1:] for one in changed if one[0] == part.name):
            values[path] = replace(values[path], value=value)
        parts.append((part.part, part.name, values))
    train = build_train(parts, case.library)
    return [(part.name, item.name, item.value) for part in train.parts for item in part.values.derived.values()] + [
        member.shape for member in train.structure
    ]


@pytest.mark.parametrize("settings", [{}, MEASURED], ids=["plain", "measured"])
def test_a_second_way_to_find_what_is_used(settings):
    # Change every default, one at a time: what is not told changes no figure; what changes a figure is told.
    case = read_case("demo-wood", set_=settings)
    before, listed = figures(case, 60), told(case)
    for part in case.parts:
        for path, given in case.values(60, part).items():
            if not given.default:
                continue
            other = given.value + 1e-3 if isinstance(given.value, float) else given.value
            other = "wood-on-steel" if path == "pin.friction" else other
            if other == given.value:
                continue
            moved = figures(case, 60, [(part.name, path, other)]) != before
            assert moved == ((part.name, path) in listed), (part.name, path)


def test_one_note_apart_does_not_hide_the_others(tmp_path):
    plain = read_case("demo-wood")
    text = f"{plain.text}\n[notes.C4.upper-square]\npin = {{ coefficient = 0.3 }}\n"
    (tmp_path / "case.toml").write_text(text, encoding="utf-8")
    (tmp_path / "demo-chest.csv").write_text(plain.files["demo-chest.csv"], encoding="utf-8")
    assert ("upper-square", "pin.friction") in told(read_case(tmp_path / "case.toml"))


def test_a_case_that_cannot_be_built_still_tells_its_defaults(tmp_path):
    plain = read_case("demo-wood")
    (tmp_path / "case.toml").write_text(plain.text.replace('hinge_to_opening = "12 mm"\n', ""), encoding="utf-8")
    (tmp_path / "demo-chest.csv").write_text(plain.files["demo-chest.csv"], encoding="utf-8")
    assert ("riser", "end_stiffness") in told(read_case(tmp_path / "case.toml"))


# -- materials --------------------------------------------------------------------------------------------
def test_every_material_in_use_and_no_other():
    found = chosen(read_case("demo-wood"))
    assert list(found) == [
        "sitka-spruce", "key-felt", "cloth-on-pin", "western-redcedar", "sugar-maple", "phosphor-bronze",
        "eastern-white-pine", "pallet-felt", "leather-on-pin",
    ]  # fmt: skip
    assert found["western-redcedar"].parts == ("riser", "level-tracker", "drop")
    assert found["sitka-spruce"].uses == {"density", "E", "G"}
    assert not any(one.written for one in found.values())
    rubbing = {f"{part}.pin.coefficient": 0.2 for part in ("key", "lower-square", "upper-square", "roller", "pallet")}
    without = chosen(read_case("demo-wood", set_=rubbing))
    assert set(found) - set(without) == {"cloth-on-pin", "leather-on-pin"}


@pytest.mark.parametrize(
    "material",
    [
        '"spruce"',
        '{ between = "steps", C2 = "spruce", C4 = "western-redcedar" }',
        '{ csv = "stock.csv", column = "w" }',
    ],
)
def test_a_word_that_was_taken_for_a_species_is_told(tmp_path, material):
    plain = read_case("demo-wood")
    text = plain.text.replace('material = "western-redcedar"', f"material = {material}", 1)
    (tmp_path / "case.toml").write_text(text, encoding="utf-8")
    (tmp_path / "demo-chest.csv").write_text(plain.files["demo-chest.csv"], encoding="utf-8")
    rows = "".join(f"{line.split(',')[0]},spruce\n" for line in plain.files["demo-chest.csv"].splitlines()
                   if line[:1] in "ABCDEFG")  # fmt: skip
    (tmp_path / "stock.csv").write_text(f"note,w\n{rows}", encoding="utf-8")
    found = chosen(read_case(tmp_path / "case.toml"))["sitka-spruce"]
    assert "riser" in found.parts
    assert (found.written, found.namesakes) == (("spruce",), ("norway-spruce",))


def test_words_set_from_outside_are_told_too():
    found = chosen(read_case("demo-wood", set_={"pallet.material": "Pine", "riser.material": "Norway Spruce"}))
    assert found["eastern-white-pine"].written == ("Pine",)
    assert found["eastern-white-pine"].namesakes == ("sugar-pine", "scots-pine")
    assert (found["norway-spruce"].written, found["norway-spruce"].namesakes) == (("Norway Spruce",), ())


def test_old_names_stay_what_they_were():
    # Renaming a material must not change a case that was written before.
    meant = {
        "spruce": "sitka-spruce", "beech": "american-beech", "oak": "white-oak", "maple": "sugar-maple",
        "pine": "eastern-white-pine", "walnut": "black-walnut", "cherry": "black-cherry", "poplar": "yellow-poplar",
        "cedar": "western-redcedar", "carbon": "carbon-rod", "bronze": "phosphor-bronze", "spring-steel": "music-wire",
    }  # fmt: skip
    assert {word: LIBRARY.get(word).name for word in meant} == meant
    spruce, rod = LIBRARY.get("spruce"), LIBRARY.get("carbon-rod")
    assert (spruce["E"].value, spruce["density"].value, spruce["G"].value) == (9.9e9, 403.2, 0.69696e9)
    assert (rod["E"].value, rod["density"].value, rod["G"].value) == (134e9, 1500.0, 4.3e9)
    assert all(math.isfinite(one.value) for one in spruce.properties.values())
