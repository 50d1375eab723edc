"""A table of changes: each row what the changed case gives, wrong tables refused with every reason."""

import json
import re

import numpy as np
import pytest

from keyaction.cases.action.reader import read_case
from keyaction.cases.action.trains import train_of
from keyaction.cases.text.defects import CaseProblem
from keyaction.models.notes import NoteProblem
from keyaction.sim.analysis.columns import read_inputs
from keyaction.sim.lanes.evaluate import available
from keyaction.sim.lanes.evaluate import evaluate as in_lanes
from keyaction.sim.sweep.table import evaluate

WANTED = ["pluck_force", "pluck_point", "key_dip"]
SPRING = "pallet-spring.force"


@pytest.fixture(scope="module")
def rows():
    return [
        {},
        {"roller.width": "30 mm"},
        {SPRING: "9 N", "roller.material": "sugar-maple"},
        {"materials.redcedar.E": "7 GPa", "materials.redcedar.density": "400 kg/m^3"},
    ]


@pytest.fixture(scope="module")
def found(wood, rows):
    return evaluate(wood, "C4,E4", rows, WANTED, sample=1)


def test_a_row_is_the_case_with_its_values_set(wood, rows, found):
    """Truth: the two ways to a changed case, by reading it anew and by changing what was read, are one."""
    cases = [read_case("demo-wood", set_=row) for row in rows]
    trains = [train_of(case, note) for case in cases for note in (60, 64)]
    meant = in_lanes(trains, wood.strokes, WANTED, sample=1).quantities
    for name in WANTED:
        assert np.array_equal(found[name], meant[name].reshape(len(rows), 2)), name
    assert len({tuple(row) for row in found["pluck_point"].tolist()}) == len(rows)


def test_strokes_may_differ_from_row_to_row(wood):
    times = ["30 ms", "60 ms"]
    found = evaluate(wood, "C4", {"strokes.down": times}, ["peak_force", "pluck_force"], sample=0)
    for i, time in enumerate(times):
        case = read_case("demo-wood", set_={"strokes.down": time})
        meant = in_lanes([train_of(case, 60)], case.strokes, ["peak_force", "pluck_force"], sample=0).quantities
        assert found["peak_force"][i, 0] == meant["peak_force"][0]
    assert found["peak_force"][0, 0] > found["peak_force"][1, 0]
    assert found["pluck_force"][0, 0] == found["pluck_force"][1, 0]


def test_everything_is_labelled(found):
    assert found.variables["pluck_force"].dims == ("design", "note")
    assert found.variables["pluck_force"].unit == "N"
    assert found.notes == ["C4", "E4"] and found["design"].tolist() == [0, 1, 2, 3]
    assert found["status"].tolist() == [["ok", "ok"]] * 4
    widths = found["input_roller.width"]
    assert widths == pytest.approx([0.024, 0.030, 0.024, 0.024])  # the case's own where nothing is said
    assert found["input_roller.material"][2] == "sugar-maple"
    told = json.loads(found.about["judged"])
    assert told["compared"] == 1 and told["worst"] < told["allowed"]
    assert "; 1 design played again as a check: largest difference " in found.about["methods"]
    assert {one.name for one in read_inputs(found)} == {
        name.removeprefix("input_") for name in found.variables if name.startswith("input_")
    }


def test_columns_rows_and_a_frame_say_the_same(wood):
    pandas = pytest.importorskip("pandas")
    columns = {"roller.width": ["20 mm", None], "strokes.down": "30 ms", "key.leads.0.mass": ["30 g", "50 g"]}
    frame = pandas.DataFrame(columns)
    rows = [
        {"roller.width": "20 mm", "strokes.down": "30 ms", "key.leads.0.mass": "30 g"},
        {"roller.width": np.nan, "strokes.down": "30 ms", "key.leads.0.mass": "50 g"},
    ]
    one, two, three = (evaluate(wood, "C4", given, ["key_dip"], sample=0) for given in (columns, rows, frame))
    for name in one.variables:
        assert np.array_equal(one[name], two[name]) and np.array_equal(one[name], three[name]), name


def test_numbers_of_arrays_are_numbers(wood):
    shares = np.array([1.05, 1.15])
    found = evaluate(wood, "C4", {"strokes.depth": shares}, ["key_dip"], sample=0)
    assert found["input_strokes.depth"].tolist() == shares.tolist()


