"""Reading a sheet that was filled in at the instrument: `read_sheet`."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path

from keyaction.cases.measured.cells import HOLES, unquoted
from keyaction.cases.measured.columns import Columns, read_columns
from keyaction.cases.measured.grid import Grid, Line, read_grid
from keyaction.cases.measured.head import KEYS, read_head
from keyaction.cases.measured.naming import naming_used
from keyaction.cases.text.defects import BadValue, CaseProblem, Defect, Place, first_alike
from keyaction.cases.text.find import is_file
from keyaction.cases.text.near import hint
from keyaction.cases.text.textfile import read_text
from keyaction.models.notes import Naming, NoteProblem, note_name, parse_note
from keyaction.models.readings.figures import SPEECH
from keyaction.models.readings.readings import Head, Reading, Readings

_SHIPPED = Path(__file__).parents[1] / "onsite"
_MOST = 1000
"""Defects after which a sheet is given up."""


def shipped_sheets() -> dict[str, Path]:
    """Filled-in sheets that ship with the program, by the names of their files."""
    return {path.name: path for path in sorted(_SHIPPED.glob("*.csv"))}


def read_sheet(path: str | Path, notes: Sequence[int], naming: Naming = "scientific") -> Readings:
    """Read a sheet as it came back.

    Parameters
    ----------
    path : str or Path
        A CSV file, its cells between commas, semicolons or tabs; or the name of a sheet that ships with the program.
    notes : sequence of int
        The compass of the case, rising.
    naming : {"scientific", "trade", "german"}
        The case's; another one is taken where all notes of the sheet fit it alone.

    Returns
    -------
    Readings
        In SI units; `told` has what a reader should know of how the sheet was taken.

    Raises
    ------
    keyaction.CaseProblem
        With every defect of the sheet, its line and its column.

    Examples
    --------
    >>> from pathlib import Path
    >>> from keyaction.cases.measured.sheet import read_sheet
    >>> _ = Path("sheet.csv").write_text("note,dip (mm),pluck\nC4,9.5,4 oz\nd4,,118\n")
    >>> readings = read_sheet("sheet.csv", range(36, 92))
    >>> readings.values(["dip", "pluck"]).round(4).tolist()
    [[0.0095, 1.1121], [nan, 1.1572]]
    """
    file, place, grid = _opened(path)
    readings = _Reader(grid, place, tuple(notes), naming).read(file)
    if place.log:
        raise CaseProblem(file, first_alike(place.log))
    return readings


def head_of(path: str | Path) -> Head:
    """The head of a sheet alone, before it is known of which division it is.

    Parameters
    ----------
    path : str or Path
        As of `read_sheet`.

    Returns
    -------
    Head
        What is sound of it; the rest is for `read_sheet` to complain of.

    Raises
    ------
    keyaction.CaseProblem
        If the file cannot be read, or no table is found in it.
    """
    _, place, grid = _opened(path)
    return read_head(grid.head, place)[0]


def _opened(path: str | Path) -> tuple[Path, Place, Grid]:
    """The file of a sheet, where its defects go, and its lines."""
    file = _file(path)
    place = Place(file.name, "", [])
    try:
        text = read_text(file)
    except BadValue as problem:
        near = hint(file.name, shipped_sheets()) if str(problem) == "no such file" else ""
        raise CaseProblem(file, [Defect(str(file), "", "", "", f"{problem}{near}")]) from None
    grid = read_grid(text, KEYS, place)
    if grid is None:
        raise CaseProblem(file, place.log)
    return file, place, grid


def _file(path: str | Path) -> Path:
    found = Path(path)
    return found if is_file(found) else shipped_sheets().get(f"{str(path).removesuffix('.csv')}.csv", found)


@dataclass
class _Reader:
    """Takes row after row."""

    grid: Grid
    place: Place
    notes: tuple[int, ...]
    naming: Naming
    rows: list[Reading] = field(default_factory=list)
    speech: dict[int, str] = field(default_factory=dict)
    remarks: dict[int, str] = field(default_factory=dict)

    def read(self, path: Path) -> Readings:
        head, said = read_head(self.grid.head, self.place)
        columns = read_columns(self.grid.headings, self.place)
        told = self._named(columns, said)
        for line in self.grid.rows:
            self._row(line, columns)
            if len(self.place.log) >= _MOST:
                told_of = f"{_MOST} defects up to here; what follows was not looked at"
                self.place.log.insert(0, Defect(self.place.file, f"line {line.number}", "", "", told_of))
                break
        if not self.place.log:
            told += self._whole(columns)
        return Readings(head, tuple(self.rows), self.speech, self.remarks, path, tuple(told))

    def _named(self, columns: Columns, said: Naming | None) -> list[str]:
        """Settle the naming; what is to be told of it."""
        at = columns.words["note"]
        texts = [line.cells[at] for line in self.grid.rows if at < len(line.cells) and line.cells[at]]
        self.naming, told, wrong = naming_used(texts, self.notes, self.naming, said)
        if wrong:
            self.place.defect("note", wrong)
        return [told] if told else []

    def _row(self, line: Line, columns: Columns) -> None:
        at = self.place.at(f"line {line.number}")
        if len(line.cells) > columns.width:
            why = f"has {len(line.cells)} cells where the headings have {columns.width}"
            if self.grid.separator == ",":
                why += "; decimal commas? separate the columns by semicolons, or put such numbers in quotes"
            at.defect("", why)
            return
        cells = (*line.cells, *[""] * (columns.width - len(line.cells)))
        note = self._note(cells, columns, at)
        read: dict[str, float] = {}
        for name, i in columns.figures.items():
            try:
                value = columns.scales[name].read(cells[i])
            except BadValue as problem:
                at.defect(columns.headings[name], str(problem), cells[i])
                continue
            if value is not None:
                read[name] = value
        self._words(note, cells, columns, at)
        self._together(read, at)
        if note is not None:
            self.rows += [Reading(note, name, value, line.number) for name, value in read.items()]

    def _note(self, cells: Sequence[str], columns: Columns, at: Place) -> int | None:
        for i, cell in enumerate(cells):
            if cell and not self.grid.headings.cells[i]:
                at.defect(f"column {i + 1}", "stands under no heading", cell)
        text = cells[columns.words["note"]]
        if not text:
            at.defect("note", "empty; every row needs its note")
            return None
        try:
            note = parse_note(text, self.naming)
        except NoteProblem as problem:
            at.defect("note", f"{problem}; {self._compass()}{self._near(text)}", text)
            return None
        if note not in self.notes:
            at.defect("note", f"outside the compass; {self._compass()}", text)
            return None
        return note

    def _compass(self) -> str:
        return f"the compass is {' to '.join(note_name(self.notes[i], self.naming) for i in (0, -1))}"

    def _near(self, text: str) -> str:
        near = hint(text, [note_name(one, self.naming) for one in self.notes])
        return near if "did you mean" in near else ""

    def _words(self, note: int | None, cells: Sequence[str], columns: Columns, at: Place) -> None:
        word = cells[columns.words["speech"]].lower() if "speech" in columns.words else ""
        if word in HOLES:
            word = ""
        if word and word not in SPEECH:
            at.defect("speech", f"not known{hint(word, SPEECH)}", word)
        elif word and note is not None:
            # Of two rows the worse counts: a note that hangs once hangs.
            self.speech[note] = max(word, self.speech.get(note, word), key=SPEECH.index)
        remark = unquoted(cells[columns.words["remark"]]) if "remark" in columns.words else ""
        if remark.lower() not in HOLES and note is not None:
            self.remarks[note] = "; ".join([*([self.remarks[note]] if note in self.remarks else []), remark])

    def _together(self, read: dict[str, float], at: Place) -> None:
        """The play is a part of the dip, and read with the same ruler."""
        dip, play = (read.get(name, math.nan) for name in ("dip", "play"))
        if play > dip:
            told = f"more than the dip of {1e3 * dip:.4g} mm, of which it is a part"
            at.defect("play", told, f"{1e3 * play:.4g} mm")

    def _whole(self, columns: Columns) -> list[str]:
        """What is wrong with the sheet as a whole; what is to be told of it."""
        if not self.rows and not self.speech:
            self.place.defect("", "nothing is filled in")
        there = {one.figure for one in self.rows}
        empty = [columns.headings[name] for name in columns.figures if name not in there]
        return [f"nothing is filled in under {', '.join(empty)}"] if empty and there else []
