"""keyaction regulate: sentences, the page and its CSVs, what is refused."""

import csv
from pathlib import Path

import pytest

CASES = Path(__file__).parents[3] / "cases"
HEAD = "case,demo\npressure (mmH2O),70\nruler (mm),0.05\n\n"
COLUMNS = "note,speech,level (mm),dip (mm),play (mm),pluck point (mm),lift (mm),pluck (gf),hold (gf),up (gf)\n"
C4 = "C4,speaks,0.0,10.4,0.5,2.0,5.9,163,67,66\n"
SLIPPED = "D4,speaks,0.0,10.4,2.34,3.8,4.7,158,66,66\n"


@pytest.fixture
def sheet(tmp_path):
    path = tmp_path / "sheet.csv"
    path.write_text(HEAD + COLUMNS + C4 + SLIPPED)
    return path


def test_a_slipped_nut_stands_on_screen_and_page(keyaction, sheet, tmp_path):
    said = keyaction("regulate", "demo-wood", str(sheet), "--out", str(tmp_path / "made"))
    assert (said.status, said.err) == (0, "")
    assert "To do: 1 nut at 1 of 2 notes." in said.out
    assert "9. pluck point: 1 nut to be turned for the play: D4" in said.out
    assert "Eye protection" in said.out
    assert max(map(len, said.out.splitlines())) <= 80
    with (tmp_path / "made" / "steps.csv").open(encoding="utf-8") as file:
        (step,) = csv.DictReader(file)
    assert (step["stage"], step["note"]) == ("pluck point", "D4")
    assert step["what"].startswith("nut of drop: 3 turns tighter (1.2 mm)")
    page = (tmp_path / "made" / "regulation.html").read_text()
    assert "3 turns tighter" in page
    assert "<li><b>pluck point</b>: 1 nut to be turned for the play: D4</li>" in page  # the list numbers it
    assert "`keyaction" not in page and "(--" not in page.split("</style>")[1]
    assert "2.3\N{RIGHTWARDS ARROW}0.5" in page  # play before and after
    assert ">all 2</th>" in page  # both nuts do the same by a turn: one row
    names = {"a-turn", "console", "expected", "found", "steps", "work"}
    assert names <= {path.stem for path in (tmp_path / "made").glob("*.csv")}


def test_nothing_to_turn_is_said_and_no_failure(keyaction, tmp_path):
    path = tmp_path / "sheet.csv"
    path.write_text(HEAD + COLUMNS + C4)
    said = keyaction("regulate", "demo-wood", str(path))
    assert said.status == 0
    assert "Nothing to turn" in said.out


def test_the_pitch_is_stated_and_the_older_sheet_compared(keyaction, sheet):
    said = keyaction("regulate", "demo-wood", str(sheet), "--pitch", "0.6 mm", "--before", str(sheet))
    assert said.status == 0
    assert "one turn 0.6 mm" in " ".join(said.out.split())
    assert "still to do: D4" in " ".join(said.out.split())


def test_every_wrong_option_is_named_at_once(keyaction, sheet, tmp_path):
    out = tmp_path / "made"
    wrong = ("--level", "20 mm", "--even", "x", "--jobs", "-1", "--pdf")
    said = keyaction("regulate", "demo-wood", str(sheet), *wrong)
    assert said.status == 2
    for name in ("--level", "--even", "--jobs", "--pdf"):
        assert name in said.err
    assert not out.exists()


def test_an_instrument_needs_its_division(keyaction, sheet):
    said = keyaction("regulate", "demo-instrument", str(sheet))
    assert said.status == 2
    assert "--division" in said.err


def test_some_notes_alone(keyaction, sheet):
    said = keyaction("regulate", "demo-wood", str(sheet), "--notes", "C4")
    assert said.status == 0
    assert "Nothing to turn" in said.out
    said = keyaction("regulate", "demo-wood", str(sheet), "--notes", "F5")
    assert (said.status, said.out) == (2, "")
    assert "no note that is asked for has a reading" in said.err


def test_a_sheet_that_is_not_there(keyaction):
    said = keyaction("regulate", "demo-wood", "nowhere.csv")
    assert said.status == 2
    assert "nowhere.csv" in said.err


def test_historic_is_said_before_anything_is_proposed(keyaction, sheet, tmp_path):
    case = tmp_path / "old.toml"
    for name in ("demo-wood.toml", "demo-chest.csv"):
        (tmp_path / name).write_text((CASES / name).read_text())
    case.write_text(
        (tmp_path / "demo-wood.toml").read_text()
        + '\n[historic]\nmade = "1790"\ndecides = "the curator"\nkeep = ["the felts"]\n'
    )
    said = " ".join(keyaction("regulate", str(case), str(sheet)).out.split())
    top = said.index("Every step below is a proposal, nuts and washers too: to be decided by the curator")
    assert said.index("Historic: the whole action, 1790; must stay: the felts") < top < said.index("1. pressure")


def test_a_sheet_of_another_division_is_refused(keyaction, tmp_path):
    path = tmp_path / "sheet.csv"
    path.write_text("division,nowhere\n" + HEAD + COLUMNS + C4)
    said = keyaction("regulate", "demo-instrument", str(path), "--division", "high")
    assert (said.status, said.out) == (2, "")
    assert said.err.count("is not the division asked for") == 1


def test_notes_options_and_both_sheets_are_complained_of_at_once(keyaction, tmp_path):
    now, before = tmp_path / "now.csv", tmp_path / "before.csv"
    now.write_text("note,level (mm)\nC4,zz\n")
    before.write_text("note,level (mm)\nC4,99 kg\n")
    said = keyaction(
        "regulate", "demo-wood", str(now), "--before", str(before), "--notes", "X9", "--level", "3"
    )  # fmt: skip
    assert (said.status, said.out) == (2, "")
    assert all(
        told in said.err for told in ("'X9'", "--level: '3' has no unit", "now.csv: line 2", "before.csv: line 2")
    )


def test_ticks_are_kept_and_stale_sheets_removed(keyaction, sheet, tmp_path):
    out = tmp_path / "made"
    first = keyaction("regulate", "demo-wood", str(sheet), "--before", str(sheet), "--out", str(out))
    assert (first.status, (out / "progress.csv").exists()) == (0, True)
    rows = (out / "console.csv").read_text().splitlines()
    ticked = "\n".join([rows[0], rows[1].rstrip(",") + ",x,mine"])
    (out / "console.csv").write_text(ticked)
    said = keyaction("regulate", "demo-wood", str(sheet), "--out", str(out))
    assert "kept as console.csv.old" in " ".join(said.out.split())
    assert (out / "console.csv.old").read_text() == ticked
    assert "mine" not in (out / "console.csv").read_text()
    assert not (out / "progress.csv").exists()
    assert keyaction("regulate", "demo-wood", str(sheet), "--out", str(out)).status == 0
    assert not (out / "console.csv.old2").exists()
