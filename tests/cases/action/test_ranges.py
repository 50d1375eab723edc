"""Ranges of values: a slip of a decimal place is seen, whatever field it is in, before anything is played."""

import math
import re
import shutil
from importlib.resources import files

import pytest
from short_case import write_case

from keyaction.cases.action.reader import read_case
from keyaction.cases.action.strokes import STROKE_FIELDS
from keyaction.cases.action.trains import check_trains
from keyaction.cases.fields.tables import paths
from keyaction.cases.seasons.fields import MEMBER_FIELDS, RAIL_FIELDS, SEASON_FIELDS
from keyaction.cases.text.defects import CaseProblem
from keyaction.models.parts import PARTS
from keyaction.models.train.train import TrainProblem
from keyaction.sim.run.checking import warnings
from keyaction.sim.run.standings import standings

HERE = files("keyaction.cases")
DEMO = (HERE / "demo-wood.toml").read_text(encoding="utf-8")
VALUE = re.compile(r'"(-?[\d.]+) ([A-Za-z%][\w%^/*]*)"')
"""A dimensioned value as a case has it."""
ENDS_AND_MIDDLE = (36, 60, 91)
"""The notes at which the demo has its control points."""

UNREMARKED = {
    (0.1, '"1800 mm"'): "a tracker of 180 mm is a usual one",
    (
        0.1,
        '"1.5 mm"',
    ): "leather that seals at the opening's edge is a usual one, and the touch stays usual",
}
"""Factor and value of the demo that pass without a remark, and why that is right."""


@pytest.fixture(scope="module")
def remarked(tmp_path_factory):
    """What `check` says of the demo with another text: its refusals or warnings, one after the other."""
    folder = tmp_path_factory.mktemp("scaled")
    shutil.copy(str(HERE / "demo-chest.csv"), folder)

    def say(text, notes=ENDS_AND_MIDDLE, first=False):
        (folder / "demo-wood.toml").write_text(text, encoding="utf-8")
        try:
            case = read_case(folder / "demo-wood.toml")
            if first and case.warnings:
                return list(case.warnings)
            return warnings(case, standings(check_trains(case, notes or case.compass), case.strokes))
        except (CaseProblem, TrainProblem) as problem:
            return str(problem).split("\n")

    return say


def scaled(match, factor):
    return f'{DEMO[: match.start()]}"{float(match[1]) * factor:.6g} {match[2]}"{DEMO[match.end() :]}'


def test_the_demo_has_the_values_that_are_scaled(remarked):
    found = VALUE.findall(DEMO)
    assert len(found) == 85
    assert DEMO.count('"') > 2 * len(found)  # words are not among them
    assert remarked(DEMO) == []  # of all its notes: tests/project/test_demos.py


@pytest.mark.parametrize("factor", [0.1, 10.0, 0.001, 1000.0])
def test_a_value_scaled_by_itself_is_remarked_on(remarked, factor):
    silent = [match[0] for match in VALUE.finditer(DEMO) if not remarked(scaled(match, factor), first=True)]
    assert silent == [value for of, value in UNREMARKED if of == factor]
    assert len(silent) <= 85 // 10


@pytest.mark.parametrize("factor", [0.1, 10.0])
def test_a_column_of_a_csv_file_scaled_is_remarked_on(tmp_path, factor):
    chest = (HERE / "demo-chest.csv").read_text(encoding="utf-8")
    (tmp_path / "demo-wood.toml").write_text(DEMO, encoding="utf-8")
    rows = re.sub(r",(\d+)$", lambda cell: f",{int(cell[1]) * factor:g}", chest, flags=re.MULTILINE)
    (tmp_path / "demo-chest.csv").write_text(rows, encoding="utf-8")
    case = read_case(tmp_path / "demo-wood.toml")
    assert any("roller, field 'length'" in line for line in case.warnings)


