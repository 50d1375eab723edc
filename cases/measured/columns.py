"""The headings of a sheet: which column is which figure, and in which unit its plain numbers are."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass

from keyaction.cases.measured.cells import Scale, scale
from keyaction.cases.measured.grid import Line
from keyaction.cases.text.defects import BadValue, Place
from keyaction.cases.text.near import hint
from keyaction.models.readings.figures import BY_NAME, MEASURABLE

WORDS = ("note", "speech", "remark")
"""Columns that hold words."""
_BRACKETS = re.compile(r"[(\[]([^)\]]*)[)\]]")
_WIND = {"wind off": " wind off", "off": " wind off", "wind on": "", "on": ""}
_TRADE = {"m": "mm", "N": "gf"}
"""Of plain numbers under a heading without a unit."""
_ALSO = {
    "pluck point": "point",
    "pluck weight": "pluck",
    "hold weight": "hold",
    "up weight": "up",
    "lost motion": "play",
    "key dip": "dip",
    "pallet lift": "lift",
    "key level": "level",
}


def _names() -> dict[str, str]:
    known = {one: one for one in WORDS}
    for one in MEASURABLE:
        known |= {one.heading.replace(",", ""): one.name, one.name.replace("_", " "): one.name}
        if one.wind:
            known[f"{one.heading} wind on"] = one.name
    for other, name in _ALSO.items():
        known[other] = name
        if f"{name}_off" in BY_NAME:
            known[f"{other} wind off"] = f"{name}_off"
    return known


_NAMES = _names()
_HINTS = (*WORDS, *(one.heading for one in MEASURABLE))


@dataclass(frozen=True)
class Columns:
    """Where each column stands: words by name, figures by name with how their cells are read."""

    words: dict[str, int]
    figures: dict[str, int]
    scales: dict[str, Scale]
    headings: dict[str, str]
    width: int


def read_columns(line: Line, place: Place) -> Columns:
    """The headings, in any order and in capitals or not.

    Parameters
    ----------
    line : Line
    place : Place
        Where defects go: columns that are not known, come twice or have another kind of unit.
    """
    at = place.at(f"line {line.number}")
    found = Columns({}, {}, {}, {}, len(line.cells))
    for i, cell in enumerate(line.cells):
        if not cell:
            continue  # told where a row has something under it
        name, unit = _taken_apart(cell)
        known = _NAMES.get(name)
        if known is None:
            at.defect("", f"unknown column{hint(name, _HINTS)}", cell)
        elif known in found.headings:
            told = f"column given twice, as '{found.headings[known]}' too"
            at.defect("", f"{told}; a second reading of a note stands in a row of its own", cell)
        else:
            _take(known, unit, i, cell, found, at)
    if not found.figures and not any(_BRACKETS.search(cell) for cell in line.cells):
        at.defect("", f"no column of figures; known: {', '.join(repr(one) for one in _HINTS[len(WORDS) :])}")
    return found


def _take(name: str, unit: str, i: int, cell: str, found: Columns, at: Place) -> None:
    found.headings[name] = cell
    if name in WORDS:
        found.words[name] = i
        return
    about = BY_NAME[name]
    try:
        found.scales[name] = scale(about.unit, unit or _TRADE[about.unit], about.low, about.high)
    except BadValue as problem:
        at.defect("", f"no unit of this column: {problem}", cell)
        return
    found.figures[name] = i


def _taken_apart(cell: str) -> tuple[str, str]:
    """Name in small letters, and the unit in brackets."""
    unit, name = "", _BRACKETS.sub(" ", cell)
    for inner in _inside(cell):
        plain = " ".join(inner.lower().split())
        if plain in _WIND:
            name += _WIND[plain]
        else:
            unit = inner.strip()
    return " ".join(re.sub(r"[-_,:;/]", " ", name.lower()).split()), unit


def _inside(cell: str) -> Iterator[str]:
    return (found[1] for found in _BRACKETS.finditer(cell))
