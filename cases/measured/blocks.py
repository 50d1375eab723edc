"""Tables of courses, with a head before each: lines of names and what they say, headings, and rows of figures."""

from __future__ import annotations

import csv
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import islice

from keyaction.cases.measured.cells import Scale, measured, scale, tidy
from keyaction.cases.text.defects import BadValue, Defect, Place
from keyaction.cases.text.near import hint
from keyaction.cases.text.signs import unseen

LARGEST = 200_000_000
"""Bytes of a file of samples."""
_MOST = 1000
"""Defects after which a file is given up."""
_HEAD = 200
"""Lines among which the first headings must stand."""
_FIGURES = frozenset("0123456789+-.,'−")
"""How a cell with a figure begins."""
_BRACKETS = re.compile(r"\s*[(\[]([^)\]]*)[)\]]")


@dataclass(frozen=True)
class Column:
    """A column of figures: the SI unit, the unit of plain numbers under a heading without one, what is allowed."""

    si: str
    unit: str
    low: float
    high: float


@dataclass(frozen=True)
class Said:
    """A line of a head that says a figure: its SI unit and what is allowed, in SI and in words."""

    si: str
    low: float
    high: float
    words: str

    def read(self, text: str) -> float:
        """The figure.

        Raises
        ------
        BadValue
            If it is none, of another kind, or cannot be.
        """
        value = measured(tidy(text), self.si)
        if not self.low <= value <= self.high:
            raise BadValue(f"cannot be; allowed: {self.words}")
        return value


@dataclass(frozen=True)
class Form:
    """What a file of courses may hold.

    Attributes
    ----------
    columns : mapping of str to Column
        Figures by heading; `also` has other headings for them.
    words : tuple of str
        Columns that hold words.
    needed : tuple of str
        Columns without which there is no table.
    said : mapping of str to Said
        Lines of the head that say figures.
    told : tuple of str
        Those that say words.
    """

    columns: Mapping[str, Column]
    words: tuple[str, ...]
    needed: tuple[str, ...]
    said: Mapping[str, Said]
    told: tuple[str, ...]
    also: Mapping[str, str] = field(default_factory=dict)

    @property
    def keys(self) -> tuple[str, ...]:
        """What lines of a head begin with."""
        return (*self.told, *self.said)

    def column(self, cell: str) -> str:
        """The name of a heading; empty if it is none."""
        plain = " ".join(_BRACKETS.sub(" ", cell).lower().replace("_", " ").split())
        name = self.also.get(plain, plain)
        return name if name in self.columns or name in self.words else ""

    def is_headings(self, cells: Sequence[str]) -> bool:
        """Whether a line has all the headings that are needed."""
        found = {self.column(cell) for cell in cells}
        return all(name in found for name in self.needed)


@dataclass
class Block:
    """One table with what was said before it.

    Attributes
    ----------
    head : dict of str to (str, int)
        Text and line by name; what earlier blocks said holds on.
    lines : list of int
        Of the rows.
    figures : dict of str to list of float
        By column, SI; NaN where a cell is empty.
    words : dict of str to list of str
    """

    head: dict[str, tuple[str, int]]
    lines: list[int] = field(default_factory=list)
    figures: dict[str, list[float]] = field(default_factory=dict)
    words: dict[str, list[str]] = field(default_factory=dict)


def separator_of(text: str, form: Form) -> str | None:
    """What separates the cells of a text in this form; None if it has no such headings."""
    for separator in ("\t", ";", ","):
        for _, cells in islice(_lines(text, separator), _HEAD):
            if form.is_headings(cells):
                return separator
    return None


def read_blocks(text: str, form: Form, place: Place) -> list[Block]:
    """Take a file of courses apart; defects go into the log of `place`."""
    separator = separator_of(text, form)
    if separator is None:
        needed = ", ".join(f"'{name} ({form.columns[name].unit})'" for name in form.needed)
        place.defect("", f"no table: a line of headings is needed, with {needed}")
        return []
    reader = _Reader(form, place, separator)
    for number, cells in _lines(text, separator):
        reader.line(number, cells)
        if len(place.log) >= _MOST:
            told = f"{_MOST} defects up to here; what follows was not looked at"
            place.log.insert(0, Defect(place.file, f"line {number}", "", "", told))
            break
    return [block for block in reader.blocks if block.lines]


def _lines(text: str, separator: str) -> Iterator[tuple[int, list[str]]]:
    """Lines that hold something, with their numbers."""
    for number, line in enumerate(text.replace("\r", "\n").split("\n"), 1):
        if line[:1] in _FIGURES and '"' not in line:
            yield number, line.split(separator)
        elif line.strip(f' {separator}"') and not line.startswith(("#", "sep=")):
            cells = next(csv.reader([line], delimiter=separator)) if '"' in line else line.split(separator)
            yield number, [cell.strip() for cell in cells]


