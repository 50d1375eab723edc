"""keyaction materials: the list, everything about one, what is missing, and what is said about wrong names."""

import csv
import re

import pytest

from keyaction.models.materials.library import default_library
from keyaction.models.materials.reading import KINDS

LIBRARY = default_library()
OWN = """
[materials.house-pine]
kind = "wood"
source = "weighed and bent on the bench"
density = "430 kg/m^3"
E = "9.1 GPa"

[materials.plain-wire]
kind = "metal"
source = "the maker"
density = "8500 kg/m^3"
E = "105 GPa"
"""


@pytest.fixture
def own(folder):
    """The short case with two materials of its own."""
    with (folder / "short.toml").open("a", encoding="utf-8") as file:
        file.write(OWN)
    return "short.toml"


def flat(text):
    return " ".join(text.split())


def test_the_list_names_every_material_within_eighty_columns(keyaction):
    said = keyaction("materials")
    assert (said.status, said.err) == (0, "")
    assert max(map(len, said.out.splitlines())) <= 80
    assert "…" not in said.out
    for name in LIBRARY.names():
        assert re.search(rf"^{name} ", said.out, re.MULTILINE), name
    row = next(line for line in said.out.splitlines() if line.startswith("norway-spruce"))
    assert row.split()[1:] == ["470", "10", "0.668", "3.8", "0.3", "0.19", "0.39"]
    # What no source gives is a dash, never 0.
    assert next(line for line in said.out.splitlines() if line.startswith("spring-brass")).split()[-1] == "-"
    assert next(line for line in said.out.splitlines() if line.startswith("music-wire")).split()[-1] == "2211"


@pytest.mark.parametrize("kind", KINDS)
def test_one_kind_alone(keyaction, kind):
    out = keyaction("materials", "--kind", kind).out
    assert f"Kind {kind}" in out
    for name in LIBRARY.names():
        assert bool(re.search(rf"^{name} ", out, re.MULTILINE)) == (LIBRARY.get(name).kind == kind)


@pytest.mark.parametrize("name", LIBRARY.names())
def test_everything_about_one(keyaction, name):
    said = keyaction("materials", name)
    assert said.status == 0
    assert max(map(len, said.out.splitlines())) <= 80
    assert "…" not in said.out
    told, material = flat(said.out), LIBRARY.get(name)
    for what, one in material.properties.items():
        assert what in told
        assert flat(one.source).split()[0] in told
    for other in LIBRARY.also_called(name):
        assert other in told.replace("- ", "-")


def test_values_with_spread_source_and_what_others_say(keyaction):
    out = keyaction("materials", "norway-spruce").out
    told = flat(out)
    assert re.search(r"^E +10 GPa +22 % +P\. Niemz", out, re.MULTILINE)
    assert "12.5 GPa" in told and "(second-hand)" in told
    assert re.search(r"^thermal_expansion +3\.8e-6/K", out, re.MULTILINE)
    assert re.search(r"^expansion, radial +24\.5e-6/K", out, re.MULTILINE)
    assert "Elsewhere, as hints only: fichte" in told
    # 0.3 % from green to dry, of which 6.2 of 30 % of moisture content are the seasons.
    assert "1 m along +0.620 mm" in told
    assert "By heat alone, 10 K: 1 m along +0.038 mm." in told


def test_what_is_missing_is_said_with_the_remedy(keyaction):
    told = flat(keyaction("materials", "spring-brass").out)
    assert "Missing, for want of a source: wire_strength." in told
    assert '[materials.NAME] with kind = "metal"' in told


def test_a_word_for_several_species_says_which_it_is(keyaction):
    told = flat(keyaction("materials", "oak").out)
    assert told.startswith("white-oak")
    assert "'oak' is taken for white-oak; the word could also mean northern-red-oak or european-oak." in told


@pytest.mark.parametrize(
    ("name", "words"),
    [("carbon-tube-45", "dust and splinters"), ("glass-rod", "fitted mask"), ("music-wire", "Eye protection")],
)
def test_cautions_stand_where_the_work_can_hurt(keyaction, name, words):
    assert words in flat(keyaction("materials", name).out)


def test_all_unknown_names_at_once(keyaction):
    said = keyaction("materials", "Fichte", "sitka-spruce", "wallnut", "abete")
    assert (said.status, said.out) == (2, "")
    assert said.err.splitlines() == [
        "material 'Fichte' is not known; did you mean 'norway-spruce'?",
        "material 'wallnut' is not known; nearest: walnut, european-walnut, black-walnut",
        "material 'abete' is not known; did you mean 'norway-spruce' or 'silver-fir'?",
    ]
    slip = keyaction("materials", "--kind", "wodd")
    assert (slip.status, slip.out) == (2, "")
    assert slip.err == "--kind 'wodd': unknown; did you mean 'wood'?\n"
    other = keyaction("materials", "brass", "--kind", "wood")
    assert other.status == 2
    assert "'brass' is a metal; a wood is needed" in other.err


def test_a_cases_own_materials(keyaction, own):
    assert "house-pine" not in keyaction("materials").out
    assert re.search(r"^house-pine +430 +9.1 +- +- +- +- +-$", keyaction("materials", "--case", own).out, re.MULTILINE)
    told = flat(keyaction("materials", "house-pine", "plain-wire", "--case", own).out)
    assert "weighed and bent on" in told and "bench (given)" in told
    assert "1 m along -, 100 mm radial -, 100 mm tangential -." in told  # not known: no figure, and never 0
    assert "By heat alone, 10 K: 1 m along -." in told
    assert "Missing, for want of a source: G, thermal_expansion, shrinkage_radial" in told
    assert keyaction("materials", "--case", "nowhere.toml").status == 2


def test_every_value_as_csv(keyaction, folder):
    said = keyaction("materials", "spruce", "phosphor-bronze", "--csv", "some.csv")
    assert said.status == 0
    with (folder / "some.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    spruce = {row["property"]: row for row in rows if row["material"] == "sitka-spruce"}
    assert (float(spruce["E"]["value"]), spruce["E"]["unit"], spruce["E"]["spread"]) == (9.9e9, "Pa", "0.22")
    assert set(spruce) == set(LIBRARY.get("sitka-spruce").properties)
    wire = [row["value"] for row in rows if row["property"] == "wire_strength"]
    assert wire == ["1000 MPa, 0.1 to 0.6 mm", "913 MPa/d^0.028, 0.6 to 2 mm", "932 MPa/d^0.064, 2 to 7.5 mm"]
    # No cell begins like a formula of a spreadsheet.
    assert not [one for row in rows for one in row.values() if one[:1] in ("=", "+", "@") or one[:2] == "-0 "]
    refused = keyaction("materials", "--csv", "nowhere/some.csv")
    assert (refused.status, refused.out) == (1, "")


def test_a_spring_of_wire_without_strength_says_how_to_give_it(keyaction):
    told = flat(keyaction("springs", "short.toml", "--notes", "C4", "--wire", "spring-brass").out)
    assert "No tensile strength is known of spring-brass" in told
    assert "wire_strength = [{ from = " in told
