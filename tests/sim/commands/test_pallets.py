"""keyaction pallets: what it shows, writes and refuses."""

import csv
import re

import pytest
from command_line import Keyaction
from short_case import write_case
from small_instrument import write_instrument


@pytest.fixture
def keyaction(tmp_path, monkeypatch, capsys):
    write_case(tmp_path)
    monkeypatch.chdir(tmp_path)
    return Keyaction(tmp_path, capsys)


def test_openings_pallets_and_what_they_save_are_shown(keyaction):
    said = keyaction("pallets", "short.toml", "--notes", "C4,D4")
    assert (said.status, said.err) == (0, "")
    text = " ".join(said.out.split())
    assert "Openings of the pallets" in text and "Pallets that cover them" in text
    assert re.search(r"C4 40 6\.\d\d 99\.\d 190\.0 14\.0 \d+\.\d 14\.0 its width", text)
    assert re.search(r"save [\d.]+ gf( to [\d.]+ gf)? of the pluck \(\d+%( to \d+%)?\) at 2 of 2 notes", text)
    assert max(map(len, said.out.splitlines())) <= 80


def test_the_schedule_as_csv_and_the_picture(keyaction, tmp_path):
    said = keyaction(
        "pallets",
        "short.toml",
        "--notes",
        "C4,D4",
        "--share",
        "99 %",
        "--csv",
        "s.csv",
        "--plot",
        "s.png",
        "--jobs",
        "1",
    )
    assert said.status == 0, said.err
    with (tmp_path / "s.csv").open(encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    assert [row["note"] for row in rows] == ["C4", "D4"]
    for row in rows:
        assert float(row["share then by the press alone (%)"]) >= 99.0
        assert float(row["smallest opening (mm)"]) < float(row["opening as drawn (mm)"])
        saved = float(row["pluck as drawn (gf)"]) - float(row["pluck then (gf)"])
        assert float(row["pluck saved (gf)"]) == pytest.approx(saved, abs=0.2)
    assert (tmp_path / "s.png").read_bytes().startswith(b"\x89PNG")
    again = keyaction("pallets", "short.toml", "--notes", "C4", "--csv", "s.csv", "--plot", "s.png")
    assert again.status == 0, again.err


def test_a_chord_on_a_box_without_a_supply_says_that_it_takes_nothing(keyaction):
    said = keyaction("pallets", "short.toml", "--notes", "C4", "--chord", "C4 E4 G4")
    assert said.status == 0
    assert "the chord takes nothing from a note" in " ".join(said.out.split())


def test_with_a_supply_there_are_two_shares_with_the_chord_on(keyaction, tmp_path):
    text = (tmp_path / "short.toml").read_text(encoding="utf-8")
    box = 'part = "box"\nvolume = "60 L"\ntrunk = { area = "15 cm^2", length = "1 m" }\n'
    (tmp_path / "short.toml").write_text(text.replace('part = "box"\n', box), encoding="utf-8")
    said = keyaction("pallets", "short.toml", "--notes", "C4", "--chord", "C4, E4, G4", "--csv", "s.csv")
    assert said.status == 0, said.err
    assert "chord then" in " ".join(said.out.split())
    with (tmp_path / "s.csv").open(encoding="utf-8") as file:
        (row,) = csv.DictReader(file)
    alone, chord, then = (
        float(row[f"{name} (%)"]) for name in ("share as drawn", "with the chord", "of the box as it then is")
    )
    assert chord < alone < then


def test_a_note_without_a_size_has_dashes_and_its_reason(keyaction, tmp_path):
    text = (tmp_path / "short.toml").read_text(encoding="utf-8").replace("drawn = true", "drawn = false")
    (tmp_path / "short.toml").write_text(text, encoding="utf-8")
    said = keyaction("pallets", "short.toml", "--notes", "C4,D4")
    assert said.status == 0
    assert "- C4, D4: no stop is drawn: nothing to feed, and no size is needed" in " ".join(said.out.split())
    assert "The smallest openings save" not in " ".join(said.out.split())


def test_divisions_of_an_instrument(keyaction, tmp_path):
    write_instrument(tmp_path)
    said = keyaction("pallets", "organ.toml", "--notes", "great/C4,II/C4", "--csv", "s.csv")
    assert said.status == 0, said.err
    with (tmp_path / "s.csv").open(encoding="utf-8") as file:
        assert [row["note"] for row in csv.DictReader(file)] == ["C4", "C4"]
    refused = keyaction("pallets", "organ.toml", "--notes", "C4", "--plot", "s.png")
    assert refused.status == 2
    assert "--plot" in refused.err and not (tmp_path / "s.png").exists()


def test_pallets_that_are_left_out_are_told_without_tables(keyaction):
    said = keyaction("pallets", "relief-pallet", "--notes", "C2,E2", "--csv", "s.csv", "--plot", "s.png")
    assert said.status == 0, said.err
    assert "- C2, E2: pallet is a relief pallet: sizes are sought of plain pallets alone" in " ".join(said.out.split())
    assert "Openings of the pallets" not in said.out and "save" not in said.out


def test_every_figure_of_the_table_of_touch_has_its_length_there(keyaction):
    said = keyaction("pallets", "short.toml", "--notes", "C4")
    assert "kept" not in said.out  # its length would have to stand beside its pluck: both are in the CSV alone
    assert "lengths of openings, as the saw cuts them" in " ".join(said.out.split())


def test_every_defect_at_once_and_nothing_is_written(keyaction, tmp_path):
    said = keyaction(
        *("pallets", "short.toml", "--share", "100 %", "--stops", "Principal,all", "--chord", "C4 C9", "--jobs", "-1"),
        *("--plot", "s.pdf", "--csv", "s.csv"),
    )
    assert (said.status, said.out) == (2, "")
    for told in (
        "--jobs -1: must be 0",
        "--share: a share of 100 %; allowed: 50 to 99 %",
        "--plot s.pdf: a picture is a PNG file",
        "this keyboard has no C9; the compass is C4 to G4",
        "--chord: 'C9'",
        "--stops: no stop 'Principal'; did you mean 'Principal 8'?",
    ):
        assert told in " ".join(said.err.split())
    assert {path.name for path in tmp_path.iterdir()} == {"short.toml", "chest.csv"}


@pytest.mark.parametrize(
    ("options", "told"),
    [
        (("--share", "90"), "--share: a share of 9000 %; allowed: 50 to 99 %"),
        (("--share", "49 %"), "allowed: 50 to 99 %"),
        (("--share", "much"), "--share: "),
        (("--stops", " , "), "--stops: no stop ''; known: Principal 8"),
        (("--notes", "C9"), "this keyboard has no C9"),
        (("--chord", ""), "names no note"),
        (("--csv", "nowhere/s.csv"), "there is no folder nowhere"),
        (("--csv", "chest.csv"), "chest.csv"),
    ],
)
def test_bad_input_is_named(options, told, keyaction):
    said = keyaction("pallets", "short.toml", *options)
    assert said.status in (1, 2) and (said.status == 2 or "folder" in told)
    assert told in " ".join(said.err.split())


def test_a_groove_without_a_list_of_stops_is_told(keyaction, tmp_path):
    text = (tmp_path / "short.toml").read_text(encoding="utf-8")
    listed = 'stops = [{ name = "Principal 8", area = "40 mm^2", drawn = true }]'
    (tmp_path / "short.toml").write_text(text.replace(listed, 'feet_area = "40 mm^2"'), encoding="utf-8")
    said = keyaction("pallets", "short.toml", "--stops", "all")
    assert said.status == 2
    assert "--stops: these grooves have no list of stops, their toes are given as an area" in " ".join(said.err.split())
    assert keyaction("pallets", "short.toml", "--notes", "C4").status == 0
