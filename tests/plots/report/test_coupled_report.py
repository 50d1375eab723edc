"""The report of coupled keys: schedule, keys, heavy touch; and the chord sheet. Without couplers it is as it was."""

import csv
import re

import numpy as np
import pytest
from command_line import Keyaction
from coupled_runs import THIRD, coupled_run
from figure_checks import changed
from small_couplers import SWELL, write_coupled

from keyaction.cases.instrument.reader import read_instrument
from keyaction.plots.report.report import make_report, write_report
from keyaction.plots.report.words import CAUTIONS, findings
from keyaction.sim.chord.of_case import chord
from keyaction.sim.figures.heavy import helps
from keyaction.sim.files.hdf5 import save

GF = 9.80665e-3


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    return tmp_path_factory.mktemp("coupled")


@pytest.fixture(scope="module")
def whole(folder):
    return coupled_run(folder)


@pytest.fixture(scope="module")
def page(whole, folder):
    report = make_report(whole["great"])
    write_report(report, folder / "report")
    return (folder / "report" / "report.html").read_text(), {sheet.name: sheet for sheet in report.sheets}


@pytest.fixture(scope="module")
def folder_of_one(tmp_path_factory):
    return coupled_run(tmp_path_factory.mktemp("one"), "great/C4")["great"]


def rows_of(path):
    with path.open(newline="") as file:
        return list(csv.DictReader(file))


def test_the_schedule_is_in_the_page_and_beside_it(page, folder):
    html, sheets = page
    assert '<section id="couplers"' in html
    assert '<section id="coupled-keys"' in html
    rows = rows_of(folder / "report" / "couplers.csv")
    assert [(row["note"], row["opens as"], row["pallet"], row["coupler"], row["play (mm)"]) for row in rows[:3]] == [
        ("C4", "1", "great", "-", ""),
        ("C4", "2", "II", "II/I", "0.400"),
        ("C4", "3", "II, 4 semitones up", "II/I 6", "1.000"),
    ]
    assert "II/I 6 couples nothing at G4" in sheets["couplers"].lines


def test_what_is_found_of_couplers(whole, page):
    told = [one.text for one in findings(whole["great"], None, "trade")]
    assert "Coupled by II/I, II/I 6: the median pluck rises from 160 gf alone to 215 gf." in told
    assert not any(one.startswith("Heavy") for one in told)
    assert "limit of comfort" not in " ".join(told)
    assert "couplers drawn" in page[0]
    heavy = changed(whole["great"], pluck_force=GF * np.array([450.0, 200.0]))
    lines = [one for one in findings(heavy, None, "trade") if one.text.startswith("Heavy")]
    assert [one.beware for one in lines] == [True]
    assert "C4 plucks with 450 gf, more than 400 gf" in lines[0].text
    assert helps(True) in make_report(heavy).html


def test_one_note_is_no_range(folder_of_one):
    told = " ".join(one.text for one in findings(folder_of_one, None, "trade"))
    assert "Pluck 254 gf (C4) at the key's front, the highest peak of each key." in told
    assert "Its own pallet plucks at 0.8 mm of key travel" in told
    assert not re.search(r"(\d[\d.]* \w+)( \(C4\))? to \1\b", told)


def test_of_which_pallet_place_and_force_are(page, folder):
    html, sheets = page
    for name in ("glance", "figures", "regulation"):
        assert "Plucks at: its own pallet; pluck: highest peak of all" in sheets[name].note
    assert html.count("see the coupler schedule") == 3
    row = rows_of(folder / "report" / "regulation.csv")[0]
    assert float(row["plucks at, its own pallet (mm)"]) < 1.0
    assert float(row["pluck, highest peak (gf)"]) == pytest.approx(254, abs=1)
    assert {"found plucks at (mm)", "found pluck (gf)"} <= set(row)
    labels = [row[0] for row in sheets["glance"].rows]
    assert "pluck point, its own pallet" in labels and "pluck force, highest peak" in labels


def test_without_couplers_headings_are_as_they_were(report_alone):
    sheets = {one.name: one for one in report_alone.sheets}
    assert "pluck (gf)" in sheets["regulation"].csv().splitlines()[0]
    assert "its own pallet" not in "".join(one.csv() + one.note for one in sheets.values())


def test_the_caution_says_what_helps_and_makes_no_claim():
    text = next(one.text for one in CAUTIONS if one.title == "Heavy touch")
    assert "no source is known" in text
    assert "no medical claim" in text
    assert "relief pallets" in text


def test_figures_of_pallets_are_defined(page):
    assert "Key travel at which this pallet leaves its seat in the slow press." in page[0]


def test_without_couplers_there_is_no_such_sheet(report_alone):
    assert {"couplers", "coupled-keys", "chord"}.isdisjoint(sheet.name for sheet in report_alone.sheets)
    assert "coupled keys over the compass" not in report_alone.html


@pytest.fixture(scope="module")
def report_alone(tmp_path_factory):
    from keyaction.sim.run.run import run

    return make_report(
        run(read_instrument(write_coupled(tmp_path_factory.mktemp("alone"), SWELL, THIRD)), "great/C4")["great"]
    )


def test_a_chord_sheet(whole, folder):
    case = read_instrument(folder / "organ.toml").divisions["great"]
    report = make_report(whole["great"], struck=chord(case, "C4 E4"))
    sheet = next(one for one in report.sheets if one.name == "chord")
    assert sheet.title == "Chord C4 E4"
    assert [row[0] for row in sheet.rows] == ["C4", "E4"]
    assert sheet.lines
    assert "Wind under the chord" in report.html


