"""The calibrated case: the original text, each note's own values as they were found, with a remark of where from."""

from __future__ import annotations

import math
import re
import tempfile
import tomllib
from collections.abc import Mapping, Sequence
from pathlib import Path

import numpy as np

from keyaction.cases.action.case import Case
from keyaction.cases.action.reader import read_case
from keyaction.cases.text.edit import EditProblem, with_values
from keyaction.cases.text.written import Names, Written, literal
from keyaction.models.notes import Naming, note_name, parse_note
from keyaction.models.units.parsing import unit_factor
from keyaction.models.units.quantity import format_value
from keyaction.sim.calibration.apart import listed
from keyaction.sim.calibration.found import Calibrated, Value
from keyaction.sim.calibration.telling import interval_words

DIGITS = 6
"""Of a value that is written, at most."""
_FEW = 3
"""Of a value that does not show in what was measured."""
_SHARE = 0.2
"""Of an error: what the figures that were measured move at most by the last place of a value."""
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
    values: dict[Names, Written] = {}
    remarks: dict[Names, str] = {}
    for one in found:
        note = keys.get(one.note, note_name(one.note, case.naming))
        for k, what in enumerate(one.values):
            if not what.written:
                continue
            for (part, path), digits in _digits(one, k).items():
                names = ("notes", note, part, *path.split("."))
                values[names] = _written(case, part, path, one.fields[part, path], digits)
                remarks[names] = f"calibrated: {what.of.name} {_interval(what, one.poor)}; {about}"
    try:
        text = with_values(case.text, values, f"Calibrated: {about}")
    except EditProblem as problem:
        raise UnwrittenCase(f"{case.path.name}: {problem}; write its table in full, to have it calibrated") from None
    return _remarked(case.text, text, values, remarks)


def written_words(found: Sequence[Calibrated], naming: Naming) -> list[str]:
    """Which unknowns that are not told a calibrated case takes all the same, and which it leaves as they are."""
    lines = []
    for one in found:
        untold = [what for what in one.values if what.interval is None]
        groups = [[what.of.name for what in untold if what.written == taken] for taken in (True, False)]
        name = note_name(one.note, naming)
        if groups[0]:
            them = "it" if len(groups[0]) == 1 else "them"
            lines.append(
                f"{name}: {listed(groups[0])} {_are(groups[0])} written though not told: the other values were found "
                f"with {them}, and fit what was measured with {them} alone; the file says so behind each."
            )
        if groups[1]:
            lines.append(f"{name}: {listed(groups[1])} {_are(groups[1])} not told and not written.")
        if one.poor:
            lines.append(f"{name}: the fit is poor: what is written of it is no finding.")
    return lines


def _are(names: Sequence[str]) -> str:
    return "is" if len(names) == 1 else "are"


def _interval(what: Value, poor: bool) -> str:
    if poor:
        return "of a poor fit, no finding"
    return f"95 % {interval_words(what, 'trade')}" if what.interval is not None else "not told by itself"


def _digits(found: Calibrated, k: int) -> dict[tuple[str, str], int]:
    """Digits of the fields of an unknown: as many as its slopes can tell, all other unknowns as they are."""
    what, slopes = found.values[k], float(np.linalg.norm(found.found.jacobian[:, k]))
    if slopes * what.of.kind.span < _SHARE:
        return dict.fromkeys(what.of.fields(what.figure), _FEW)
    beside = what.of.fields(what.figure + _SHARE / slopes)
    return {place: _places(value, beside[place] - value) for place, value in what.of.fields(what.figure).items()}


def _all_digits(found: Calibrated) -> dict[tuple[str, str], int]:
    chosen = [k for k, what in enumerate(found.values) if what.written]
    return {place: digits for k in chosen for place, digits in _digits(found, k).items()}


def _places(value: float, step: float) -> int:
    """Digits of a value of which the last is no more than a step."""
    if value == 0.0 or step == 0.0:
        return _FEW
    return min(max(math.floor(math.log10(abs(value))) - math.floor(math.log10(abs(step))) + 1, 1), DIGITS)


def _written(case: Case, part: str, path: str, figure: float, digits: int) -> Written:
    """A figure of the bench; a plain number where there is no unit."""
    number, unit = _of_bench(case, part, path, figure, digits)
    return f"{number:.12g} {unit}" if unit else number


def _of_bench(case: Case, part: str, path: str, figure: float, digits: int) -> tuple[float, str]:
    """A figure in the unit of the bench, with so many digits, and that unit; none of a plain number."""
    unit = unit_of(case, part, path)
    if unit in ("", "1"):
        return float(f"{figure:.{digits}g}"), ""
    unit = _BENCH.get(unit, unit)
    return float(f"{figure / unit_factor(unit):.{digits}g}"), unit


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


def _remarked(before: str, after: str, values: Mapping[Names, Written], remarks: Mapping[Names, str]) -> str:
    """The text with a remark behind every line that was set; a line that holds several has that of the first."""
    old, lines = set(before.split("\n")), after.split("\n")
    left = dict(values)
    for i, line in enumerate(lines):
        if line in old:
            continue
        here = [names for names, value in left.items() if _gives(line, names[-1], value)]
        if here:
            lines[i] = f"{line}  # {remarks[here[0]]}"
            del left[here[0]]
    made = "\n".join(lines)
    return made if tomllib.loads(made) == tomllib.loads(after) else after


def _gives(line: str, key: str, value: Written) -> bool:
    return re.search(rf"(?<![\w-]){re.escape(key)}\s*=\s*{re.escape(literal(value))}(?![\w.])", line) is not None


def check_text(case: Case, text: str, found: Sequence[Calibrated]) -> None:
    """Read the new text as a case and make sure that every note has what was found, in the digits that are written.

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
        for (part, path), digits in _all_digits(one).items():
            number, unit = _of_bench(case, part, path, one.fields[part, path], digits)
            given, wanted = float(again.part(part).fields[path][one.note].value), number * unit_factor(unit or "1")
            if abs(given - wanted) > 1e-9 * abs(wanted):
                wrong.append(f"{part} {path}: {format_value(given, unit_of(case, part, path) or '1', 'si')}")
    if wrong:
        raise UnwrittenCase(f"{case.path.name}: its text could not be given other values of {', '.join(wrong)}")
