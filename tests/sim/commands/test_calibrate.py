"""keyaction calibrate from the command line."""

import tomllib
from pathlib import Path

import pytest
from command_line import said
from planted import example

from keyaction.cases.measured.sheet import shipped_sheets

FEW = "spring,friction,play"
ALL = "friction,load-friction,spring,seal,twist,play,balance,dip,bottom-felt"


def test_the_shipped_curve_is_what_the_test_makes():
    assert shipped_sheets()["feel-C4.csv"].read_text(encoding="utf-8") == example()


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    return tmp_path_factory.mktemp("calibrated")


def test_a_curve_gives_a_case_tables_and_pictures(folder, capsys):
    made = said(
        capsys, "calibrate", "demo-wood", "feel-C4", "--unknown", ALL,
        "--out", folder / "found.toml", "--csv", folder / "tables", "--plots", folder / "pictures",
    )  # fmt: skip
    assert made.status == 0, made.err + made.out
    assert "The fit is good: sum of squares" in made.out
    assert all(
        len(line) <= 80 for line in made.out.splitlines() if not line.startswith(("calibrated case", "tables", "pict"))
    )
    data = tomllib.loads((folder / "found.toml").read_text())
    assert 1.95 < float(data["notes"]["C4"]["pallet-spring"]["force"].split()[0]) < 2.15
    assert "# calibrated: spring 95 % 2" in (folder / "found.toml").read_text()
    assert {one.name for one in (folder / "tables").iterdir()} == {
        "calibrated.csv", "fit.csv", "next-C4.csv", "correlations-C4.csv",
    }  # fmt: skip
    assert {one.name for one in (folder / "pictures").iterdir()} == {"fit-C4.png", "unknowns-C4.png"}
    again = said(capsys, "calibrate", "demo-wood", "feel-C4", "--out", folder / "found.toml")
    assert again.status == 2 and "there already, or other files" in again.err


def test_a_poor_fit_is_said_and_its_case_held_back(folder, capsys):
    made = said(
        capsys, "calibrate", "demo-wood", "feel-C4", "--unknown", FEW, "--out", folder / "poor.toml",
    )  # fmt: skip
    assert made.status == 1
    assert "The fit is poor" in made.out and "was not written: the fit of C4 is poor; --anyway writes it." in " ".join(
        made.out.split()
    )
    assert not (folder / "poor.toml").exists()


def test_what_can_be_found_is_listed(capsys):
    made = said(capsys, "calibrate", "demo-wood", "--list", "--notes", "C4")
    assert made.status == 0
    assert "torsional stiffness of the roller" in " ".join(made.out.split())


def test_options_may_stand_before_what_was_measured(capsys):
    """--list takes its note from there, and writes nothing."""
    made = said(capsys, "calibrate", "--list", "demo-wood", "--units", "si", "feel-C4")
    assert made.status == 0 and "What can be found at C4" in made.out
    refused = said(capsys, "calibrate", "demo-wood", "--list", "--out", "new.toml", "feel-C4")
    assert refused.status == 2 and "--out: --list writes nothing" in refused.err
    pedal = said(capsys, "calibrate", "demo-instrument", "--list", "--notes", "pedal/C2")
    assert pedal.status == 0 and "What can be found at C2" in pedal.out


def test_many_lines_with_the_same_defect_are_counted(tmp_path, capsys):
    rows = "".join(f"{90 + i},{i}\n" for i in range(20))
    Path(tmp_path / "swapped.csv").write_text(f"note,C4\ntravel (mm),force (gf)\n{rows}")
    made = said(capsys, "calibrate", "demo-wood", tmp_path / "swapped.csv")
    assert made.status == 2 and made.err.count("is it a force?") == 11
    assert "field 'travel': and 10 more like it" in made.err


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        ([], "MEASURED: name what was measured"),
        (["feel-C5"], "no such file; did you mean 'feel-C4.csv'?"),
        (["feel-C4", "--unknown", "sprig"], "--unknown sprig: not known; did you mean 'spring'?"),
        (["feel-C4", "--unknown", ","], "--unknown: names nothing"),
        (["feel-C4", "--notes", "D4"], "nothing was measured at any of them"),
    ],
)
def test_wrong_input(arguments, told, capsys):
    made = said(capsys, "calibrate", "demo-wood", *arguments)
    assert made.status == 2 and told in made.err


def test_notes_unknowns_and_all_files_are_complained_of_at_once(tmp_path, capsys):
    Path(tmp_path / "one.csv").write_text("note,C4\ntravel (mm),force (gf)\n1,a\n")
    Path(tmp_path / "two.csv").write_text("note,Q9\ndriven,let go\ntime (ms),key (mm)\n0,1\n1,2\n2,3\n")
    made = said(
        capsys, "calibrate", "demo-wood", tmp_path / "one.csv", tmp_path / "two.csv",
        "--notes", "X9", "--unknown", "frition",
    )  # fmt: skip
    assert made.status == 2
    assert all(told in made.err for told in ("'X9'", "--unknown frition", "one.csv: line 3", "two.csv: line 4"))


def test_too_few_figures_are_counted(tmp_path, capsys):
    Path(tmp_path / "few.csv").write_text("note,pluck,hold\nC4,160,80\n")
    made = said(capsys, "calibrate", "demo-wood", tmp_path / "few.csv", "--unknown", FEW)
    assert made.status == 2
    assert "2 figures for 3 unknowns (spring, friction, play): at least 4 are needed" in made.err