def test_a_design_that_cannot_be_built_or_played_is_a_value_with_a_reason(wood):
    tube = {"pull-down.section": "tube", "pull-down.diameter": "1.5 mm", "pull-down.wall": "0.8 mm"}
    found = evaluate(wood, "C4", [{}, tube, {SPRING: "0.01 N"}], ["key_dip", "peak_force", "repetition_rate"], sample=0)
    fine, impossible, unplayed = found["status"][:, 0]
    assert fine == "ok"
    assert impossible.startswith("impossible: pull-down, field wall = 0.8 mm: thicker than the tube's radius")
    assert re.search(r"the pallet opens further by itself: upper-square turns by \d\.\d\d rad", unplayed)
    assert np.isfinite(found["key_dip"][:2, 0]).tolist() == [True, False]


def test_all_figures_of_the_lanes_by_default(wood):
    found = evaluate(wood, "C4", [{}], sample=0)
    assert set(available()) <= set(found.variables)


def test_every_defect_is_named_with_its_row(wood):
    rows = [{"roler.width": "20 mm"}, {"roller.width": 24}, {"roller.wdth": "1 mm"}, {"materials.redcedr.E": "1 GPa"}]
    with pytest.raises(CaseProblem) as problem:
        evaluate(wood, "C4", rows)
    told = str(problem.value)
    assert "changes, field 'roler.width': unknown part 'roler'; did you mean 'roller'?" in told
    assert "changes, row 1, field 'roller.width' = 24: a text with a unit is needed" in told
    assert "no field 'wdth'; did you mean 'width'?" in told
    assert "material 'redcedr' is not known; nearest: redcedar" in told


@pytest.mark.parametrize(
    ("changes", "message"),
    [
        ([], "has no row"),
        ({}, "has no row"),
        ({"roller.width": ["20 mm"], "key.width": ["20 mm", "21 mm"]}, "differ in length: roller.width 1, key.width 2"),
        (["roller.width"], "row 0 is no mapping"),
    ],
)
def test_a_table_that_is_none_is_refused(wood, changes, message):
    with pytest.raises(ValueError, match=message):
        evaluate(wood, "C4", changes)


def test_an_unknown_figure_or_note_is_refused(wood):
    with pytest.raises(ValueError, match="no figure 'pluck_forc'; did you mean 'pluck_force'"):
        evaluate(wood, "C4", [{}], ["pluck_forc"])
    with pytest.raises(NoteProblem):
        evaluate(wood, "C9", [{}])


@pytest.mark.parametrize("nothing", [[], (), iter(())])
def test_no_figure_at_all_is_refused(wood, nothing):
    with pytest.raises(ValueError, match="the list of quantities is empty; leave it out for all figures"):
        evaluate(wood, "C4", [{}], quantities=nothing)


def test_a_single_figure_may_be_a_plain_text(wood):
    found = evaluate(wood, "C4", [{}], quantities="key_dip", sample=0)
    assert np.array_equal(found["key_dip"], evaluate(wood, "C4", [{}], ["key_dip"], sample=0)["key_dip"])
    with pytest.raises(ValueError, match="no figure 'key_dp'; did you mean 'key_dip'"):
        evaluate(wood, "C4", [{}], quantities="key_dp")
    with pytest.raises(ValueError, match="no figure '3'"):
        evaluate(wood, "C4", [{}], quantities=[3])


@pytest.mark.parametrize(
    ("notes", "message"),
    [
        (["H9"], "'H9' in the list of notes: a list holds whole numbers, 60 for C4; names are written in one text"),
        (["C4", 3], "'C4' in the list of notes: a list holds whole numbers"),
        ([60.5], "60.5 in the list of notes"),
        ([True], "True in the list of notes"),
        ([60, 3], "note 3: this keyboard has none of that number; the compass is C2 to G6"),
        ([], "the list of notes is empty; the compass is C2 to G6"),
    ],
)
def test_a_list_of_notes_that_is_none_is_refused(wood, notes, message):
    with pytest.raises(NoteProblem, match=message):
        evaluate(wood, notes, [{}], "key_dip")
