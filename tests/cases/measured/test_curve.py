"""Feel curves and traces as they come back: units, order, defects with their lines."""

import numpy as np
import pytest

from keyaction.cases.measured.all import read_measured
from keyaction.cases.measured.curve import MOST, read_curves
from keyaction.cases.measured.trace import read_traces
from keyaction.cases.text.defects import CaseProblem

COMPASS = range(36, 92)


def read(tmp_path, text, of=read_curves, naming="scientific"):
    path = tmp_path / "some.csv"
    path.write_text(text, encoding="utf-8")
    return of(path, COMPASS, naming)


def defects(tmp_path, text, of=read_curves):
    with pytest.raises(CaseProblem) as problem:
        read(tmp_path, text, of)
    return str(problem.value)


def test_units_in_headings_and_in_cells_and_decimal_commas(tmp_path):
    text = "note;C4\ntravel (cm);force (oz)\n0;0\n0,05;1,5\n0,1;30 g\n0,15;1 N\n"
    (curve,) = read(tmp_path, text)
    assert curve.travel == pytest.approx([0.0, 0.5e-3, 1.0e-3, 1.5e-3])
    assert curve.force == pytest.approx([0.0, 1.5 * 0.278013851, 0.030 * 9.80665, 1.0], rel=1e-8)
    assert curve.down.all() and not curve.stated


def test_a_head_may_be_separated_otherwise_than_its_table(tmp_path):
    (curve,) = read(tmp_path, "note,C4\nwind,off\nforce error,2 gf\ntravel;force\n0;0\n0,5;12\n1,5;40\n")
    assert not curve.wind and curve.force_error == pytest.approx(2e-3 * 9.80665)


@pytest.mark.parametrize(
    ("travel", "down"),
    [
        ((0, 3, 6, 9), "dddd"),
        ((0, 4, 9, 5, 1), "ddduu"),
        ((9, 5, 0, 4, 9), "uuudd"),
        ((9, 6, 3, 0), "uuuu"),
    ],
)
def test_which_way_a_curve_goes(tmp_path, travel, down):
    rows = "\n".join(f"{t},{10 + t}" for t in travel)
    (curve,) = read(tmp_path, f"note,C4\ntravel (mm),force (gf)\n{rows}\n")
    assert "".join("d" if one else "u" for one in curve.down) == down


def test_several_notes_by_column_and_by_lines(tmp_path):
    by_column = "note,force,travel\nC4,0,0\nD4,0,0\nC4,9,1\nD4,8,1\nC4,10,2\nD4,9,2\n"
    by_lines = "note,C4\ntravel,force\n0,0\n1,9\n2,10\nnote,D4\nwind,off\n0,0\n1,8\n2,9\n"
    for text in (by_column, by_lines):
        one, other = read(tmp_path, text)
        assert (one.note, other.note) == (60, 62)
        assert other.force == pytest.approx(np.array([0, 8, 9]) * 9.80665e-3)
    assert one.wind and not other.wind


def test_notes_in_another_naming(tmp_path):
    (curve,) = read(tmp_path, "note,c1\ntravel,force\n0,0\n1,9\n2,10\n")
    assert curve.note == 60


def test_every_defect_at_once_with_its_line(tmp_path):
    text = "note,C4\nwind,of\ntravel (mm),force (gf)\n0,0\n2,50\n0.5,30\n3,3 mm\n4,x\n5,60\n"
    told = defects(tmp_path, text).split("\n")
    assert told[0].startswith("some.csv: line 7, field 'force' = \"3 mm\": '3 mm' is a length; a force is needed")
    assert told[1].startswith("some.csv: line 8, field 'force' = \"x\"")
    assert told[2] == "some.csv: line 2, field 'wind' = \"of\": not known; did you mean 'off'?"
    assert told[3].startswith("some.csv: line 6, field 'travel' = \"0.5 mm\": goes back by 1.5 mm on the way down")
    assert len(told) == 4


def test_force_in_millimetres(tmp_path):
    assert "line 2 = \"force (mm)\": no unit of this column: '1 mm' is a length" in defects(
        tmp_path, "note,C4\ntravel (mm),force (mm)\n0,0\n1,1\n2,2\n"
    )