# -- the fields ------------------------------------------------------------------------------------------
FIELDS = [(kind, path, field) for kind, part in PARTS.items() for path, field in paths(part.fields)]
FIELDS += [("[strokes]", path, field) for path, field in paths(STROKE_FIELDS)]
SEASONS = {"[[member]]": MEMBER_FIELDS, "[rail]": RAIL_FIELDS, "[season]": SEASON_FIELDS}
FIELDS += [(owner, path, field) for owner, fields in SEASONS.items() for path, field in paths(fields)]
SIZES = {f"{owner}.{path}": field for owner, path, field in FIELDS if field.kind in ("quantity", "number")}


@pytest.mark.parametrize("field", SIZES.values(), ids=SIZES)
def test_every_size_has_an_allowed_and_a_usual_range_with_its_source(field):
    low = 0.0 if field.positive and math.isinf(field.low) else field.low
    assert math.isfinite(low)
    assert math.isfinite(field.high)
    usual = field.usual
    assert usual is not None
    assert low <= usual[0] < usual[1] <= field.high
    assert (low, field.high) != usual, "nothing would be warned of"
    assert field.range_source
    if isinstance(field.default, float):
        assert usual[0] <= field.default <= usual[1]


def test_a_warning_names_file_place_value_range_and_source(remarked):
    assert remarked(DEMO.replace('dip = "9.5 mm"', 'dip = "15 mm"'))[0] == (
        "demo-wood.toml: [[train]] key, field 'dip' = 15 mm at C2 to G6: outside the usual 7.5 mm to 12 mm (7.9 to "
        "9.5 mm (console standard of the American Guild of Organists, 1933, second-hand); 9 to 11 mm (Dom Bedos, L'Art "
        "du facteur d'orgues, 1766-78, art. 473))"
    )


def test_a_source_of_the_default_is_not_taken_for_that_of_the_range(remarked):
    (line,) = remarked(DEMO.replace('lost_motion = "0.3 mm"', 'lost_motion = "2 mm"'), first=True)
    assert line.endswith("outside the usual 0 mm to 1.5 mm (common practice)")


def test_what_reads_as_the_end_of_a_range_is_in_it(remarked):
    at = lambda ends: DEMO.replace('lost_motion = "0.3 mm"', f'lost_motion = "{ends}"')  # noqa: E731
    assert remarked(at("1.50134 mm")) == []
    assert "= 1.51 mm" in remarked(at("1.51 mm"), first=True)[0]


def test_the_pressure_of_the_air_is_written_as_such(remarked):
    (line,) = remarked(DEMO.replace("101325 Pa", "1.2 bar"))
    assert "allowed: 600 hPa to 1100 hPa" in line


def test_strokes_have_usual_ranges_too(tmp_path):
    case = read_case(
        write_case(tmp_path, more='\n[strokes]\ndown = "3 ms"\nspeeds = ["50 mm/s", "0.1 m/s", "2 m/s"]\n')
    )
    assert case.warnings == (
        "short.toml: [strokes], field 'down' = 3 ms: outside the usual 5 ms to 1000 ms (common practice)",
        "short.toml: [strokes], field 'speeds.fast' = 2000 mm/s: outside the usual 5 mm/s to 1000 mm/s "
        "(common practice)",
    )


@pytest.mark.parametrize("name", ["demo-wood", "demo-carbon"])
def test_shipped_cases_are_usual(name):
    assert read_case(name).warnings == ()


def test_the_starting_case_is_usual(tmp_path):
    text = (HERE / "templates" / "start.toml").read_text(encoding="utf-8").replace("{title}", "invented")
    (tmp_path / "start.toml").write_text(text, encoding="utf-8")
    case = read_case(tmp_path / "start.toml")
    assert warnings(case, standings(check_trains(case, case.compass), case.strokes)) == []


# -- over the compass ------------------------------------------------------------------------------------
def area(*points):
    pairs = ", ".join(f'{note} = "{value} mm^2"' for note, value in points)
    return re.sub(r'(Principal 8", area = ){.*?}', rf'\1{{ between = "geometric", {pairs} }}', DEMO)


