"""A sheet as it comes back: every way in which people write one, and every way in which it goes wrong, by its line."""

import re
from datetime import date

import numpy as np
import pytest

from keyaction.cases.measured.sheet import head_of, read_sheet
from keyaction.cases.text.defects import CaseProblem
from keyaction.models.units.names import STANDARD_GRAVITY

COMPASS = range(36, 92)
GF = 1e-3 * STANDARD_GRAVITY


@pytest.fixture
def sheet(tmp_path):
    """Writes a sheet and reads it."""

    def read(text, naming="scientific"):
        path = tmp_path / "sheet.csv"
        path.write_bytes(text if isinstance(text, bytes) else text.encode())
        return read_sheet(path, COMPASS, naming)

    return read


@pytest.fixture
def wrong(sheet):
    """The defects of a sheet, a line each."""

    def lines(text, naming="scientific"):
        with pytest.raises(CaseProblem) as problem:
            sheet(text, naming)
        return str(problem.value).split("\n")

    return lines


# -- as it should be -----------------------------------------------------------------------------------------
def test_a_whole_sheet(sheet):
    read = sheet(
        "case,Invented, of two words\ncase key,0123abcd\ndivision,great\ndate,2026-02-14\ntemperature,18 °C\n"
        "humidity,55 %\npressure,75 mmH2O\nruler,0.1 mm\nbalance,1 g\nmeasured by,A\nremark,cold\n\n"
        'note,speech,level (mm),dip (mm),pluck (gf),"pluck, wind off (gf)",remark\n'
        "C4,speaks,-0.4,9.5,118,41,\nD4,weak,,9.3,,,worn cloth\nC4,hangs,-0.6,,,,again\n"
    )
    head = read.head
    assert (head.case, head.key, head.division, head.by) == ("Invented, of two words", "0123abcd", "great", "A")
    assert (head.day, head.remark) == (date(2026, 2, 14), "cold")
    assert [head.temperature, head.humidity, head.pressure] == pytest.approx([291.15, 0.55, 75 * 9.80665])
    assert [head.ruler, head.balance] == pytest.approx([1e-4, GF])
    assert read.notes == (60, 62)
    assert read.figures == ("level", "dip", "pluck", "pluck_off")
    want = [[-5e-4, 9.5e-3, 118 * GF, 41 * GF], [np.nan, 9.3e-3, np.nan, np.nan]]
    np.testing.assert_allclose(read.values(read.figures), want)
    assert read.speech == {60: "hangs", 62: "weak"}
    assert read.remarks == {60: "again", 62: "worn cloth"}
    assert [one.line for one in read.rows] == [14, 14, 14, 14, 15, 16]
    assert read.told == ()


@pytest.mark.parametrize(
    "text",
    [
        "note,dip (mm),pluck (gf)\nC4,9.5,118",
        "note;dip (mm);pluck (gf)\nC4;9,5;118",
        "note\tDip [MM]\tpluck\nC4\t9,5\t118 gf".replace("MM", "mm"),
        'PLUCK (gf),Note,key dip\n118 g,C4,"9,5"',
        "note,dip (cm),pluck (oz),level,\nC4,0.95,4.16232752,-,,\n,,,,,\n",
        "note,dip,pluck weight,,,\n# remark\nc4,9.5 mm,1.1571847 N,,,",
        "sep=;\nnote;dip;pluck (wind on) (g)\nC4;0,95 cm;118\r\n",
        "\ufeffnote,dip,pluck\rC4,9.5,118\r",
        "case;Manual, 56 notes, wooden\nnote;pluck;dip\nC4;118;9,5;\n",
        "note names,trade\nnote,pluck,dip\nc1,118,9.5\n",
        "note,pluck,dip\nc1,118,9.5\n",
        'note,dip,pluck\nC4,9 1/2 mm,"118,0"',
        "note,dip,pluck,remark\nC4,9 1/2,118,-",
        "note,dip,pluck,speech\nC4,9½,118,n/a",
    ],
)
def test_however_it_is_written(sheet, text):
    read = sheet(text)
    np.testing.assert_allclose(read.values(["dip", "pluck"]), [[9.5e-3, 118 * GF]], rtol=1e-6)
    assert read.notes == (60,)


def test_units_may_be_mixed_in_a_column(sheet):
    read = sheet(
        "note,pluck (gf)\nC4,100\nD4,100 g\nE4,3.5 oz\nF4,1 N\nG4,0.1 kg\nA4,98 cN\n".replace("A4,98 cN\n", "")
    )
    want = [100 * GF, 100 * GF, 3.5 * 0.028349523125 * STANDARD_GRAVITY, 1.0, 100 * GF]
    np.testing.assert_allclose(read.values(["pluck"])[:, 0], want)


@pytest.mark.parametrize(("naming", "other"), [("scientific", "german"), ("german", "scientific"), ("trade", "german")])
def test_notes_of_another_naming_are_taken_and_told(sheet, naming, other):
    notes = {"german": ("H", "c1", "cis1"), "scientific": ("B2", "C4", "C#4")}[other]
    read = sheet("note,dip\n" + "".join(f"{note},9\n" for note in notes), naming)
    assert read.notes == (47, 60, 61)
    assert read.told == (f"its notes are written in {other} naming and the case's in {naming}; they were read so",)


def test_a_note_that_could_be_two_is_asked_for(wrong):
    (line,) = wrong("note,dip\nB,9\nc1,9\n")
    assert "could be trade or german" in line
    assert "'note names'" in line


