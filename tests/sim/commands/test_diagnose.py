"""keyaction diagnose: sentences first, tables after, a page with its tables; what cannot be meant is told at once."""

import re
from pathlib import Path

import pytest
from command_line import Keyaction

SHEET = Path(__file__).resolve().parents[3] / "cases/onsite/demo-wood.csv"


@pytest.fixture
def keyaction(tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    return Keyaction(tmp_path, capsys)


def some_of(path, notes):
    """The shipped sheet with these notes alone."""
    lines = SHEET.read_text().splitlines()
    head = next(i for i, line in enumerate(lines) if line.startswith("note,"))
    path.write_text("\n".join([*lines[: head + 1], *(x for x in lines[head + 1 :] if x.split(",")[0] in notes)]) + "\n")
    return str(path)


def test_the_shipped_sheet_names_the_loose_note_and_writes_the_page(keyaction, tmp_path):
    some = some_of(tmp_path / "some.csv", ("C5", "C#5", "D5", "D#5", "E5", "A4", "B4"))
    said = keyaction("diagnose", "demo-wood", some, "--notes", "D5:E5", "--out", "findings")
    assert (said.status, said.err) == (0, "")
    assert max(map(len, said.out.splitlines())) <= 80
    told = " ".join(said.out.split())
    assert "3 of 7 measured notes are told: 2 as drawn, 1 with a fault of its own." in told
    assert "The others count in what all share and in what is usual; 1 of them with a fault" in told
    assert "D5: the run is loose" in told
    assert "To tell: " in told
    assert "As found against as drawn" in told
    assert "wind off and one person outside" in told
    made = {path.name for path in (tmp_path / "findings").iterdir()}
    assert made == {
        "diagnosis.html",
        *(f"{n}.csv" for n in ("departures", "expected", "limits", "proposed", "ranked-causes")),
    }
    page = (tmp_path / "findings" / "diagnosis.html").read_text()
    assert "<h2>What is to be done at D5</h2>" in page
    assert "<dt>make sure</dt><dd>read the play with feelers" in page
    assert page.index("Eye protection") < page.index("What is to be done")
    assert re.search(r"\b9\d %", page) and not re.search(r">0\.9\d*<", page)
    ranked = (tmp_path / "findings" / "ranked-causes.csv").read_text()
    assert ranked.startswith("note,place,cause,fault,probability,amount")
    assert "D5,1,nut" in ranked
    proposed = (tmp_path / "findings" / "proposed.csv").read_text()
    assert "turn a nut" in proposed
    assert "who,when" in proposed


@pytest.mark.long
def test_one_note_alone_and_nothing_found(keyaction, tmp_path):
    # With the wind on alone: half of the presses.
    rows = ("D5,0.3,10.5,2.2,3.9,139,56,59", "D#5,-0.2,10.6,0.5,1.5,132,60,55", "E5,-0.1,10.4,0.0,1.7,130,52,52")
    heading = "note,level (mm),dip (mm),play (mm),pluck point (mm),pluck (gf),hold (gf),up (gf)"
    (tmp_path / "sheet.csv").write_text("\n".join([heading, *rows]))
    said = keyaction("diagnose", "demo-wood", "sheet.csv", "--notes", "D5", "--note", "D5", "--units", "si")
    assert (said.status, said.err) == (0, "")
    assert "run loose" in said.out
    said = keyaction("diagnose", "demo-wood", "sheet.csv", "--notes", "D#5:E5")
    assert said.status == 0
    told = " ".join(said.out.split())
    assert "Nothing found: 2 of 3 measured notes are told" in told
    assert "1 of them with a fault and none in doubt" in told and "D5:" not in told
    assert "What would have been found" in said.out


def test_all_that_is_wrong_is_told_at_once(keyaction, tmp_path):
    sheet = tmp_path / "sheet.csv"
    sheet.write_text("note,dip (mm)\nC4,9.5\nD4,9.6\n")
    said = keyaction("diagnose", "demo-wood", "sheet.csv", "--note", "E4", "--jobs", "-1")
    assert said.status == 2
    assert "--note E4: it was not measured" in said.err
    assert "--jobs -1" in said.err
    assert keyaction("diagnose", "demo-wood", "sheet.csv", "--notes", "C5:D5").status == 2
    sheet.write_text("division,low\n\nnote,dip (mm)\nC4,9.5\n")
    said = keyaction("diagnose", "demo-instrument", "sheet.csv", "--division", "high")
    assert said.status == 2
    assert "its division is low" in said.err
