"""The rows of a climate's table: what stands in them, and what is wrong in which line."""

from __future__ import annotations

import csv
import io
import math
import re
from array import array
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import UTC, date, datetime

from keyaction.cases.seasons.climate_head import COLUMNS, Head, read_head
from keyaction.cases.text.defects import BadValue, Defect, Place

MOST = 1000
"""Defects after which a table is given up."""
NOT_LOOKED_AT = "what follows was not looked at"
_DATE = re.compile(r"[12]\d{3}-\d{2}-\d{2}(?:[T ]\d{2}:\d{2}(?::\d{2}(?:\.\d{1,6})?)?(?:Z|[+-]\d{2}:\d{2})?)?")
_DAY_ALONE = 10
"""Signs of a date without a time."""
_NO_DATE = "no date: write year-month-day, e.g. 2025-01-31, a time of the day behind it: 2025-01-31 06:00"
_EPOCH = datetime(1970, 1, 1)
_ZONED = datetime(1970, 1, 1, tzinfo=UTC)


@dataclass
class Rows:
    """What the rows of a table say.

    Attributes
    ----------
    head : Head
    lines : array of int
        The line of every row.
    seconds, temperature, humidity : array of float
        From the year 1970 on, s; K; 0 to 1. NaN where something is wrong.
    first : datetime, optional
        Of the first row, as written.
    timed : bool
        Whether any row has a time of the day.
    """

    head: Head
    lines: array[int] = field(default_factory=lambda: array("q"))
    seconds: array[float] = field(default_factory=lambda: array("d"))
    temperature: array[float] = field(default_factory=lambda: array("d"))
    humidity: array[float] = field(default_factory=lambda: array("d"))
    first: datetime | None = None
    timed: bool = False


def read_rows(text: str, place: Place) -> Rows | None:
    """The rows of a table; lines that begin with # are remarks.

    Parameters
    ----------
    text : str
        Columns separated by commas, or by semicolons: then numbers may have a decimal comma.
    place : Place
        Where defects go.

    Returns
    -------
    Rows or None
        None where no row can be read.
    """
    semicolons = ";" in next(filter(_holds_something, text.split("\n")), "")
    reader = csv.reader(io.StringIO(text), delimiter=";" if semicolons else ",", strict=True)
    numbered = ((reader.line_num, row) for row in reader if any(row) and _is_row(row))
    try:
        line, cells = next(numbered, (0, []))
        if not cells:
            place.defect("", "holds no rows")
            return None
        head = read_head(cells, semicolons, place.at(f"line {line}"))
        return _Reader(head, semicolons, place).read(numbered) if head else None
    except csv.Error as problem:
        place.at(f"line {reader.line_num}").defect("", f"not readable as CSV: {problem}")
        return None


def _holds_something(line: str) -> bool:
    return bool(line.strip()) and not line.startswith("#")


def _is_row(row: list[str]) -> bool:
    return not row[0].startswith("#") and (row[0] > " " or any(cell.strip() for cell in row))


class _Reader:
    """Reads row after row into `rows`."""

    def __init__(self, head: Head, semicolons: bool, place: Place) -> None:
        self.head, self.semicolons, self.place = head, semicolons, place
        self.rows = Rows(head)

    def read(self, numbered: Iterator[tuple[int, list[str]]]) -> Rows | None:
        """All rows, or None after too many defects or where there is no row."""
        rows, width, log = self.rows, self.head.width, self.place.log
        when, warm, damp = (self.head.at[name] for name in COLUMNS)
        for line, row in numbered:
            if len(row) != width:
                self._width(line, row)
            else:
                rows.lines.append(line)
                rows.seconds.append(self._date(line, row[when].strip()))
                rows.temperature.append(self._value(line, row[warm], "temperature"))
                rows.humidity.append(self._value(line, row[damp], "humidity"))
            if len(log) >= MOST:
                told = f"{MOST} defects up to here; {NOT_LOOKED_AT}"
                log.insert(0, Defect(self.place.file, f"line {line}", "", "", told))
                return None
        if not rows.lines and not log:
            self.place.defect("", "has a header and no rows")
        return rows if rows.lines else None

    def _width(self, line: int, row: list[str]) -> None:
        why = f"has {len(row)} cells where the header has {self.head.width}"
        if len(row) > self.head.width and not self.semicolons:
            why += "; decimal commas? then separate the columns by semicolons"
        self.place.at(f"line {line}").defect("", why)
        self.rows.lines.append(line)
        for values in (self.rows.seconds, self.rows.temperature, self.rows.humidity):
            values.append(math.nan)

    def _date(self, line: int, cell: str) -> float:
        """s from 1970 on; a defect and NaN where it is no date."""
        rows, why = self.rows, _NO_DATE if cell else "empty; every row needs a date"
        try:
            when = datetime.fromisoformat(cell if _DATE.fullmatch(cell) else "")
            rows.first = rows.first or when
            if (when.tzinfo is None) == (rows.first.tzinfo is None):
                rows.timed = rows.timed or len(cell) > _DAY_ALONE
                return (when - (_EPOCH if when.tzinfo is None else _ZONED)).total_seconds()
            why = "the offset from UTC must stand behind every time or behind none"
        except ValueError:
            if _DATE.fullmatch(cell):
                why = f"there is no such {'day' if _no_day(cell) else 'time of the day'}"
        self._wrong(line, "date", cell, why)
        return math.nan

    def _value(self, line: int, cell: str, name: str) -> float:
        try:
            return self.head.scales[name].read(cell)
        except BadValue as problem:
            self._wrong(line, name, cell.strip(), str(problem))
            return math.nan

    def _wrong(self, line: int, name: str, cell: str, why: str) -> None:
        self.place.at(f"line {line}").defect(name, why, *([cell] if cell else []))


def _no_day(cell: str) -> bool:
    """Whether of a date that has the right form the day is wrong, and not the time."""
    try:
        date.fromisoformat(cell[:_DAY_ALONE])
    except ValueError:
        return True
    return False
