"""The material library: names, sources, a case's own materials and what is said about wrong ones."""

import pickle

import pytest
from hypothesis import given
from hypothesis import strategies as st

from keyaction.models.materials.library import (
    MaterialDefect,
    MaterialDefects,
    MissingProperty,
    UnknownMaterial,
    default_library,
)
from keyaction.models.materials.reading import KINDS, STATUSES

LIBRARY = default_library()
GOOD = {"kind": "wood", "E": "9.1 GPa", "density": "430 kg/m^3", "source": "six trackers on the bench"}


@pytest.mark.parametrize("name", LIBRARY.names())
def test_every_figure_has_a_source_a_status_and_a_unit(name):
    material = LIBRARY.get(name)
    assert material.description
    for figure in (*material.properties.values(), *material.wire):
        assert figure.status in STATUSES[:-1]
        assert figure.source == "common practice" or len(figure.source) > 15
        assert (figure.status == "common practice") == (figure.source == "common practice")
    for required in KINDS[material.kind][0]:
        assert required in material


def test_common_practice_is_marked_with_a_wide_spread():
    for name in LIBRARY.names("cloth"):
        for figure in LIBRARY.get(name).properties.values():
            assert figure.status == "common practice"
            assert figure.spread >= 0.5


@pytest.mark.parametrize(
    ("given", "name"),
    [
        ("redcedar", "western-redcedar"), ("spruce", "sitka-spruce"), ("carbon", "carbon-rod"),
        ("beech", "american-beech"), ("Sitka Spruce", "sitka-spruce"),
        ("MUSIC_WIRE", "music-wire"), (" key-felt ", "key-felt"),
    ],
)  # fmt: skip
def test_friendly_names(given, name):
    assert LIBRARY.get(given).name == name
    assert given in LIBRARY


def test_no_name_means_two_things():
    assert not set(LIBRARY.aliases) & set(LIBRARY.names())
    assert set(LIBRARY.aliases.values()) <= set(LIBRARY.names())


def test_unknown_names_get_the_nearest():
    with pytest.raises(UnknownMaterial, match=r"material 'sprunce' is not known; nearest: spruce"):
        LIBRARY.get("sprunce")
    with pytest.raises(UnknownMaterial, match=r"'spruce' is a wood; a cloth is needed: pallet-felt"):
        LIBRARY.get("spruce", "cloth")
    with pytest.raises(UnknownMaterial, match=r"known: cloth-on-pin"):
        LIBRARY.get("xyzzy", "friction")
    assert "xyzzy" not in LIBRARY


def test_a_missing_property_is_named():
    with pytest.raises(MissingProperty, match=r"material 'key-felt' has no 'E'; it has: stiffness, alpha"):
        LIBRARY.get("felt")["E"]


def test_a_case_adds_materials_in_both_forms():
    rows = {
        "kind": "cloth",
        "aliases": ["house felt"],
        "stiffness": {"value": "90 kPa", "source": "our balance", "status": "given", "spread": "20 %"},
        "alpha": {"value": "2 s/m", "source": "common practice", "status": "common practice"},
    }
    library = LIBRARY.merged({"my spruce": GOOD, "our-felt": rows}, "case.toml")
    spruce, felt = library.get("my-spruce"), library.get("House Felt")
    assert (spruce["E"].value, spruce["E"].unit, spruce["E"].status) == (9.1e9, "Pa", "given")
    assert spruce["density"].source == GOOD["source"]
    assert spruce["E"].spread is None
    assert (felt["stiffness"].value, felt["stiffness"].spread) == (90e3, 0.2)
    assert "my-spruce" not in LIBRARY


