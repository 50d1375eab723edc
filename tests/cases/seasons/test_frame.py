"""Members, rail and season of a case, as they are read."""

from importlib.resources import files
from pathlib import Path

import pytest
from framed import BARE, BEARER, POSTS, RAIL, SEASON, YEAR, framed

from keyaction.cases.action.reader import read_case
from keyaction.cases.seasons.climate_file import climates
from keyaction.cases.seasons.fields import MEMBER_FIELDS, RAIL_FIELDS, SEASON_FIELDS
from keyaction.cases.text.defects import CaseProblem
from keyaction.models.climate.finishes import FINISHES
from keyaction.models.units.names import STANDARD_GRAVITY

HERE = Path(str(files("keyaction.cases")))


@pytest.fixture
def frame_of(tmp_path):
    """The case with squares, with these tables."""

    def read(tables, set_=None, year=YEAR, bare=BARE):
        return framed(tmp_path, tables, set_, year, bare)

    return read


def test_a_case_without_the_tables_has_no_frame(frame_of):
    assert frame_of("").frame is None
    assert read_case("demo-wood").frame is None


def test_members_are_as_they_are_written(frame_of):
    frame = frame_of(POSTS + BEARER).frame
    posts, bearer = frame.members
    assert (posts.name, posts.material.name, posts.towards, posts.grain) == ("posts", "white-oak", "up", "along")
    assert (posts.length[48], posts.length[60]) == pytest.approx((2.1, 1.4))
    assert (posts.thickness, posts.finish, posts.faces, posts.lag) == (pytest.approx(0.06), "shellac-3", 1, None)
    assert (posts.on, posts.carries, bearer.on, bearer.carries) == ("floor", ("roller",), "posts", ("pallet",))
    assert (bearer.lag, bearer.finish, bearer.faces) == (pytest.approx(20 * 86400), "bare", 2)
    assert (frame.rail, frame.year, frame.rod_finish, frame.warnings) == (None, None, "bare", ())


def test_it_was_regulated_in_the_boxs_air_unless_it_says_otherwise(frame_of):
    frame = frame_of(POSTS + BEARER).frame
    assert (frame.temperature, frame.humidity) == pytest.approx((293.15, 0.50))
    frame = frame_of('[season]\ntemperature = "21 degC"\nhumidity = "40 %"\nrod_finish = "shellac-3"').frame
    assert (frame.temperature, frame.humidity, frame.rod_finish) == (pytest.approx(294.15), 0.4, "shellac-3")
    assert frame.members == ()


def test_a_rail_that_hangs_is_drawn_by_its_weight(frame_of):
    rail = frame_of(RAIL).frame.rail
    assert rail.load == pytest.approx(2.4 * STANDARD_GRAVITY)
    assert (rail.carries, rail.towards, rail.fixed) == (("lower-square",), "down", False)
    rail = frame_of(RAIL + 'load = "20 N"\nrate = "500 N/m"\nahead = "0 mm"\nfixed = true\n').frame.rail
    assert (rail.load, rail.rate, rail.ahead, rail.behind, rail.fixed) == (20.0, 500.0, 0.0, 0.005, True)


def test_a_climate_beside_the_case_is_one_of_its_files(frame_of):
    case = frame_of(SEASON)
    assert len(case.frame.year) == 3
    assert case.files == {"year.csv": YEAR}
    other = frame_of(SEASON, year=YEAR.replace("19,52", "19,53"))
    remark = frame_of(SEASON, year=f"# another remark\n{YEAR}")
    assert other.fingerprint != case.fingerprint == remark.fingerprint


def test_a_climate_by_name_is_no_file(frame_of):
    case = frame_of('[season]\nclimate = "damp-summer"')
    assert case.frame.year.name == "damp-summer"
    assert case.files == {}


def test_members_rail_and_season_are_set_from_outside(frame_of):
    given = {"posts.length": "3 m", "bearer.material": "steel", "rail.friction": "2 N", "season.humidity": "0.4"}
    tables = (POSTS + BEARER).replace('grain = "radial"\n', "").replace('"eastern-white-pine"', '"aluminium"')
    tables += RAIL + "[season]\n"
    frame = frame_of(tables, given).frame
    assert set(frame.members[0].length.values()) == {3.0}
    assert (frame.members[1].material.name, frame.rail.friction, frame.humidity) == ("steel", 2.0, 0.4)


