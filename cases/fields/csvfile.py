"""CSV files beside a case: one row per note, one column per figure."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path, PurePosixPath

from keyaction.cases.fields.compass import Compass
from keyaction.cases.text.defects import BadValue, Defect, Place
from keyaction.cases.text.signs import unseen
from keyaction.cases.text.textfile import LARGEST, read_text

_MOST = 1000
"""Defects after which a file is given up."""


@dataclass(frozen=True)
class CsvTable:
    """A CSV file: `cells` gives for every column the text of each note, `lines` each note's line."""

    name: str
    cells: Mapping[str, Mapping[int, str]]
    lines: Mapping[int, int]


@dataclass
class Shelf:
    """The CSV files of one case; each is read once, and its defects are written into `log` once."""

    folder: Path
    compass: Compass
    log: list[Defect]
    texts: dict[str, str] = field(default_factory=dict)
    _tables: dict[str, CsvTable | None] = field(default_factory=dict)

    def table(self, name: str) -> CsvTable | None:
        """The file of that name, or None if it is so wrong that no value can be taken from it.

        Raises
        ------
        BadValue
            If there is no such file beside the case, or it is not a readable text.
        """
        if name not in self._tables:
            self._tables[name] = _parse(self.text(name), Place(name, "", self.log), self.compass)
        return self._tables[name]

    def text(self, name: str, largest: int = LARGEST) -> str:
        """The text of the file of that name, of at most so many bytes, which is then one of the case's own.

        Raises
        ------
        BadValue
            If there is no such file beside the case, or it is not a readable text.
        """
        if name not in self.texts:
            refuse_outside(name, self.folder)
            self.texts[name] = _seen(read_text(self.folder / name, largest)).replace("\r", "\n")
        return self.texts[name]


def _seen(text: str) -> str:
    for number, line in enumerate(text.split("\n"), 1):
        if sign := unseen(line.replace("\r", "")):
            raise BadValue(f"holds {sign} in line {number}; leave it out")
    return text


def refuse_outside(name: str, folder: Path) -> None:
    """Complain of a file that does not lie in the folder of the case or below it.

    Raises
    ------
    BadValue
        If its name leads elsewhere, or a symbolic link does.
    """
    path = PurePosixPath(name)
    if not name.strip() or path.is_absolute() or ".." in path.parts or "\\" in name or ":" in name:
        raise BadValue("a CSV file must lie beside the case or in a folder below it; write its name with '/'")
    try:
        inside = (folder / name).resolve().is_relative_to(folder.resolve())
    except (OSError, RuntimeError) as problem:  # links in a circle
        raise BadValue(f"cannot be followed: {problem}") from None
    except ValueError:  # no path at all: told when it is read
        return
    if not inside:
        raise BadValue("is a link that leads out of the folder of the case; put the file itself there")


def _parse(text: str, place: Place, compass: Compass) -> CsvTable | None:
    rows = _rows(text, place)
    if not rows:
        return None
    header = [cell.strip() for cell in rows[0][1]]
    if not _header_ok(header, place):
        return None
    cells: dict[str, dict[int, str]] = {column: {} for column in header[1:]}
    lines: dict[int, int] = {}
    before = len(place.log)
    for line, row in rows[1:]:
        if len(place.log) - before >= _MOST:
            told = f"{_MOST} defects up to here; what follows was not looked at"
            place.log.insert(before, Defect(place.file, f"line {line}", "", "", told))
            return None
        note = _note(line, row, header, lines, place, compass)
        if note is None:
            continue
        lines[note] = line
        for column, cell in zip(header[1:], row[1:], strict=True):
            cells[column][note] = cell.strip()
    missing = [note for note in compass.notes if note not in lines] if compass.known else []
    if missing:
        place.defect("note", f"no row for {compass.ranges(missing)}; every note of the compass needs one")
    return CsvTable(place.file, cells, lines)


def _rows(text: str, place: Place) -> list[tuple[int, list[str]]]:
    """The rows that hold something, with their line numbers; lines that begin with # are remarks."""
    reader = csv.reader(io.StringIO(text), strict=True)
    try:
        rows = [(reader.line_num, row) for row in reader if _holds_something(row)]
    except csv.Error as problem:
        place.at(f"line {reader.line_num}").defect("", f"not readable as CSV: {problem}")
        return []
    if not rows:
        place.defect("", "holds no rows")
    return rows


def _holds_something(row: list[str]) -> bool:
    return any(cell.strip() for cell in row) and not row[0].startswith("#")


def _header_ok(header: list[str], place: Place) -> bool:
    place = place.at("header")
    if header[0] != "note":
        semicolons = "; separate the columns by commas" if ";" in header[0] else ""
        place.defect("", f"the first column must be 'note'{semicolons}", header[0])
        return False
    twice = sorted({column for column in header if header.count(column) > 1})
    if twice:
        place.defect("", f"columns given twice: {', '.join(twice)}")
    return not twice


def _note(
    line: int, row: list[str], header: list[str], lines: Mapping[int, int], place: Place, compass: Compass
) -> int | None:
    place = place.at(f"line {line}")
    if len(row) != len(header):
        place.defect("", f"has {len(row)} cells where the header has {len(header)}")
        return None
    try:
        note = compass.read(row[0].strip())
    except BadValue as problem:
        place.defect("note", str(problem), row[0])
        return None
    if note in lines:
        place.defect("note", f"note given twice; first in line {lines[note]}", row[0])
        return None
    return note
