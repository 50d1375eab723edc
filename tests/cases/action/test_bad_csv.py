"""Defects of CSV files beside a case: column, lines and notes are named."""

from __future__ import annotations

from pathlib import Path

import pytest
from case_files import HEAD, LEVER, check, only, read

from keyaction.cases.text.defects import Defect

TRAIN = "[[train]] lever"

ROWS = [
    f"{name}{octave},1{octave}"
    for octave in (2, 3)
    for name in ("C", "C#", "D", "D#", "E", "F", "F#", "G", "G#", "A", "A#", "B")
] + ["C4,14"]
CSV = 'front = { csv = "chest.csv", column = "long", unit = "cm" }'


def in_csv(folder: Path, rows: list[str], fields: str = CSV, header: str = "note,long") -> Defect:
    (folder / "chest.csv").write_text("\n".join([header, *rows]), encoding="utf-8")
    return only(folder, fields)


def test_the_csv_file_of_these_tests_is_sound(tmp_path: Path) -> None:
    (tmp_path / "chest.csv").write_text("\n".join(["note,long", *ROWS]))
    case = read(tmp_path, HEAD + LEVER + CSV)
    assert case.values(60, case.part("lever"))["front"].value == pytest.approx(0.14)


@pytest.mark.parametrize(
    ("rows", "table", "field", "value", "words"),
    [
        ([*ROWS[:3], *ROWS[5:]], "", "note", "", ["no row for D#2 to E2"]),
        ([*ROWS, "C#2,12"], "line 27", "note", '"C#2"', ["twice", "line 3"]),
        ([*ROWS, "Db2,12"], "line 27", "note", '"Db2"', ["twice", "line 3"]),
        ([*ROWS, "D4,12"], "line 27", "note", '"D4"', ["outside the compass", "C2 to C4"]),
        ([*ROWS, "Q,12"], "line 27", "note", '"Q"', ["not a note", "C2 to C4"]),
        ([*ROWS, "D4,12,13"], "line 27", "", "", ["3 cells", "header has 2"]),
        (
            [*ROWS[:-1], "C4,70"],
            "column 'long', line 26",
            "front",
            '"70"',
            ["allowed: 10 mm to 500 mm", TRAIN, "at C4"],
        ),
        ([*ROWS[:-1], "C4,x"], "column 'long', line 26", "front", '"x"', ["does not begin with a number"]),
        ([*ROWS[:-1], 'C4,"14'], "line 26", "", "", ["not readable as CSV"]),
    ],
)
def test_csv_rows(tmp_path: Path, rows: list[str], table: str, field: str, value: str, words: list[str]) -> None:
    defect = in_csv(tmp_path, rows)
    assert (defect.file, defect.table, defect.field, defect.value) == ("chest.csv", table, field, value)
    for word in words:
        assert word in defect.message


def test_csv_hole(tmp_path: Path) -> None:
    check(in_csv(tmp_path, [*ROWS[:-1], "C4,"]), TRAIN, "front", "", "chest.csv", "'long'", "no value at C4")


def test_csv_header(tmp_path: Path) -> None:
    defect = in_csv(tmp_path, ROWS, header="key,long")
    assert (defect.file, defect.table, defect.value) == ("chest.csv", "header", '"key"')
    assert "first column must be 'note'" in defect.message
    assert "commas" in in_csv(tmp_path, ROWS, header="note;long").message
    twice = in_csv(tmp_path, [f"{row},1" for row in ROWS], header="note,long,long")
    assert "given twice: long" in twice.message
    assert "holds no rows" in in_csv(tmp_path, [], header="# nothing yet").message


@pytest.mark.parametrize(
    ("fields", "field", "value", "words"),
    [
        (CSV.replace("long", "lang"), "front.column", '"lang"', ["no such column in chest.csv", "'long'"]),
        (CSV.replace("chest", "attic"), "front.csv", '"attic.csv"', ["no such file"]),
        (CSV.replace("chest", "../chest"), "front.csv", '"../chest.csv"', ["beside the case"]),
        (CSV.replace('"chest.csv"', '"/chest.csv"'), "front.csv", '"/chest.csv"', ["beside the case"]),
        (CSV.replace('"cm"', '"kg"'), "front.unit", '"kg"', ["a length is needed"]),
        (CSV.replace("unit", "units"), "front.units", '"cm"', ["did you mean 'unit'?"]),
        (CSV.replace('"long"', "3"), "front.column", "3", ["text in quotes"]),
        ('front = { csv = "chest.csv", unit = "mm" }', "front.column", "{ csv, unit }", ["which column"]),
        (CSV.replace("front", "ratio"), "ratio.unit", '"cm"', ["plain number has no unit"]),
        (CSV.replace("front", "pieces"), "pieces.unit", '"cm"', ["a count has no unit"]),
    ],
)
def test_csv_reference(tmp_path: Path, fields: str, field: str, value: str, words: list[str]) -> None:
    check(in_csv(tmp_path, ROWS, fields), TRAIN, field, value, *words)


def test_csv_without_unit_is_one_defect(tmp_path: Path) -> None:
    defect = in_csv(tmp_path, ROWS, 'front = { csv = "chest.csv", column = "long" }')
    assert "a number without unit" in defect.message
    assert "at C2 to C4" in defect.message


def test_csv_behind_a_link_that_leads_out_of_the_folder(tmp_path: Path) -> None:
    (tmp_path / "case").mkdir()
    (tmp_path / "chest.csv").write_text("note,long\n", encoding="utf-8")
    (tmp_path / "case" / "chest.csv").symlink_to(tmp_path / "chest.csv")
    assert "leads out of the folder of the case" in only(tmp_path / "case", CSV).message


def test_csv_not_text(tmp_path: Path) -> None:
    (tmp_path / "chest.csv").write_bytes(b"note,long\nC2,\xff\n")
    assert "not UTF-8" in only(tmp_path, CSV).message