def test_a_setting_of_what_there_is_not_names_what_there_is(frame_of):
    with pytest.raises(CaseProblem, match=r"unknown part 'post'; did you mean 'posts'\?"):
        frame_of(POSTS + BEARER, {"post.length": "3 m"})


def test_a_hook_on_what_carries_its_part_counts_from_the_part(frame_of):
    tables = (
        POSTS
        + BEARER
        + """
[[member]]
name = "leather"
material = "sitka-spruce"
length = "10 mm"
towards = "up"
grain = "radial"
on = "posts"
carries = ["pull-down.start", "drop.end"]
thickness = "10 mm"
"""
    )
    assert frame_of(tables).frame.members[-1].on == "floor"


def test_the_keys_surface_goes_by_the_keys_own_name_too():
    case = read_case(HERE / "demo-instrument" / "pedal.toml")
    assert case.frame.rail.carries == ("tower-square",)
    assert "key.front" not in [name for one in case.frame.members for name in one.carries]


def test_what_does_nothing_or_is_not_known_is_warned_of(frame_of):
    tables = """
[materials.twig]
kind = "wood"
source = "found in the wood"
density = "500 kg/m^3"
E = "9 GPa"

[[member]]
name = "idle"
material = "twig"
length = "9 m"
towards = "up"
grain = "along"
thickness = "60 mm"
"""
    told = frame_of(tables).warnings
    assert told == (
        "squares.toml: [[member]] idle, field 'length' = 9000 mm at C3 to C4: outside the usual 10 mm to 6000 mm "
        "(common practice)",
        "squares.toml: [[member]] idle: carries nothing, and no member stands on it: it changes nothing",
        "squares.toml: [[member]] idle: material 'twig' has no 'thermal_expansion', 'shrinkage_longitudinal': taken to "
        "change nothing",
    )


def test_a_spring_that_is_used_up_before_the_stop_is_warned_of(frame_of):
    (line,) = frame_of(RAIL + 'load = "4 N"\nrate = "1000 N/m"\nahead = "6 mm"\n').warnings
    assert line == "squares.toml: [rail], field 'rate': the load is used up 4 mm from its centre, before the stop ahead"


def test_a_measured_rod_without_material_is_said_to_stay_as_it_is(frame_of):
    bare = BARE.replace(
        'length = { layout = true }\nmaterial = "western-redcedar"\nsection = "rectangle"\nwidth = "10 mm"\n'
        'thickness = "1.2 mm"\nmoves = "level"',
        'stiffness = "20 N/mm"\nmass = "12 g"\nmoves = "level"',
    )
    assert bare != BARE
    assert [line for line in frame_of(RAIL, bare=bare).warnings if "own length" in line] == [
        "squares.toml: [[train]] level-tracker: its stiffness is measured and it names no material: its own length is "
        "taken not to change (at C3 to C4)"
    ]


@pytest.mark.parametrize("division", ["high", "behind", "pedal"])
def test_the_demo_has_members_a_year_and_where_squares_are_a_rail(division):
    frame = read_case(HERE / "demo-instrument" / f"{division}.toml").frame
    carried = {name for one in frame.members for name in one.carries}
    key = "pedal-key" if division == "pedal" else "key"
    assert {key, "roller", "pallet"} <= carried
    assert len(frame.year) == 365
    assert "nvented" in frame.year.source
    assert (frame.rail is None) is (division == "high")
    assert frame.warnings == ()


def test_the_example_of_the_readme_is_sound(frame_of):
    text = (HERE / "README.md").read_text(encoding="utf-8").split("\n## The seasons")[1].split("\n## ")[0]
    frame = frame_of(text.split("```toml\n")[1].split("```")[0]).frame
    assert len(frame.members) == 4
    assert (frame.rail.mass, frame.year.name, frame.warnings) == (2.4, "heated-dry-winter", ())
    for table, fields in (("member", MEMBER_FIELDS), ("rail", RAIL_FIELDS), ("season", SEASON_FIELDS)):
        rows = text.split(f"| `[{table}]`" if table != "member" else "| `[[member]]`")[1].split("\n\n")[0]
        assert [one.name for one in fields if f"`{one.name}`" not in rows] == []
    assert [name for name in FINISHES if f"`{name}`" not in text] == []
    assert [name for name in climates() if f"`{name}`" not in text] == []