def test_noise_of_a_sensor_is_no_way_back(tmp_path):
    random = np.random.default_rng(2)
    travel = np.linspace(0, 10, 400) + random.normal(size=400) * 0.01
    rows = "\n".join(f"{t:.4f},{10 * t:.3f}" for t in travel)
    (curve,) = read(tmp_path, f"note,C4\ntravel error,0.01 mm\ntravel (mm),force (gf)\n{rows}\n")
    assert len(curve.travel) <= 2 * MOST and curve.samples == 400


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("travel,force\n0,0\n1,1\n2,2\n", "which note is it?"),
        ("note,C9\ntravel,force\n0,0\n1,1\n2,2\n", "outside the compass; the compass is C2 to G6"),
        ("note,C4\ntravel,force\n0,0\n1,1\n", "2 points of travel and force; a curve needs three or more"),
        ("note,C4\ntravel,force\n,0\n,1\n,2\n", "0 points of travel and force"),
        ("note,C4\ntravel,kraft\n0,0\n", "no table: a line of headings is needed"),
        ("note,C4\ntravel,force,way\n0,0,down\n1,1,sideways\n2,2,down\n", "must be down or up"),
        ("note,C4\npresure,70 mmH2O\ntravel,force\n0,0\n1,1\n2,2\n", "did you mean 'pressure'?"),
        ("note,C4\ntravel,force\n0,0\n1,1,5\n2,2\n", "has 3 cells where the headings have 2; decimal commas?"),
    ],
)
def test_what_is_refused(tmp_path, text, told):
    assert told in defects(tmp_path, text)


def test_samples_are_drawn_together_to_means(tmp_path):
    travel = np.linspace(0.0, 10.0, 6000)
    rows = "\n".join(f"{t:.5f},{20 + 3 * t:.5f}" for t in travel)
    (curve,) = read(tmp_path, f"note,C4\ntravel (mm),force (gf)\n{rows}\n")
    assert len(curve.travel) == MOST and curve.samples == 6000
    assert curve.force / 9.80665e-3 == pytest.approx(20 + 3e3 * curve.travel, rel=1e-6)
    _, force_error = curve.errors()
    assert force_error == pytest.approx(9.80665e-3 * 0.2)  # not by the root of 25


def test_traces(tmp_path):
    text = "note,C4\ndriven,mass\nmass,150 g\nframe rate,240 Hz\nkey error,0.1 mm\ntime (ms),key (mm),groove\n"
    (trace,) = read(tmp_path, text + "0,0,0\n4.2,0.3,\n8.3,1.2,5\n", read_traces)
    assert (trace.driven, trace.mass, trace.rate) == ("mass", pytest.approx(0.15), 240.0)
    assert trace.values["groove"][2] == pytest.approx(5 * 9.80665) and np.isnan(trace.values["groove"][1])
    assert trace.error("key") == pytest.approx(1e-4) and not trace.stated


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("note,C4\ntime,key\n0,0\n1,1\n2,2\n", "how was the key driven?"),
        ("note,C4\ndriven,mass\ntime,key\n0,0\n1,1\n2,2\n", "which mass was laid on?"),
        ("note,C4\ndriven,finger\ntime,key\n0,0\n1,1\n2,2\n", "needs its way, in a column 'finger (mm)'"),
        ("note,C4\ndriven,let go\ntime,key\n0,0\n2,1\n1,2\n", "line 6, field 'time' = \"1 s\": does not go on"),
        ("note,C4\ndriven,let go\ntime\n0\n1\n2\n", "nothing but times"),
        ("note,C4\ndriven,let go\ntime,key (gf)\n0,0\n1,1\n2,2\n", "no unit of this column"),
    ],
)
def test_traces_that_are_refused(tmp_path, text, told):
    assert told in defects(tmp_path, text, read_traces)


def test_files_are_read_as_what_they_are_and_their_defects_told_together(tmp_path):
    (tmp_path / "curve.csv").write_text("note,C4\ntravel,force\n0,0\n1,9\n2,10\n")
    (tmp_path / "back.csv").write_text("note,D4\ndriven,let go\ntime,key\n0,9\n0.01,5\n0.02,1\n")
    (tmp_path / "sheet.csv").write_text("note,dip (mm),pluck\nE4,9.5,118\n")
    names = [tmp_path / name for name in ("curve.csv", "back.csv", "sheet.csv")]
    found = read_measured(names, COMPASS, "scientific")
    assert found.notes == [60, 62, 64]
    (tmp_path / "curve.csv").write_text("note,C4\ntravel,force\n0,x\n1,9\n2,10\n3,1\n")
    (tmp_path / "sheet.csv").write_text("note,dip (mm),pluck\nH4,9.5,118\n")
    with pytest.raises(CaseProblem) as problem:
        read_measured([*names, tmp_path / "none.csv"], COMPASS, "scientific")
    told = str(problem.value)
    assert "curve.csv: line 3" in told and "sheet.csv: line 2" in told and "none.csv: no such file" in told


@pytest.mark.parametrize(("line", "within", "assumed"), [("", 0.05, True), ("laid in,0.5 s\n", 0.5, False)])
def test_how_long_a_mass_took_to_be_laid_is_stated_or_assumed(tmp_path, line, within, assumed):
    path = tmp_path / "laid.csv"
    path.write_text(f"note,C4\ndriven,mass\nmass,150 g\n{line}time (s),key (mm)\n0,0\n0.1,1\n0.2,5\n")
    (trace,) = read_traces(path, range(36, 92))
    assert (trace.within, trace.assumed) == (within, assumed)
