"""Sheets as CSV: numbers stay numbers, and no cell is run by a spreadsheet."""

import csv
import io
import math

import pytest

from keyaction.sim.tables.sheet import NONE, Column, Sheet


def cell(value):
    sheet = Sheet("some", "Some", [Column("figure", text=True)], [[value]])
    return list(csv.reader(io.StringIO(sheet.csv())))[1][0] if sheet.csv().count("\n") > 1 else ""


@pytest.mark.parametrize("text", ['=HYPERLINK("http://x","y")', "+1+1", "-2+3", "@SUM(A1)", "\tx", "-cmd|' /C"])
def test_a_text_that_a_spreadsheet_would_run_gets_a_quote(text):
    assert cell(text) == f"'{text}"


@pytest.mark.parametrize(
    ("value", "written"),
    [(-1.5, "-1.5"), (1e-9, "1e-09"), (0.0, "0"), (NONE, "-"), ("-3.2", "-3.2"), ("-3.2 mm", "-3.2 mm"),
     ("+7.00 %", "+7.00 %"), ("-12.5!", "-12.5!"), ("C#4", "C#4"), ("spruce, 2 mm", "spruce, 2 mm"), (math.nan, ""),
     ("a\r\x1b", "a??")],
)  # fmt: skip
def test_numbers_and_words_stay_as_they_are(value, written):
    assert cell(value) == written


def test_a_heading_is_no_formula_either():
    assert Sheet("s", "S", [Column("=1+1")], []).csv() == "'=1+1\n"
