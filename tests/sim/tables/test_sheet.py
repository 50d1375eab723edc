"""Cells and headings of sheets as people and files have them; no cell is run by a spreadsheet."""

import csv
import io
import math

import pytest

from keyaction.sim.commands.tables import _cell
from keyaction.sim.figures.columns import shown_in
from keyaction.sim.tables.sheet import NONE, Column, Sheet


@pytest.mark.parametrize(
    ("cell", "places", "read", "filed"),
    [
        (-0.004, 1, "0.0", "0.00"),
        (-0.4, 0, "0", "-0.4"),
        (234.1098, 0, "234", "234.1"),
        (0.5137053, 2, "0.51", "0.514"),
        (65.13579, None, "65.1", "65.136"),
        (1371.4286, None, "1371", "1371.4"),
        (math.nan, 1, "-", ""),
    ],
)
def test_a_file_is_a_little_finer_than_what_is_read(cell, places, read, filed):
    column = Column("pluck", "gf", places)
    assert (column.shown(cell), column.plain(cell)) == (read, filed)
    assert Sheet("one", "", [column], [[cell]]).csv().splitlines()[1:] in ([filed], [f'"{filed}"'])


def test_a_reason_is_in_the_file_and_only_its_kind_is_read():
    column = Column("status", text=True, head_only=True)
    assert column.shown("hangs: held by the roller: 2 gf") == "hangs"
    assert column.plain("hangs: held by the roller: 2 gf") == "hangs: held by the roller: 2 gf"
    assert column.shown("ok") == column.plain("ok") == "ok"
    assert Column("status", text=True).shown("hangs: held") == "hangs: held"


def test_a_heading_in_one_line_keeps_its_hyphen_whole_and_may_be_fuller():
    assert Column("pull-\ndown", "mm").title == "pull-down (mm)"
    assert Column("force\nshut", "gf").title == "force shut (gf)"
    assert Column("\nB", "gf", full="pluck B").title == "pluck B (gf)"


def test_no_step_is_minus_nothing():
    step = next(entry for entry in shown_in("notes") if entry.name == "evenness")
    assert _cell(-1e-5, step, "trade") == "+0"
    assert _cell(0.08, step, "trade") == "+8!"


def cell(value):
    sheet = Sheet("some", "Some", [Column("figure", text=True)], [[value]])
    return list(csv.reader(io.StringIO(sheet.csv())))[1][0] if sheet.csv().count("\n") > 1 else ""


@pytest.mark.parametrize("text", ['=HYPERLINK("http://x","y")', "+1+1", "-2+3", "@SUM(A1)", "\tx", "-cmd|' /C"])
def test_a_text_that_a_spreadsheet_would_run_gets_a_quote(text):
    assert cell(text) == f"'{text}"


@pytest.mark.parametrize(
    ("value", "written"),
    [(NONE, "-"), ("-3.2", "-3.2"), ("-3.2 mm", "-3.2 mm"),
     ("+7.00 %", "+7.00 %"), ("-12.5!", "-12.5!"), ("C#4", "C#4"), ("spruce, 2 mm", "spruce, 2 mm"),
     ("a\r\x1b", "a??")],
)  # fmt: skip
def test_numbers_and_words_stay_as_they_are(value, written):
    assert cell(value) == written


def test_a_heading_is_no_formula_either():
    assert Sheet("s", "S", [Column("=1+1")], []).csv() == "'=1+1\n"
