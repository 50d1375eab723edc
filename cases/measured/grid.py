"""A sheet as lines of cells: what separates them, where its head ends, and where its table begins."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import islice

from keyaction.cases.text.defects import Place
from keyaction.cases.text.near import hint
from keyaction.cases.text.signs import UNSEEN, unseen

MOST_ROWS = 20_000
"""Rows that a sheet may have; a compass of 61 notes read ten times has 610."""
_HEAD = 200
"""Lines among which the headings must stand."""
_SEPARATORS = ("\t", ";", ",")
_OTHER_WORDS = re.compile(r"notes|note name|name|key|tone|pitch", re.IGNORECASE)


@dataclass(frozen=True)
class Line:
    """One line of a sheet: its number in the file, and its cells without blank ones at the end."""

    number: int
    cells: tuple[str, ...]


@dataclass(frozen=True)
class Grid:
    """A sheet taken apart.

    Attributes
    ----------
    head : tuple of Line
        What stands before the table.
    headings : Line
    rows : tuple of Line
    separator : str
    """

    head: tuple[Line, ...]
    headings: Line
    rows: tuple[Line, ...]
    separator: str


def read_grid(text: str, head_names: Sequence[str], place: Place) -> Grid | None:
    """Take a sheet apart.

    Parameters
    ----------
    text : str
        Cells between tabs, semicolons or commas; lines that begin with # are remarks.
    head_names : sequence of str
        What lines of the head begin with.
    place : Place
        Where defects go.

    Returns
    -------
    Grid or None
        None where no table is found, or the text is no CSV.
    """
    if sign := _unseen(text):
        place.defect("", f"holds {sign}; leave it out")
        return None
    found = _separator(text, head_names)
    if found is None:
        _complain(text, place)
        return None
    separator, at = found
    try:
        lines = list(islice(_lines(text, separator), at + 1 + MOST_ROWS + 1))
    except csv.Error as problem:
        place.defect("", f"not readable as CSV: {problem}")
        return None
    rows = tuple(lines[at + 1 :])
    if len(rows) > MOST_ROWS:
        told = f"has more than {MOST_ROWS} rows; a sheet is of one division, a row per note and reading"
        place.at(f"line {rows[-1].number}").defect("", told)
        return None
    return Grid(tuple(lines[:at]), lines[at], rows, separator)


def _unseen(text: str) -> str:
    plain = text.replace("\r", "\n")
    found = UNSEEN.search(plain)
    return f"{unseen(found[0])} in line {plain.count(chr(10), 0, found.start()) + 1}" if found else ""


def _lines(text: str, separator: str) -> Iterator[Line]:
    reader = csv.reader(io.StringIO(text.replace("\r", "\n"), newline=""), delimiter=separator, strict=True)
    number = 1
    for row in reader:
        cells = [" ".join(cell.split()) for cell in row]
        while cells and not cells[-1]:
            cells.pop()
        if cells and not cells[0].startswith(("#", "sep=")):
            yield Line(number, tuple(cells))
        number = reader.line_num + 1


def _separator(text: str, head_names: Sequence[str]) -> tuple[str, int] | None:
    """What separates the cells, and the place of the line of headings among the lines that hold something."""
    best, found = 0, None
    for separator in _SEPARATORS:
        try:
            for at, line in enumerate(islice(_lines(text, separator), _HEAD)):
                if _is_headings(line.cells, head_names) and len(line.cells) > best:
                    best, found = len(line.cells), (separator, at)
                    break
        except csv.Error:
            continue
    return found


def _is_headings(cells: tuple[str, ...], head_names: Sequence[str]) -> bool:
    """A line of the head may say 'note' of itself, but then it has no third cell."""
    return "note" in map(str.lower, cells) and (len(cells) > 2 or cells[0].lower() not in head_names)


def _complain(text: str, place: Place) -> None:
    told = "no table: a line of headings is needed, one of them 'note', the others such as 'dip (mm)'"
    for number, line in enumerate(text.split("\n")[:_HEAD], 1):
        for cell in re.split(r"[\t;,]", line):
            plain = cell.strip().strip('"')
            if _OTHER_WORDS.fullmatch(plain) and not hint(plain, ["note"]).startswith("; known"):
                told += f"; line {number} has '{plain}'{hint(plain, ['note'])}"
                place.defect("", told)
                return
    place.defect("", told)
