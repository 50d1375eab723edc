"""The head of a case file: its format, [case], [compass] and the top-level tables there may be."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, cast

from keyaction.cases.action.strokes import NO_NOTE
from keyaction.cases.fields.compass import Compass
from keyaction.cases.fields.context import Context, Scope
from keyaction.cases.fields.tables import TableReader
from keyaction.cases.text.defects import CaseProblem, Defect, Place
from keyaction.cases.text.load import load_toml
from keyaction.cases.text.near import hint
from keyaction.models.fields.fields import Field
from keyaction.models.notes import NAMINGS, Naming, NoteProblem, note_name, parse_note

FORMAT = 1
"""The format of case file that this version reads."""

TOP = (
    *("format", "case", "compass", "materials", "train", "notes", "strokes", "spreads", "layout"),
    *("member", "rail", "season", "historic"),
)

_CASE_FIELDS = (
    Field("title", "what the case is", kind="text", varies=False),
    Field("description", "more about it", kind="text", varies=False, default=""),
    Field(
        "note_names",
        "how notes are written",
        kind="choice",
        choices=NAMINGS,
        varies=False,
        default="scientific",
    ),
)


@dataclass(frozen=True)
class Header:
    """Title, description and naming of a case."""

    title: str
    description: str
    naming: Naming


def opened(path: Path) -> tuple[str, dict[str, Any], Place]:
    """The text of a file, its tables, and the place that its defects are recorded at.

    Raises
    ------
    CaseProblem
        If the file cannot be read, is not TOML or is of a later format.
    """
    text, data = load_toml(path)
    place = Place(path.name, "", [])
    if not check_format(place, data):
        raise CaseProblem(path, place.log)
    return text, data, place


def has_instrument(data: Mapping[str, object]) -> bool:
    """Whether the tables of a file are those of an instrument."""
    return any(name in data for name in ("instrument", "keyboard", "division")) and "train" not in data


def check_format(place: Place, data: Mapping[str, object]) -> bool:
    """Check `format`; False if the file is of a later format, where other defects would mislead."""
    value = data.get("format")
    place = place.at("top of the file")
    if "format" not in data:
        place.defect("format", f"missing; write format = {FORMAT} in the first line")
    elif not isinstance(value, int) or isinstance(value, bool) or value < 1:
        place.defect("format", f"a whole number is needed; allowed: {FORMAT}", value)
    elif value > FORMAT:
        place.defect("format", f"too new for this version of the program; allowed: {FORMAT}", value)
        return False
    return True


def check_top(path: Path, place: Place, data: Mapping[str, object]) -> None:
    """Record every name at the top of the file that is not known.

    Raises
    ------
    CaseProblem
        If the file is an instrument, of which other defects would mislead.
    """
    if has_instrument(data):
        told = "is an instrument, and an action case is needed here: one of its divisions'"
        raise CaseProblem(path, [Defect(path.name, "", "", "", told)])
    for key, value in data.items():
        if key not in TOP:
            kind, field = ("", key) if not isinstance(value, dict | list) else (f"[{key}]", "")
            place.at(kind).defect(field, f"unknown table or field{hint(key, TOP)}")


def table_of(place: Place, data: Mapping[str, object], name: str) -> dict[str, object]:
    """The top-level table of that name; empty if it is not there, or not a table (which is recorded)."""
    value = data.get(name, {})
    if isinstance(value, dict):
        return value
    place.at(f"[{name}]").defect("", f"a table is needed: [{name}]", value)
    return {}


def read_header(context: Context, place: Place, data: Mapping[str, object], stem: str) -> Header:
    """Read [case]; without a title the file's own name is used."""
    reader = TableReader(context, Scope((NO_NOTE,), "case", fixed=True), place.at("[case]"))
    courses = reader.read(_CASE_FIELDS, table_of(place, data, "case")).courses
    text = {path: str(course[NO_NOTE].value) for path, course in courses.items()}
    naming = cast(Naming, text.get("note_names", "scientific"))
    return Header(text.get("title", stem), text.get("description", ""), naming)


def read_compass(place: Place, data: Mapping[str, object], naming: Naming) -> Compass:
    """Read [compass]; if it is unusable, every note there is."""
    place = place.at("[compass]")
    table = table_of(place, data, "compass")
    for key, value in table.items():
        if key not in ("low", "high"):
            place.defect(key, f"unknown field{hint(key, ('low', 'high'))}", value)
    low, high = (_end(place, table, name, naming) for name in ("low", "high"))
    if low is None or high is None:
        return Compass.unknown(naming)
    if low > high:
        place.defect("high", f"below the lowest note {table['low']}", table["high"])
        return Compass.unknown(naming)
    return Compass(tuple(range(low, high + 1)), naming)


def _end(place: Place, table: Mapping[str, object], name: str, naming: Naming) -> int | None:
    value = table.get(name)
    if name not in table:
        place.defect(name, "missing; the compass needs its lowest note `low` and its highest `high`")
        return None
    if not isinstance(value, str):
        place.defect(name, "the name of a note is needed, in quotes", value)
        return None
    try:
        note = parse_note(value, naming)
        note_name(note, naming)
    except NoteProblem as problem:
        place.defect(name, str(problem), value)
        return None
    return note
