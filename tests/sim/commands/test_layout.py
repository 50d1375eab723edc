"""keyaction layout: what it shows, writes and refuses."""

import csv
import re

import pytest
from command_line import Keyaction
from laid_case import laid, laid_text
from short_case import write_case


@pytest.fixture
def keyaction(tmp_path, monkeypatch, capsys):
    laid(tmp_path)
    monkeypatch.chdir(tmp_path)
    return Keyaction(tmp_path, capsys)


def test_places_and_the_board_are_shown(keyaction):
    said = keyaction("layout", "laid.toml", "--notes", "C3:C5:6")
    assert (said.status, said.err) == (0, "")
    text = " ".join(said.out.split())
    assert "25 notes, order of the chest: chromatic." in text
    assert re.search(r"Roller board: 25 rollers on \d+ rows", text)
    assert all(name in said.out for name in ("C3", "F#4", "Rods of C4", "level-tracker"))
    assert max(map(len, said.out.splitlines())) <= 80


def test_the_table_as_csv_and_drawings(keyaction, tmp_path):
    said = keyaction(
        "layout", "laid.toml", "--notes", "C4,D4", "--csv", "places.csv", "--drawings", "sheets", "--side", "D4"
    )
    assert said.status == 0, said.err
    with (tmp_path / "places.csv").open(encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    assert [row["note"] for row in rows] == ["C4", "D4"]
    for row in rows:
        assert float(row["way (mm)"]) == pytest.approx(float(row["pallet (mm)"]) - float(row["key (mm)"]), abs=0.2)
    names = {path.name for path in (tmp_path / "sheets").iterdir()}
    assert {"plan.svg", "board.pdf", "side-D4.svg", "rollers.csv", "rods.csv"} <= names


def test_drawings_of_an_earlier_state_do_not_stay_beside_new_lists(keyaction, tmp_path):
    where = ("layout", "laid.toml", "--notes", "C4", "--drawings", "sheets", "--side")
    assert keyaction(*where, "C4,D4").status == 0
    (tmp_path / "sheets" / "side-E4.svg").write_text("<svg>of somebody else</svg>", encoding="utf-8")
    said = keyaction(*where, "C4")
    names = {path.name for path in (tmp_path / "sheets").iterdir()}
    assert "side-C4.svg" in names
    assert "side-D4.svg" not in names
    assert "side-E4.svg" in names
    assert "Taken away, of an earlier state: side-D4." in said.out


def test_orders_side_by_side(keyaction):
    said = keyaction("layout", "laid.toml", "--notes", "C4", "--orders", "two-sides")
    assert said.status == 0
    assert "chromatic *" in said.out
    assert "two-sides" in said.out
    # One note has no neighbour: neither the column nor its explanation is there.
    assert "twist: the most at any note" in said.out and "step" not in said.out
    said = keyaction("layout", "laid.toml", "--notes", "C4,C#4", "--orders", "two-sides")
    assert "step: largest between neighbours" in " ".join(said.out.split())


def test_typed_lengths_that_contradict_are_told_as_check_tells_them(keyaction, tmp_path):
    typed = {'name = "riser"\nlength = { layout = true }': 'name = "riser"\nlength = "600 mm"'}
    laid(tmp_path, changes=typed)
    told = "field 'length' = 600 mm: contradicts the layout, where it is 610 mm at C3 to C5"
    for more in (("layout", "laid.toml", "--notes", "C4", "--drawings", "sheets"), ("check", "laid.toml")):
        said = keyaction(*more)
        assert said.status == 0 and told in " ".join(said.out.split())


WRONG = {
    "an order that there is not": (("--orders", "two-side"), "unknown order 'two-side'; did you mean 'two-sides'?"),
    "a scale that there is not": (("--drawings", "sheets", "--scale", "1:7"), "--scale: "),
    "a paper that there is not": (("--drawings", "sheets", "--paper", "B4"), "--paper: "),
    "a scale of nothing": (("--scale", "1:5"), "--scale 1:5: says how drawings are made; give --drawings FOLDER"),
    "a note that there is not": (("--drawings", "sheets", "--side", "C7"), "this keyboard has no C7"),
    "a division of none": (("--division", "great"), "is an action case and has no divisions"),
}


@pytest.mark.parametrize(("options", "told"), WRONG.values(), ids=WRONG)
def test_what_is_wrong_is_told_and_nothing_written(keyaction, tmp_path, options, told):
    said = keyaction("layout", "laid.toml", "--notes", "C4", *options)
    assert said.status == 2
    assert told in said.err
    assert said.out == ""
    assert not (tmp_path / "sheets").exists()


def test_all_that_is_wrong_is_told_at_once(keyaction):
    said = keyaction("layout", "laid.toml", "--orders", "sideways", "--scale", "1:5")
    assert len(said.err.splitlines()) == 2


def test_a_case_that_says_nothing_of_places(keyaction, tmp_path):
    write_case(tmp_path)
    said = keyaction("layout", "short.toml")
    assert said.status == 2
    assert "short.toml: says nothing of where keys and pallets stand; give it a table [layout]" in said.err


def test_a_board_that_is_too_low_is_refused_with_its_notes(keyaction, tmp_path):
    (tmp_path / "low.toml").write_text(laid_text() + '\n[layout.board]\nheight = "100 mm"\n', encoding="utf-8")
    said = keyaction("layout", "low.toml", "--drawings", "sheets")
    assert said.status == 2
    assert "the board is too low" in said.err
    assert not (tmp_path / "sheets").exists()