class _Reader:
    """Takes line after line: of a head, of headings, or a row."""

    def __init__(self, form: Form, place: Place, separator: str) -> None:
        self.form, self.place, self.comma = form, place, separator != ","
        self.blocks: list[Block] = []
        self.head: dict[str, tuple[str, int]] = {}
        self.figures: dict[str, tuple[int, Scale]] = {}
        self.words: dict[str, int] = {}
        self.width = 0
        self.fresh = True

    def line(self, number: int, cells: list[str]) -> None:
        if self.width and cells[0][:1] in _FIGURES:  # first, as there may be a million of them
            self._row(number, cells)
        elif self.form.is_headings(cells):
            self._headings(number, cells)
        elif self._is_row(cells):
            self._row(number, cells)
        else:
            self._said(number, cells)

    def _is_row(self, cells: list[str]) -> bool:
        """A row whose first cell is a word has its figures further on."""
        name = _BRACKETS.sub("", cells[0]).strip().rstrip(":").lower()
        return bool(self.width) and name not in self.form.keys and (not name or sum(map(bool, cells)) > 1)

    def _said(self, number: int, cells: list[str]) -> None:
        if len(cells) == 1:  # a head may have other separators than its table
            cells = [cell.strip() for cell in re.split(r"[\t;,]", cells[0], maxsplit=1)]
        at, name = self.place.at(f"line {number}"), _BRACKETS.sub("", cells[0]).strip().rstrip(":").lower()
        if name not in self.form.keys:
            at.defect("", f"unknown line of the head{hint(name, self.form.keys)}", cells[0])
            return
        unit = _BRACKETS.search(cells[0])
        rest = [cell for cell in cells[1:] if cell]
        text = ", ".join(rest)
        if sign := unseen(text):
            at.defect(name, f"holds {sign}; leave it out")
            return
        if name in self.form.said and len(rest) > 1:
            at.defect(name, f"has {len(rest)} cells where one is needed; decimal comma? put it in quotes", text)
            return
        if unit and re.fullmatch(r"[-+.\d]+", tidy(text)):
            text = f"{text} {unit[1]}"
        self.head[name] = text, number
        self.fresh = True

    def _headings(self, number: int, cells: list[str]) -> None:
        at = self.place.at(f"line {number}")
        self.figures, self.words, self.width, self.fresh = {}, {}, len(cells), True
        for i, cell in enumerate(cells):
            name = self.form.column(cell)
            if not name:
                if cell:
                    at.defect("", f"unknown column{hint(cell.lower(), [*self.form.columns, *self.form.words])}", cell)
            elif name in self.figures or name in self.words:
                at.defect("", "column given twice", cell)
            elif name in self.form.words:
                self.words[name] = i
            else:
                self._figure(name, i, cell, at)

    def _figure(self, name: str, i: int, cell: str, at: Place) -> None:
        about, unit = self.form.columns[name], _BRACKETS.search(cell)
        written = unit[1].strip() if unit else about.unit
        try:
            self.figures[name] = i, scale(about.si, written, about.low, about.high)
        except BadValue as problem:
            at.defect("", f"no unit of this column: {problem}", cell)
            self.figures[name] = i, scale(about.si, about.unit, about.low, about.high)

    def _row(self, number: int, cells: list[str]) -> None:
        if len(cells) > self.width and any(cells[self.width :]):
            told = f"has {len(cells)} cells where the headings have {self.width}"
            told += "" if self.comma else "; decimal commas? separate the columns by semicolons"
            self.place.at(f"line {number}").defect("", told)
            return
        if self.fresh:
            self.blocks.append(Block(dict(self.head), figures={name: [] for name in self.figures}))
            self.fresh = False
        block = self.blocks[-1]
        block.lines.append(number)
        for name, i in self.words.items():
            block.words.setdefault(name, []).append(cells[i] if i < len(cells) else "")
        for name, (i, how) in self.figures.items():
            block.figures[name].append(self._value(number, name, how, cells[i] if i < len(cells) else ""))

    def _value(self, number: int, name: str, how: Scale, cell: str) -> float:
        """Plain numbers at once: there may be a million of them."""
        try:
            value = float(cell.replace(",", ".") if self.comma else cell) * how.each
            if how.low <= value <= how.high:
                return value
        except ValueError:
            pass
        try:
            found = how.read(cell)
        except BadValue as problem:
            self.place.at(f"line {number}").defect(name, str(problem), cell)
            return float("nan")
        return float("nan") if found is None else found


def figure_said(block: Block, form: Form, name: str, place: Place) -> float:
    """A figure of a block's head, SI; NaN where it says none, or what it says is a defect."""
    if name not in block.head:
        return float("nan")
    text, line = block.head[name]
    try:
        return form.said[name].read(text)
    except BadValue as problem:
        place.at(f"line {line}").defect(name, str(problem), text)
        return float("nan")


def word_said(block: Block, name: str, allowed: Sequence[str], default: str, place: Place) -> str:
    """A word of a block's head; what is not allowed is a defect."""
    if name not in block.head:
        return default
    text, line = block.head[name]
    plain = text.lower()
    if plain in allowed:
        return plain
    place.at(f"line {line}").defect(name, f"not known{hint(plain, allowed)}", text)
    return default
