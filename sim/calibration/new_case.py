"""The calibrated case: the original text, each note's own values as they were found, with a remark of where from."""

from __future__ import annotations

import tempfile
import tomllib
from collections.abc import Mapping, Sequence
from pathlib import Path

from keyaction.cases.action.case import Case
from keyaction.cases.action.reader import read_case
from keyaction.cases.text.edit import EditProblem, with_values
from keyaction.cases.text.written import Names, quoted
from keyaction.models.notes import note_name, parse_note
from keyaction.models.units.parsing import unit_factor
from keyaction.models.units.quantity import format_value
from keyaction.sim.calibration.found import Calibrated, Value
from keyaction.sim.calibration.telling import interval_words

DIGITS = 6
"""Of a value that is written: the case then shows what was fitted."""
_BENCH = {"m": "mm", "m^2": "mm^2", "kg": "g", "N*m": "N*mm"}
"""Units of the bench in place of those of the fields."""


class UnwrittenCase(ValueError):
    """Why a case cannot be given what was found."""


def calibrated_text(case: Case, found: Sequence[Calibrated], about: str) -> str:
    """The case's text with what was found set in each note's own values.

    Parameters
    ----------
    case : Case
    found : sequence of Calibrated
    about : str
        What it was found from, for the remarks.

    Raises
    ------
    UnwrittenCase
        If the text cannot be changed so.
    """
    keys = {parse_note(key, case.naming): key for key in tomllib.loads(case.text).get("notes", {})}
    values: dict[Names, str] = {}
    remarks: dict[Names, str] = {}
    for one in found:
        note = keys.get(one.note, note_name(one.note, case.naming))
        for what in one.values:
            for (part, path), figure in what.of.fields(what.figure).items():
                names = ("notes", note, part, *path.split("."))
                values[names] = _written(case, part, path, figure)
                remarks[names] = f"calibrated: {what.of.name} {_interval(what)}; {about}"
    try:
        text = with_values(case.text, values, f"Calibrated: {about}")
    except EditProblem as problem:
        raise UnwrittenCase(f"{case.path.name}: {problem}; write its table in full, to have it calibrated") from None
    return _remarked(case.text, text, values, remarks)


def _interval(what: Value) -> str:
    return f"95 % {interval_words(what, 'trade')}" if what.interval is not None else "not told by itself"


def _written(case: Case, part: str, path: str, figure: float) -> str:
    unit = unit_of(case, part, path)
    unit = "%" if unit in ("", "1") else _BENCH.get(unit, unit)
    return f"{figure / unit_factor(unit):.{DIGITS}g} {unit}"


def unit_of(case: Case, part: str, path: str) -> str:
    """The SI unit of a field."""
    fields = case.part(part).part.fields
    unit = ""
    for name in path.split("."):
        if name.isdigit():
            continue
        field = next(one for one in fields if one.name == name)
        fields, unit = field.fields or (), field.unit or ""
    return unit


def _remarked(before: str, after: str, values: Mapping[Names, str], remarks: Mapping[Names, str]) -> str:
    """The text with a remark behind every line that was set; a line that holds several has that of the first."""
    old, lines = set(before.split("\n")), after.split("\n")
    left = dict(values)
    for i, line in enumerate(lines):
        if line in old:
            continue
        here = [names for names, value in left.items() if quoted(value) in line and names[-1] in line]
        if here:
            lines[i] = f"{line}  # {remarks[here[0]]}"
            del left[here[0]]
    made = "\n".join(lines)
    return made if tomllib.loads(made) == tomllib.loads(after) else after


def check_text(case: Case, text: str, found: Sequence[Calibrated]) -> None:
    """Read the new text as a case and make sure that every note has what was found.

    Raises
    ------
    UnwrittenCase
        If it has not.
    """
    with tempfile.TemporaryDirectory() as folder:
        for name, content in {case.path.name: text, **case.files}.items():
            place = Path(folder) / name
            place.parent.mkdir(parents=True, exist_ok=True)
            place.write_text(content, encoding="utf-8")
        again = read_case(Path(folder) / case.path.name, within=case.within)
    wrong = []
    for one in found:
        for (part, path), figure in one.fields.items():
            given = float(again.part(part).fields[path][one.note].value)
            if abs(given - figure) > 1e-4 * max(abs(figure), 1e-9):
                wrong.append(f"{part} {path}: {format_value(given, unit_of(case, part, path) or '1', 'si')}")
    if wrong:
        raise UnwrittenCase(f"{case.path.name}: its text could not be given other values of {', '.join(wrong)}")