def test_report_of_a_file_with_a_chord(whole, folder, monkeypatch, capsys):
    monkeypatch.chdir(folder)
    save(whole, folder / "coupled.h5")
    keyaction = Keyaction(folder, capsys)
    said = keyaction("report", "coupled.h5", "--chord", "C4 E4", "--out", "made")
    assert said.status == 0, said.err
    assert {"chord.csv", "couplers.csv", "coupled-keys.csv", "report.html"} <= {
        path.name for path in (folder / "made" / "great").iterdir()
    }
    index = (folder / "made" / "report.html").read_text()
    assert re.search(r"How heavy in gf, alone (&gt;|>) coupled", index)
    assert (folder / "made" / "weight.csv").exists()


@pytest.mark.parametrize(
    ("options", "line"),
    [
        (["--chord", "C4 E9"], "'E9' is outside the compass"),
        (["--stops", "all"], "--stops all: goes with --chord"),
    ],
)
def test_slips_of_a_chord_write_nothing(whole, folder, options, line, monkeypatch, capsys):
    monkeypatch.chdir(folder)
    save(whole, folder / "coupled.h5")
    keyaction = Keyaction(folder, capsys)
    before = keyaction.tree()
    said = keyaction("report", "coupled.h5", *options, "--out", "none")
    assert said.status == 2
    assert line in said.err
    assert keyaction.tree() == before


@pytest.fixture
def of_file(whole, folder, monkeypatch, capsys):
    """The command on a result of one division, of an instrument with two more."""
    monkeypatch.chdir(folder)
    save(whole, folder / "coupled.h5")
    return Keyaction(folder, capsys)


@pytest.mark.long
def test_a_chord_of_several_divisions_reads_the_instrument_again(of_file, folder):
    (folder / "organ.toml").rename(folder / "elsewhere.toml")
    try:
        said = of_file("report", "coupled.h5", "--chord", "great/C4 II/E4", "--out", "several")
        assert said.status == 0, said.err
    finally:
        (folder / "elsewhere.toml").rename(folder / "organ.toml")
    rows = rows_of(folder / "several" / "great" / "chord.csv")
    assert [row["note"] for row in rows] == ["great/C4", "II/E4"]
    html = (folder / "several" / "great" / "report.html").read_text()
    assert "Played with no coupler drawn; --coupled NAMES draws them." in html


@pytest.mark.long
def test_a_chord_with_couplers_drawn(of_file, folder):
    said = of_file("report", "coupled.h5", "--chord", "great/C4", "--coupled", "II/I", "--out", "drawn")
    assert said.status == 0, said.err
    rows = rows_of(folder / "drawn" / "great" / "chord.csv")
    assert [row["note"] for row in rows] == ["great/C4", "II/C4 by great/C4"]
    html = (folder / "drawn" / "great" / "report.html").read_text()
    assert "Couplers drawn: II/I." in html
    assert re.search(r">\s*Chord great/C4\s*<", html)  # what was struck, and not what a coupler played


def test_a_chord_stands_on_the_pages_of_its_divisions(keyaction_of_two, folder_of_two):
    said = keyaction_of_two("report", "two.h5", "--chord", "II/C4 II/E4", "--out", "made")
    assert said.status == 0, said.err
    assert not (folder_of_two / "made" / "great" / "chord.csv").exists()
    assert (folder_of_two / "made" / "II" / "chord.csv").exists()
    said = keyaction_of_two("report", "two.h5", "--chord", "C4 E4", "--out", "none")
    assert said.status == 2
    assert "'C4': of which division? write great/C4" in said.err
    assert not (folder_of_two / "none").exists()


@pytest.fixture(scope="module")
def folder_of_two(tmp_path_factory):
    from keyaction.sim.run.run import run

    made = tmp_path_factory.mktemp("two")
    save(run(read_instrument(write_coupled(made, SWELL)), "great/C4,II/C4"), made / "two.h5")
    return made


@pytest.fixture
def keyaction_of_two(folder_of_two, monkeypatch, capsys):
    monkeypatch.chdir(folder_of_two)
    return Keyaction(folder_of_two, capsys)


def test_without_the_instrument_it_is_said_what_to_do(whole, folder, of_file):
    about = {name: text for name, text in whole.about.items() if name != "instrument_cases"}
    save(type(whole)(whole.divisions, about), folder / "bare.h5")
    before = of_file.tree()
    said = of_file("report", "bare.h5", "--chord", "great/C4 II/E4", "--out", "none")
    assert said.status == 2
    assert "needs the instrument in it, which cannot be read" in said.err
    assert "play it again with keyaction run organ.toml" in said.err
    assert of_file.tree() == before
    said = of_file("report", "bare.h5", "--chord", "great/C4 great/E4", "--out", "own")
    assert said.status == 0, said.err


def test_couplers_of_a_file_go_with_a_chord(of_file):
    said = of_file("report", "coupled.h5", "--coupled", "II/I", "--out", "none")
    assert said.status == 2
    assert "--coupled II/I: goes with --chord" in said.err


@pytest.mark.long
def test_report_of_an_instrument_with_couplers_drawn(of_file, folder):
    said = of_file("report", "organ.toml", "--coupled", "II/I", "--notes", "great/C4", "--jobs", "1", "--out", "played")
    assert said.status == 0, said.err
    assert (folder / "played" / "great" / "couplers.csv").exists()
    assert '--coupled "II/I"' in of_file("report", "--help").out
