"""A climate as somebody wrote it: a table of dates, temperatures and humidities, or the name of one that ships."""

from __future__ import annotations

from datetime import date, datetime
from pathlib import Path

import numpy as np

from keyaction.cases.fields.csvfile import refuse_outside
from keyaction.cases.seasons.climate_checks import check_dates, check_values
from keyaction.cases.seasons.climate_rows import NOT_LOOKED_AT, Rows, read_rows
from keyaction.cases.text.defects import BadValue, CaseProblem, Defect, Place
from keyaction.cases.text.find import is_file
from keyaction.cases.text.near import hint
from keyaction.cases.text.signs import unseen
from keyaction.cases.text.textfile import read_text
from keyaction.models.climate.states import STATES, steady
from keyaction.models.climate.wave import default_year
from keyaction.models.climate.year import Year

LARGEST = 200_000_000
"""Largest table in bytes: some millions of rows."""
WAVE = "wave"
"""Name of the climate where none is given."""


def climates() -> tuple[str, ...]:
    """Names of the climates that ship: the wave and the states."""
    return (WAVE, *STATES)


def read_climate(path_or_name: str | Path, base: Path | None = None) -> Year:
    """Read a climate.

    Parameters
    ----------
    path_or_name : str or Path
        A CSV file, or a name of `climates`; a file of that name goes before the shipped one.
    base : Path, optional
        Folder of the case that names it, in or below which a file then lies; without one a path as from here.

    Returns
    -------
    Year
        Of a table with times its `start` is a datetime. Its source is what the table says in remarks (#) at its head.

    Raises
    ------
    CaseProblem
        With everything that is wrong, each with its line.
    """
    name = str(path_or_name).strip()
    path = Path(name) if base is None else base / name
    if not is_file(path) and name in climates():
        return default_year() if name == WAVE else steady(name)
    log: list[Defect] = []
    place = Place(path.name if name else "climate", "", log)
    year = None
    try:
        if not name:
            raise BadValue("names no climate; give a CSV file or one of " + ", ".join(climates()))
        if base is not None:
            refuse_outside(name, base)
        year = _table(_text(path, name), place, path)
    except BadValue as problem:
        place.defect("", str(problem))
    if log or year is None:
        raise CaseProblem(path, sorted(log, key=_line))
    return year


def _line(defect: Defect) -> int:
    """What is wrong with the whole first, then line by line."""
    word, _, number = defect.table.partition(" ")
    return int(number) if word == "line" and not defect.message.endswith(NOT_LOOKED_AT) else 0


def _text(path: Path, name: str) -> str:
    if path.is_symlink() and not path.exists():
        raise BadValue("is a link that leads to no file")
    if not path.exists():
        raise BadValue(f"no such file, and no climate of that name{_near(path, name)}")
    text = read_text(path, LARGEST).replace("\r", "\n")
    if unseen(text):
        lines = ((unseen(line), number) for number, line in enumerate(text.split("\n"), 1))
        sign, number = next(found for found in lines if found[0])
        raise BadValue(f"holds {sign} in line {number}; leave it out")
    return text


def _near(path: Path, name: str) -> str:
    """The nearest of the shipped climates and the tables beside."""
    try:
        beside = [one.name for one in path.parent.glob("*.csv") if is_file(one)]
    except (OSError, ValueError):
        beside = []
    near = hint(name, (*climates(), *beside))
    return near if "did you mean" in near else hint(name, climates())


def _table(text: str, place: Place, path: Path) -> Year | None:
    rows = read_rows(text, place)
    if rows is None:
        return None
    check_dates(rows, place)
    check_values(rows, place)
    if place.log:
        return None
    seconds = np.array(rows.seconds)
    temperature, humidity = np.array(rows.temperature), np.array(rows.humidity)
    return Year(path.name, seconds - seconds[0], temperature, humidity, _start(rows), _source(text, path))


def _start(rows: Rows) -> date | None:
    first = rows.first
    if first is None:
        return None
    return first.replace(tzinfo=None) if rows.timed else datetime.date(first)


def _source(text: str, path: Path) -> str:
    """What the remarks at the head of the table say."""
    said = []
    for line in text.split("\n"):
        if not line.startswith("#"):
            break
        said.append(line.strip("# \t"))
    return " ".join(one for one in said if one) or f"the table {path.name}"