WRONG = [
    ({**GOOD, "E": "9.1 kPa"}, "E: 9.1 kPa is out of range; 0.001 GPa to 1000 GPa is allowed"),
    ({**GOOD, "E": "9.1 mm"}, "E: '9.1 mm' is a length; a modulus is needed, e.g. '9.9 GPa'"),
    ({**GOOD, "density": 430}, "density: '430' has no unit; write e.g. '430 kg/m^3'"),
    ({**GOOD, "densty": "1 kg/m^3"}, "densty: is not a property of a wood; did you mean 'density'?"),
    ({**GOOD, "kind": "wodd"}, "kind: 'wodd' is not known; one of wood, composite, metal, cloth, friction"),
    ({**GOOD, "kind": ["wood"]}, "kind: ['wood'] is not known"),
    ({k: v for k, v in GOOD.items() if k != "E"}, "E: is missing; a wood needs density and E"),
    ({k: v for k, v in GOOD.items() if k != "source"}, "E: has no source; say where the figure comes from"),
    ({**GOOD, "status": "rumour"}, "E: status 'rumour' is not known; one of read, second-hand"),
    ({**GOOD, "spread": "300 %"}, "E.spread: 300 % is out of range; 0 % to 200 % is allowed"),
    ({**GOOD, "spread": "3 mm"}, "E.spread: '3 mm' is a length; a share is needed, e.g. '50 %'"),
    ({**GOOD, "E": {"source": "x"}}, "E: has no value"),
    ({**GOOD, "E": {"value": "9 GPa", "sorce": "x"}}, "E: 'sorce' is not a field of a property; did you"),
    ({**GOOD, "aliases": "x"}, "aliases: is not a list of names"),
    ({**GOOD, "aliases": [" "]}, "aliases: is not a list of names"),
    ({**GOOD, "aliases": ["spruce"]}, "the name 'spruce' is taken; choose another"),
    ({**GOOD, "kind": "metal", "wire_strength": "2 GPa"}, "wire_strength: is not a list of rows"),
    ({**GOOD, "kind": "metal", "wire_strength": [{"from": "1 mm"}]}, "wire_strength.0: needs from, to"),
    (
        {**GOOD, "kind": "metal", "wire_strength": [
            {"from": "2 mm", "to": "1 mm", "A": "2000 MPa", "m": 0.1, "source": "x"}]},
        "wire_strength.0: from 2 mm to 1 mm is not a range of diameters",
    ),
    (3, "is not a table"),
]  # fmt: skip


@pytest.mark.parametrize(("table", "message"), WRONG)
def test_defects_name_file_table_field_and_remedy(table, message):
    with pytest.raises(MaterialDefects) as caught:
        LIBRARY.merged({"mine": table}, "case.toml")
    line = next(line for line in map(str, caught.value.defects) if message in line)
    assert line.startswith("case.toml: [materials.mine]")
    assert line in str(caught.value).split("\n")


def test_all_defects_come_at_once_and_sound_materials_stay():
    defects = [MaterialDefect("an earlier file", "oak", "", "is not a table")]
    tables = {"a": {**GOOD, "E": "9.1 kPa", "density": "3 mm"}, "spruce": GOOD, "b": GOOD}
    library = LIBRARY.merged(tables, "case.toml", defects)
    assert len(defects) == 4
    assert library.get("b")["E"].value == 9.1e9
    assert "a" not in library
    assert library.get("spruce") is LIBRARY.get("spruce")


def test_the_library_can_be_sent_to_another_process():
    assert pickle.loads(pickle.dumps(LIBRARY)) == LIBRARY
    assert default_library() is LIBRARY


SCALARS = st.one_of(st.none(), st.booleans(), st.floats(), st.text(max_size=8), st.lists(st.text(max_size=3)))
KEYS = st.sampled_from(["kind", "E", "density", "source", "status", "spread", "aliases", "x"])


@given(st.dictionaries(KEYS, SCALARS), st.sets(st.sampled_from(sorted(GOOD))))
def test_any_table_is_read_or_refused_in_words(odd, kept):
    table = {**odd, **{key: GOOD[key] for key in kept}}
    defects = []
    library = LIBRARY.merged({"mine-own": table}, "case.toml", defects)
    assert ("mine-own" in library) == (not defects)