def test_a_toe_that_opens_towards_the_treble_is_named_where_it_does_so_most(remarked):
    (line,) = remarked(area(("C2", 10), ("C4", 40), ("G6", 12)))
    # Two octaves that each double: 10, 20, 40; every octave of them as far off as the next.
    found = re.search(
        r"field 'stops.0.area': (\S+) mm² at (\S+), (\S+) mm² at (\S+): outside the usual 0.25 to 1.3", line
    )
    assert float(found[3]) / float(found[1]) == pytest.approx(2, rel=0.02)
    assert found[2][:-1] == found[4][:-1]
    assert int(found[4][-1]) == int(found[2][-1]) + 1


@pytest.mark.parametrize(("points", "named"), [([90, 35, 8], False), ([90, 90, 90], False), ([90, 5, 4], True)])
def test_a_toe_that_closes_as_pipes_do_is_not(remarked, points, named):
    assert bool(remarked(area(*zip(("C2", "C4", "G6"), points, strict=True)))) is named


def test_one_note_apart_is_seen_against_its_octave(remarked):
    text = f'{DEMO}\n[notes.C4.groove]\nstops = [{{ name = "Principal 8", area = "350 mm^2", drawn = true }}]\n'
    assert any("C4" in line and "from a note to its octave" in line for line in remarked(text))


# -- what contradicts itself -----------------------------------------------------------------------------
def test_every_impossible_size_is_named_at_once_with_its_notes(remarked):
    text = DEMO.replace('at = "-150 mm"', 'at = "-190 mm"').replace('front = "230 mm"', 'front = "260 mm"')
    text = re.sub(r"(?m)^eye = .*$", 'eye = "240 mm"', text)
    text = re.sub(r"(?m)^at = .*$", 'at = "200 mm"', text)
    assert remarked(text, None) == [
        "key, field front = 260 mm: the finger presses beyond the front end of the stick; allowed: up to 250 mm "
        "(every note)",
        "key, field leads.0.at = -190 mm: beyond the ends of the stick; allowed: -180 mm to 250 mm (every note)",
        "pallet, field eye = 240 mm: the eye is beyond the free end of the pallet; allowed: up to 235 mm "
        "(every note; figures of C2)",
        "pallet-spring, field at = 200 mm: the spring bears beyond the free end of the pallet; allowed: up to 198 mm "
        "(notes C#4, D4, D#4, E4, F4, F#4 and others; figures of C#4)",
    ]


def test_an_odd_size_is_a_line_with_its_values_and_notes(remarked):
    text = re.sub(r"(?m)^eye = .*$", 'eye = "100 mm"', DEMO)
    line = next(line for line in remarked(text, None) if "'eye'" in line)
    assert line == (
        "demo-wood.toml: [[train]] pallet, field 'eye' = 100 mm at C2 to B3: less than half of the pallet's length "
        "from the hinge (common practice: near the free end)"
    )


# -- values from outside ---------------------------------------------------------------------------------
@pytest.mark.parametrize("given", [5, "roller.width", ["roller.width"], [("a",)], {3: "x"}, [1, 2], [("a", 1, 2)]])
def test_settings_that_are_none_are_refused_as_such(given):
    with pytest.raises(
        TypeError, match=r"set_ has .*; fields with values are needed: \{\"roller.length\": \"20 mm\"\}"
    ):
        read_case("demo-wood", set_=given)


@pytest.mark.parametrize(
    "given", [{"roller.width": "20 mm"}, [("roller.width", "20 mm")], (["roller.width", "20 mm"],)]
)
def test_settings_in_their_forms(given):
    assert read_case("demo-wood", set_=given).part("roller").fields["width"][60].value == pytest.approx(0.020)


def test_a_setting_out_of_the_usual_is_warned_of():
    case = read_case("demo-wood", set_={"roller.width": "60 mm"})
    assert case.warnings == (
        "demo-wood.toml: [[train]] roller, field 'width' = 60 mm at C2 to G6: outside the usual 8 mm to 45 mm "
        "(common practice)",
    )
