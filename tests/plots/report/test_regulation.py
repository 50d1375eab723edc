"""The regulation list: a column to fill in beside each figure, weights where keys were weighed, and the way back."""

import csv
import math

import numpy as np
import pytest

from keyaction.cases.action.reader import read_case
from keyaction.cases.text.defects import CaseProblem
from keyaction.models.units.quantity import convert
from keyaction.plots.report.regulation import Found, found_sheet, found_words, read_found, regulated, regulation_sheet
from keyaction.plots.report.report import make_report
from keyaction.sim.files.hdf5 import save
from keyaction.sim.weighing.weighoff import unweighed, weigh

NOTES = [60, 61, 62]


@pytest.fixture(scope="module")
def weighed(case_path):
    return weigh(read_case(case_path), NOTES)


def filled(sheet, path, changes):
    """Write a list with some cells filled in: (row, title) to text."""
    head, *rows = csv.reader(sheet.csv().splitlines())
    for (row, title), text in changes.items():
        rows[row][head.index(title)] = text
    with path.open("w", encoding="utf-8", newline="") as file:
        csv.writer(file).writerows([head, *rows])
    return path


def test_each_figure_has_its_column_to_fill_in(played, weighed):
    for some in ((), weighed):
        head = [column.title for column in regulation_sheet(played, "trade", some).columns]
        figures = head[1 : 1 + (len(head) - 2) // 2]
        assert head == ["note", *figures, *(f"found {title}" for title in figures), "remark"]
    assert figures[-3:] == ["down (gf)", "hold (gf)", "up (gf)"]


def test_the_weights_are_those_of_the_weigh_off(played, weighed):
    head, *rows = csv.reader(regulation_sheet(played, "trade", weighed).csv().splitlines())
    for row, one in zip(rows, weighed, strict=True):
        for name in ("down", "hold", "up"):
            told = float(row[head.index(f"{name} (gf)")])
            assert told == pytest.approx(convert(getattr(one.on, name), "N")[0], abs=0.05)
    # What the masses must do to be these weights: the pluck of a slow press is the down-weight, to its damping.
    down = {f.words: f for f in regulated(played, weighed)}["down"].values
    np.testing.assert_allclose(down, played["pluck_force"], rtol=0.015)


@pytest.mark.parametrize("units", ["trade", "si"])
def test_what_is_filled_in_comes_back(played, weighed, tmp_path, units):
    sheet = regulation_sheet(played, units, weighed)
    dip, pluck, down = (next(c.title for c in sheet.columns if c.title.startswith(f"found {x}")) for x in FILLED)
    one = {"trade": "10.2", "si": "0.0102"}[units]
    cells = {
        (0, dip): one,
        (1, dip): "1.01 cm",
        (0, pluck): "1.5 N",
        (2, down): "170 gf",
        (2, "remark"): "eye rubs, wet",
    }
    found = read_found(filled(sheet, tmp_path / "r.csv", cells), NOTES, "scientific")
    assert found.values["dip"] == pytest.approx({60: 0.0102, 61: 0.0101})
    assert found.values["pluck"] == pytest.approx({60: 1.5}, abs=5e-4)
    assert found.values["down"] == pytest.approx({62: 170 * 9.80665e-3}, abs=5e-4)
    assert found.remarks == {62: "eye rubs, wet"} and found.weighed
    # Written once more it is the same list, and reads the same.
    again = regulation_sheet(played, units, weighed, found)
    (tmp_path / "again.csv").write_text(again.csv(), encoding="utf-8")
    once_more = read_found(tmp_path / "again.csv", NOTES, "scientific")
    assert once_more.remarks == found.remarks
    for name, values in found.values.items():
        assert once_more.values[name] == pytest.approx(values, abs=5e-4), name


FILLED = ("dip at 5 N (", "pluck (", "down (")


def test_differences_are_found_less_computed(played, weighed):
    found = Found({"pluck": {60: 2.0, 62: 1.0}, "down": {61: 1.7}})
    sheet = found_sheet(played, found, "si", weighed)
    assert [c.title for c in sheet.columns] == [
        "note", "pluck found (N)", "pluck differs (N)", "down found (N)", "down differs (N)",
    ]  # fmt: skip
    rows = {row[0]: row[1:] for row in sheet.rows}
    assert rows["C4"][:2] == [2.0, pytest.approx(2.0 - played.value("pluck_force", "C4"))]
    assert math.isnan(rows["C4"][2]) and math.isnan(rows["C#4"][0])
    assert rows["C#4"][3] == pytest.approx(1.7 - weighed[1].on.down)
    pluck, down = found_words(played, found, "si", weighed)
    assert "of 2 notes, from " in pluck and pluck.startswith("pluck ")
    assert down.endswith("of 1 note") and "median" not in down


def test_a_note_that_could_not_be_weighed_has_no_weights(played, weighed):
    some = [unweighed(60, "its key hangs"), *weighed[1:]]
    values = {f.words: f.values for f in regulated(played, some)}["hold"]
    assert math.isnan(values[0]) and np.all(np.isfinite(values[1:]))
    assert "<li>C4: failed: its key hangs</li>" in make_report(played, weighed=some).html


def test_every_defect_of_a_list_is_named(played, tmp_path):
    cells = {
        (0, "note"): "C9",
        (1, "found pluck (gf)"): "about 150",
        (1, "found dip at 5 N (mm)"): "10,1",
        (2, "found dip at 5 N (mm)"): "101",
        (2, "found pluck (gf)"): "12 mm",
    }
    path = filled(regulation_sheet(played, "trade"), tmp_path / "r.csv", cells)
    text = path.read_text(encoding="utf-8").replace("found follow", "found folow")
    path.write_text(text, encoding="utf-8")
    with pytest.raises(CaseProblem) as caught:
        read_found(path, NOTES, "scientific")
    told = [str(one) for one in caught.value.defects]
    assert len(told) == 6 and all(line.startswith("r.csv: ") for line in told)
    for words in (
        "line 2, field 'note' = \"C9\"",
        "line 3, field 'found pluck (gf)' = \"about 150\": 'about 150 gf' does not begin with a number",
        "use a point: '10.1 mm'",
        "out of range; 0 to 100 mm is allowed",
        "'12 mm' is a length",
        "did you mean 'follow'?",
    ):
        assert any(words in line for line in told), words


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("note,pluck (gf)\nC4,150\n", "no column begins with 'found'"),
        ("note,found pluck (gf)\nC4,\n", "nothing is filled in"),
        ("note;found pluck (gf)\nC4;150\n", "separate the columns by commas"),
        ("note,found pluck\nC4,150\n", "'150' has no unit"),
        ("", "is empty"),
    ],
)
def test_a_file_that_is_no_filled_list(tmp_path, text, words):
    path = tmp_path / "r.csv"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(CaseProblem, match=words):
        read_found(path, NOTES, "scientific")