def test_empty_columns_are_told(sheet):
    assert sheet("note,dip,play,lift\nC4,9,,-\n").told == ("nothing is filled in under play, lift",)


def test_the_head_alone_tells_the_division(tmp_path):
    path = tmp_path / "sheet.csv"
    path.write_text("division,great\nhumidity,55\nnote,dip\nH9,9\n")
    assert head_of(path).division == "great"


# -- as it should not be -------------------------------------------------------------------------------------
@pytest.mark.parametrize(
    ("rows", "told"),
    [
        ("note,dip\nX4,9", "line 2, field 'note' = \"X4\": 'X4' is not a note"),
        ("note,dip\nC4,9\nC8,9", "line 3, field 'note' = \"C8\": outside the compass; the compass is C2 to G6"),
        ("note,dip\n,9", "line 2, field 'note': empty; every row needs its note"),
        ("note,level\nC4,120 g", "field 'level' = \"120 g\": '120 g' is a mass; a length is needed"),
        ("note,level\nC4,120", "cannot be: -30 to 30 mm is allowed; is it a force?"),
        ("note,pluck (mm)\nC4,9", "'1 mm' is a length; a force is needed"),
        ("note,pluck\nC4,9 mm", "'9 mm' is a length; a force is needed"),
        ("note,pluck\nC4,-9", "cannot be: 0 to 5099 gf is allowed"),
        ("note,dip\nC4,-9", "cannot be: 0 to 50 mm is allowed"),
        ("note,dip\nC4,nine", "'nine' does not begin with a number"),
        ("note,dip\nC4,nan", "'nan' is not a finite number"),
        ("note,dip\nC4,9..5", "does not begin with a number"),
        ("note,dip,pley\nC4,9,1", "unknown column; did you mean 'play'?"),
        ("note,dip,dip (mm)\nC4,9,1", "column given twice, as 'dip' too"),
        ("note,dip,play\nC4,9,9.5", "field 'play' = \"9.5 mm\": more than the dip of 9 mm"),
        ("note,dip,,play\nC4,9,3,1", 'column 3\' = "3": stands under no heading'),
        ("note,dip\nC4,9,5", "has 3 cells where the headings have 2; decimal commas?"),
        ("note,speech,dip\nC4,cipher,9", "not known; did you mean 'ciphers'?"),
        ("note,dip\nC4,\nD4,-", "nothing is filled in"),
        ("note,dip", "nothing is filled in"),
        ("note,remark\nC4,worn", "no column of figures"),
        ("tone,dip\nC4,9", "no table: a line of headings is needed"),
        ("notes,dip\nC4,9", "line 1 has 'notes'; did you mean 'note'?"),
        ("humidity,55\nnote,dip\nC4,9", "line 1, field 'humidity' = \"55\": has no unit; write '55 %'"),
        ("temperature,18\nnote,dip\nC4,9", "'18' has no unit; write e.g. '18 degC'"),
        ("temperature,18,5 °C\nnote,dip\nC4,9", "has 2 cells where one is needed; decimal comma?"),
        ("date,3/4/2026\nnote,dip\nC4,9", "day and month between slashes can be read both ways"),
        ("date,2026-02-30\nnote,dip\nC4,9", "there is no such day"),
        ("presure,70 mmH2O\nnote,dip\nC4,9", "unknown line of the head; did you mean 'pressure'?"),
        ("pressure,70 Pa\npressure,71 Pa\nnote,dip\nC4,9", "line 2, field 'pressure': given twice"),
        ("pressure,7 m\nnote,dip\nC4,9", "'7 m' is a length; a pressure is needed"),
        ("note names,dutch\nnote,dip\nC4,9", "not known; known: scientific, trade, german"),
        ('note,dip\n"C4,9', "not readable as CSV"),
        ("note,dip\nC4,9\x07", "a sign that cannot be seen (U+0007) in line 2"),
    ],
)
def test_a_defect_is_named(wrong, rows, told):
    (line,) = wrong(rows)
    assert line.startswith("sheet.csv: ")
    assert told in line


def test_all_defects_come_at_once(wrong):
    lines = wrong("humidity,55\nnote,level (g),dip,pley\nX4,1,-3,2\nC4,1,nine,2,7\n")
    assert [re.search(r"line \d", line)[0] for line in lines] == [f"line {n}" for n in (1, 2, 2, 3, 3, 4)]


@pytest.mark.parametrize("row", ["C4,9\n", "\n", "X,bad\n"])
def test_a_million_rows_end_soon(wrong, row):
    assert wrong("note,dip\n" + row * 1_000_000)


def test_files_that_are_none(tmp_path):
    for path, told in ((tmp_path, "is a folder"), (tmp_path / "no.csv", "no such file")):
        with pytest.raises(CaseProblem, match=told):
            read_sheet(path, COMPASS)


def test_a_defect_that_every_row_has_is_named_ten_times_and_counted(tmp_path):
    path = tmp_path / "sheet.csv"
    path.write_text("note,dip (mm),play (mm)\n" + "C4,9,x\n" * 500 + "C4,y,1\n")
    with pytest.raises(CaseProblem) as caught:
        read_sheet(path, range(36, 92))
    told = [str(one) for one in caught.value.defects]
    assert len(told) == 12
    assert sum("and 490 more like it" in one for one in told) == 1
    assert sum("line 502" in one for one in told) == 1
