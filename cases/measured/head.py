"""The head of a sheet: of which case it is, when, in which air and with which tools it was measured."""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import date
from typing import Any

from keyaction.cases.measured.cells import HOLES, measured, tidy, unquoted
from keyaction.cases.measured.grid import Line
from keyaction.cases.text.defects import BadValue, Place
from keyaction.cases.text.near import hint
from keyaction.models.notes import NAMINGS, Naming
from keyaction.models.readings.figures import BALANCE, RULER
from keyaction.models.readings.readings import Head
from keyaction.models.units.names import STANDARD_GRAVITY
from keyaction.models.units.quantity import parse_quantity

_WORDS = {"case": "case", "case key": "key", "division": "division", "measured by": "by", "remark": "remark"}
_G = 1e-3 * STANDARD_GRAVITY
_FIGURES: dict[str, tuple[str, str, float, float, str]] = {
    "temperature": ("temperature", "K", 243.15, 333.15, "-30 to 60 °C"),
    "humidity": ("humidity", "1", 0.0, 1.0, "0 to 100 %"),
    "pressure": ("pressure", "Pa", 50.0, 10e3, "5 to 1020 mmH2O"),
    "ruler": ("ruler", "m", 1e-6, 5e-3, "0.001 to 5 mm"),
    "balance": ("balance", "N", 0.01 * _G, 100 * _G, "0.01 to 100 gf"),
}
"""Field of `Head`, SI unit, what is allowed in SI and in words."""
KEYS = (*_WORDS, "note names", "date", *_FIGURES)
"""What lines of a head begin with."""
_UNIT = re.compile(r"(.*?)\s*[(\[]([^)\]]*)[)\]]")
_MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
_ISO = re.compile(r"(\d{4})-(\d{1,2})-(\d{1,2})")
_DOTTED = re.compile(r"(\d{1,2})\. ?(\d{1,2})\. ?(\d{4})")
_WORDED = re.compile(r"(\d{1,2})\.? ([A-Za-z]{3,9})\.? (\d{4})")
_NO_DATE = "a date is needed as 2026-02-14, 14.2.2026 or 14 Feb 2026"


def read_head(lines: Sequence[Line], place: Place) -> tuple[Head, Naming | None]:
    """What a head says, and the naming of its notes where it says so.

    Parameters
    ----------
    lines : sequence of Line
        Each a name and what it says; a unit may stand in brackets behind the name.
    place : Place
        Where defects go.
    """
    found: dict[str, Any] = {}
    naming: Naming | None = None
    for line in lines:
        at = place.at(f"line {line.number}")
        match = _UNIT.fullmatch(line.cells[0])
        name = (match[1] if match else line.cells[0]).strip().rstrip(":").lower()
        if name not in KEYS:
            at.defect("", f"unknown line of the head{hint(name, KEYS)}", line.cells[0])
            continue
        if name in found:
            at.defect(name, "given twice")
        found[name] = None
        cells = [cell for cell in line.cells[1:] if cell]
        text = ", ".join(cells)
        if name not in _WORDS and text.lower() in HOLES:
            continue
        try:
            if name in _WORDS:
                found[name] = unquoted(text)
            elif name == "note names":
                naming = _naming(text)
            elif len(cells) > 1:
                raise BadValue(f"has {len(cells)} cells where one is needed; decimal comma? put it in quotes")
            else:
                found[name] = _day(text) if name == "date" else _figure(name, text, match[2] if match else "")
        except BadValue as problem:
            at.defect(name, str(problem), text)
    return _made(found), naming


def _made(found: dict[str, Any]) -> Head:
    given = {_WORDS.get(name) or _FIGURES.get(name, ("day",))[0]: value for name, value in found.items()}
    kept = {name: value for name, value in given.items() if value is not None}
    return Head(**({"ruler": RULER, "balance": BALANCE} | kept))


def _naming(text: str) -> Naming:
    for one in NAMINGS:
        if one == text.lower():
            return one
    raise BadValue(f"not known{hint(text, NAMINGS)}")


def _day(text: str) -> date:
    """A day as people write it."""
    found: tuple[int, int, int] | None = None
    if match := _ISO.fullmatch(text):
        found = int(match[1]), int(match[2]), int(match[3])
    elif match := _DOTTED.fullmatch(text):
        found = int(match[3]), int(match[2]), int(match[1])
    elif (match := _WORDED.fullmatch(text)) and match[2][:3].lower() in _MONTHS:
        found = int(match[3]), _MONTHS.index(match[2][:3].lower()) + 1, int(match[1])
    if found is None:
        between = "; day and month between slashes can be read both ways" if "/" in text else ""
        raise BadValue(f"{_NO_DATE}{between}")
    try:
        return date(*found)
    except ValueError:
        raise BadValue(f"there is no such day; {_NO_DATE}") from None


def _figure(name: str, text: str, unit: str) -> float:
    _, si, low, high, words = _FIGURES[name]
    plain = tidy(text)
    if unit and re.fullmatch(r"[-+.\d]+", plain):
        plain = f"{plain} {unit}"
    if name == "humidity":
        plain = _with_percent(plain)
    value = measured(plain, si) if si != "K" else parse_temperature(plain)
    if not low <= value <= high:
        raise BadValue(f"cannot be; allowed: {words}")
    return value


def parse_temperature(text: str) -> float:
    """K; °C where it says so.

    Raises
    ------
    BadValue
        If it is no temperature.
    """
    try:
        return parse_quantity(text, "K", "temperature")
    except ValueError as problem:
        raise BadValue(str(problem)) from None


def _with_percent(text: str) -> str:
    """A relative humidity; a plain number above 1 lacks its sign."""
    try:
        number = float(text)
    except ValueError:
        return text
    if number > 1.0:
        raise BadValue(f"has no unit; write '{text} %'")
    return text