def test_rows_that_were_not_measured_may_be_left_out(tmp_path):
    path = tmp_path / "r.csv"
    path.write_bytes("\ufeffnote,found up (gf),found hold (gf),found dip (mm)\r\nd1,60,,10\r\n".encode())
    found = read_found(path, NOTES, "trade")
    assert found.values == {"up": {62: pytest.approx(60 * 9.80665e-3)}, "hold": {}, "dip": {62: pytest.approx(0.01)}}


def test_the_command_weighs_and_sets_found_beside_computed(folder, keyaction, played):
    save(played, folder / "some.h5")
    status, _, err = keyaction("report", "some.h5", "--out", "r", "--weigh")
    assert (status, err) == (0, "")
    path = folder / "r" / "regulation.csv"
    head, *rows = csv.reader(path.read_text(encoding="utf-8").splitlines())
    rows[0][head.index("found down (gf)")] = "170"
    (folder / "found.csv").write_text("\n".join(map(",".join, [head, *rows])), encoding="utf-8")
    status, out, _ = keyaction("report", "some.h5", "--out", "again", "--found", "found.csv")
    assert status == 0 and "found against computed: down " in out
    head, *rows = csv.reader((folder / "again" / "found.csv").read_text(encoding="utf-8").splitlines())
    assert head == ["note", "down found (gf)", "down differs (gf)"] and rows[0][:2] == ["C4", "170.0"]
    assert (folder / "again" / "weigh-off.csv").exists()


def test_a_list_with_defects_leaves_nothing(folder, keyaction, played):
    save(played, folder / "some.h5")
    (folder / "found.csv").write_text("note,found pluck (gf)\nC4,x\nC9,2\n", encoding="utf-8")
    before = keyaction.tree()
    status, out, err = keyaction("report", "some.h5", "--out", "r", "--found", "found.csv")
    assert (status, out, len(err.splitlines())) == (2, "", 2)
    assert keyaction.tree() == before
