"""Whose study it is: the case that it varies, its notes, and its [[vary]] tables."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path

from keyaction.cases.action.case import Case
from keyaction.cases.action.reader import read_case
from keyaction.cases.instrument.reader import is_instrument, read_instrument
from keyaction.cases.text.defects import CaseProblem, Defect, Place
from keyaction.cases.text.find import find_case, is_file
from keyaction.cases.text.flat import flattened
from keyaction.cases.text.near import hint
from keyaction.models.fields.values import Scalar
from keyaction.models.notes import NoteProblem, parse_range

TABLE = "[study]"


def vary_rows(place: Place, data: Mapping[str, object]) -> list[dict[str, object]] | None:
    """The [[vary]] tables; None if they are no such tables (which is recorded)."""
    value = data.get("vary", [])
    if isinstance(value, list) and all(isinstance(row, dict) for row in value):
        return value
    place.at("[[vary]]").defect("", "each input needs a table of its own, headed [[vary]] in double brackets")
    return None


def study_case(place: Place, path: Path, values: Mapping[str, Scalar], table: Mapping[str, object]) -> Case | None:
    """The case that a [study] table of these values names, with those of [set] in it; its defects join the study's."""
    wanted = values.get("case")
    if not isinstance(wanted, str):
        return None
    settings: list[tuple[str, Scalar]] = []
    for name, value in flattened(table):
        if isinstance(value, str | int | float):
            settings.append((name, value))
        else:
            place.at("[set]").defect(name, "one value is needed", value)
    beside = path.parent / wanted
    file = beside if is_file(beside) else find_case(wanted)
    division = values.get("division")
    if is_instrument(file):
        return _of_instrument(place, file, division, settings)
    if division is not None:
        place.at(TABLE).defect("division", f"goes with an instrument; {wanted} is an action case", division)
    try:
        return read_case(file, set_=settings)
    except CaseProblem as problem:
        for one in problem.defects:
            if one.table == "set":
                place.log.append(_of_set(place, one))
            elif str(problem.path) == one.file and "no such file" in one.message:
                place.at(TABLE).defect("case", one.message, wanted)
            else:
                place.log.append(one)
        return None


def _of_set(place: Place, one: Defect) -> Defect:
    """A defect of a value that the study sets, put where it stands."""
    return Defect(place.file, "[set]", one.field, one.value, one.message)


def _of_instrument(
    place: Place, file: Path, division: Scalar | None, settings: Sequence[tuple[str, Scalar]]
) -> Case | None:
    """The case of one division of an instrument, with the study's values in it."""
    try:
        divisions = read_instrument(file).divisions
    except CaseProblem as problem:
        place.log.extend(problem.defects)
        return None
    if division is None:
        message = f"missing; {file.name} is an instrument: name one of its divisions, {', '.join(divisions)}"
        place.at(TABLE).defect("division", message)
        return None
    if division not in divisions:
        message = f"there is no such division{hint(str(division), divisions)}"
        place.at(TABLE).defect("division", message, division)
        return None
    case = divisions[str(division)]
    try:
        return read_case(case.path, set_=settings, within=case.within) if settings else case
    except CaseProblem as problem:
        place.log.extend(_of_set(place, one) if one.table == "set" else one for one in problem.defects)
        return None


def study_notes(place: Place, case: Case, text: Scalar) -> tuple[int, ...]:
    """The notes that a text names; a defect where it names none."""
    try:
        return tuple(sorted(parse_range(str(text), case.compass, case.naming)))
    except NoteProblem as problem:
        for line in str(problem).split("\n"):
            place.defect("notes", line)
        return ()
